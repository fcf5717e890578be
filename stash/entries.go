package stash

import (
	"context"
	"fmt"
	"strings"

	"kitwright/internal/say"
)

// Amount is drills of a lot, as an entry is asked for.
type Amount struct {
	Key
	Drills      int
	Place, Note string // "" leaves what stands there
	How         string // how the number was found, if it was not counted
}

// Add puts drills into their lots. Date is the day, such as 2026-11-26, here
// and in the other entries.
func (l *Ledger) Add(ctx context.Context, date string, what ...Amount) ([]Line, error) {
	return l.change(ctx, date, func() ([]Line, error) { return added(what, "") })
}

func added(what []Amount, chart string) (lines []Line, err error) {
	for _, a := range what {
		if a.Drills < 0 {
			return nil, say.Usage("kitwright stash count corrects a lot to what is there, and stash take takes what a kit needs", "%d drills of %s cannot be added", a.Drills, a.Address())
		}
		lines = append(lines, Line{Act: Added, Key: a.Key, Drills: a.Drills, Counted: -1, Place: a.Place, Note: a.Note, Chart: chart, Ref: a.How})
	}
	return lines, nil
}

// Count corrects lots to what was found in them, and records the difference.
func (l *Ledger) Count(ctx context.Context, date string, what ...Amount) ([]Line, error) {
	return l.change(ctx, date, func() ([]Line, error) { return l.counted(what, "") })
}

func (l *Ledger) counted(what []Amount, chart string) (lines []Line, err error) {
	seen := map[Key]bool{}
	for _, a := range what {
		if seen[a.Key] {
			return nil, say.Usage("say it once", "it was said twice how many drills there are of %s", a.Address())
		}
		seen[a.Key] = true
		if a.Drills < 0 {
			return nil, say.Usage("0 says that none is left", "%s cannot hold %d drills", a.Address(), a.Drills)
		}
		lines = append(lines, Line{Act: Counted, Key: a.Key, Drills: a.Drills - l.Lot(a.Key).Drills, Counted: a.Drills, Place: a.Place, Note: a.Note, Chart: chart, Ref: a.How})
	}
	return lines, nil
}

// File is a table that amounts come from.
type File struct {
	Name    string
	Sum     string // SHA-256 of it, in hex
	Counted bool   // its numbers are what there is now, not what comes
	Again   bool   // even if it was imported before
}

// Import puts the amounts of a table into the stash. The same table is not
// taken twice unless asked.
func (l *Ledger) Import(ctx context.Context, date string, from File, what ...Amount) ([]Line, error) {
	return l.change(ctx, date, func() ([]Line, error) {
		if x := l.imported(from.Sum); x.Entry > 0 && !from.Again && !from.Counted {
			return nil, say.Failed("import it again with {again} if it is more of the same; {count} takes its numbers as what there is now", "%s was imported on %s already (entry %d)", from.Name, x.Date, x.Entry)
		}
		for i := range what {
			if what[i].Note == "" {
				what[i].Note = from.Name
			}
		}
		if from.Counted {
			return l.counted(what, from.Sum)
		}
		return added(what, from.Sum)
	})
}

// imported returns a line that came of a file, if there is one in force.
func (l *Ledger) imported(sum string) Line {
	for _, r := range l.recs {
		if r.act != Added || l.undone[r.entry] || !strings.Contains(string(l.data[r.off:r.end]), sum) {
			continue
		}
		if x := l.parsed.read(r); x.Chart == sum {
			return x
		}
	}
	return Line{}
}

// Undo takes back the last entry that is in force: its lines are written again
// with the signs turned.
func (l *Ledger) Undo(ctx context.Context, date string) (was, lines []Line, err error) {
	lines, err = l.change(ctx, date, func() (lines []Line, err error) {
		if err := l.sound("undo"); err != nil {
			return nil, err
		}
		if was = l.last(); len(was) == 0 {
			return nil, say.Usage("kitwright stash history shows what was done", "there is nothing in the stash to undo")
		}
		for _, x := range was {
			x.Act, x.Drills, x.Counted, x.Ref = Undone, -x.Drills, -1, fmt.Sprintf("%s%d", entryRef, x.Entry)
			if have := l.Lot(x.Key).Drills; have+x.Drills < 0 {
				return nil, say.Failed("kitwright stash count says what is there", "entry %d cannot be undone: of %s there would be %d", was[0].Entry, x.Address(), have+x.Drills)
			}
			lines = append(lines, x)
		}
		return lines, nil
	})
	return was, lines, err
}

// last returns the lines of the last entry that is in force and can be undone.
func (l *Ledger) last() (lines []Line) {
	for i := len(l.recs) - 1; i >= 0; i-- {
		r := l.recs[i]
		if r.act == Undone || r.act == Repaired || l.undone[r.entry] {
			continue
		}
		if len(lines) > 0 && lines[0].Entry != r.entry {
			break
		}
		lines = append([]Line{l.parsed.read(r)}, lines...)
	}
	return lines
}

// sound refuses work that needs to know all that was written.
func (l *Ledger) sound(what string) error {
	if len(l.faults) == 0 {
		return nil
	}
	return say.Failed("kitwright stash repair shows it and asks what it should say", "%s has to wait, as %s is broken: %s%s", what, l.path, l.faults[0], andMore(len(l.faults)-1))
}

func andMore(n int) string {
	if n == 0 {
		return ""
	}
	return fmt.Sprintf(", and %s", say.Count(n, "more fault"))
}

// History returns the lines of the colors that fit, in the order they were
// written.
func (l *Ledger) History(fits func(Key) bool) (lines []Line) {
	is := make([]bool, len(l.lots))
	for i, lot := range l.lots {
		is[i] = fits(lot.Key)
	}
	for _, r := range l.recs {
		if r.lot >= 0 && is[r.lot] {
			lines = append(lines, l.parsed.read(r))
		}
	}
	return lines
}

// InForce says whether an entry was not undone.
func (l *Ledger) InForce(entry int) bool { return !l.undone[entry] }
