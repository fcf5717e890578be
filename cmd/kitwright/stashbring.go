package main

import (
	"context"
	"encoding/csv"
	"fmt"
	"io"
	"strconv"
	"strings"

	"github.com/spf13/pflag"

	"kitwright/internal/say"
	"kitwright/internal/wording"
	"kitwright/palettes"
	"kitwright/stash"
)

func stashImportCommand() command {
	return command{
		name: "stash import", args: "TABLE", summary: "put a spreadsheet of codes and counts into your stash",
		about: `Reads a table (CSV, TSV, XLSX) with a code and a number of drills in each row; columns named
			finish, shape, size, card, place and note are read too, and what was exported reads back. Every
			row counts or is named with its line and the reason; as long as there are such rows nothing is
			taken, unless you say --partly. The same table is not taken twice unless you say --again. With
			--count its numbers are what there is now: lots that it does not name stay as they are.`,
		example: "kitwright stash import --card my-drills leftovers.xlsx\nkitwright stash import --count --columns code=A,drills=D shelf.csv",
		bind: func(fs *pflag.FlagSet) func(context.Context, env, []string) error {
			var run stashRun
			var notes lotNotes
			var from stash.File
			var columns string
			var partly bool
			run.bindLots(fs)
			notes.bind(fs)
			fs.BoolVar(&from.Counted, "count", false, "take its numbers as what there is now, and record the differences")
			fs.Var(textValue{&columns, "WHAT=COLUMN,..."}, "columns", "which column holds what, as in code=2,drills=5: a number, a spreadsheet's letter, or what its header says; guessed and said unless given")
			fs.BoolVar(&partly, "partly", false, "take the rows that can be read, though others cannot")
			fs.BoolVar(&from.Again, "again", false, "take a table that was taken before")
			run.bindDate(fs)
			run.bind(fs)
			return func(ctx context.Context, e env, args []string) error {
				if err := wantArgs(args, 1, "stash import takes one table", "kitwright stash import leftovers.csv"); err != nil {
					return err
				}
				day, l, err := run.begin(e)
				if err != nil {
					return err
				}
				what, t, err := run.importRows(e, l, args[0], columns, partly)
				if err != nil {
					return err
				}
				for i := range what {
					what[i].Place, what[i].Note = orElse(notes.place, what[i].Place), orElse(notes.note, what[i].Note)
				}
				from.Name, from.Sum = t.name, t.sum
				lines, err := l.Import(ctx, day, from, what...)
				if err != nil {
					return err
				}
				tellNotes(e, l)
				drills := 0
				for _, x := range lines {
					drills += x.Drills
				}
				_, err = fmt.Fprintf(e.stdout, "%s: %s in %s; %s more than before\n", args[0], say.Count(t.taken, "row"), say.Count(len(lines), "lot"), say.Count(drills, "drill"))
				return err
			}
		},
	}
}

func orElse(first, other string) string {
	if first != "" {
		return first
	}
	return other
}

// importRows reads a table into amounts, one a lot, and names the rows that
// cannot be used.
func (r *stashRun) importRows(e env, l *stash.Ledger, path, columns string, partly bool) ([]stash.Amount, *drillTable, error) {
	card, noCard := r.theCard(e, l) // a table may say the card in each row
	if noCard != nil && r.card != "" {
		return nil, nil, noCard
	}
	t, err := readDrills(path, columns, func(s string) bool {
		if card == nil {
			return false
		}
		_, ok := card.Index(s)
		return ok
	})
	if err != nil {
		return nil, nil, err
	}
	tellLines(e.stderr, guesses(t))
	cards := map[string]*palettes.Card{"": card}
	at := map[stash.Key]int{}
	first := map[stash.Key]int{}
	var what []stash.Amount
	bad := 0
	for _, row := range t.rows {
		if row.card == "" && card == nil {
			return nil, nil, noCard
		}
		a, why := r.rowAmount(row, cards)
		if why == "" {
			t.taken++
		}
		if why != "" {
			if bad++; bad <= 20 {
				fmt.Fprintf(e.stderr, "%s, line %d: %s\n", t.name, row.line, why)
			}
			continue
		}
		if i, twice := at[a.Key]; twice {
			fmt.Fprintf(e.stderr, "%s, lines %d and %d: %s stands there twice; the two were added together\n", t.name, first[a.Key], row.line, a.Address())
			what[i].Drills += a.Drills
			what[i].Place, what[i].Note = orElse(what[i].Place, a.Place), orElse(what[i].Note, a.Note)
			continue
		}
		at[a.Key], first[a.Key] = len(what), row.line
		what = append(what, a)
	}
	if bad > 20 {
		fmt.Fprintf(e.stderr, "  and %d more\n", bad-20)
	}
	switch {
	case len(what) == 0:
		return nil, nil, say.Failed("look at the lines named above, and whether {card} is the card of these codes", "%s holds no drills that can be taken", path)
	case bad > 0 && !partly:
		return nil, nil, say.Failed("mend them in the table and import it again, or take the other rows with {partly}",
			"%s of %s cannot be taken, so nothing was", say.Count(bad, "row"), path)
	}
	return what, t, nil
}

func guesses(t *drillTable) (lines []string) {
	for _, s := range t.said {
		lines = append(lines, t.name+": "+say.Reading(s).Words(asFlag))
	}
	return lines
}

// rowAmount looks a row's color up on its card.
func (r *stashRun) rowAmount(row drillRow, cards map[string]*palettes.Card) (a stash.Amount, why string) {
	if row.bad != "" {
		return a, row.bad
	}
	card, known := cards[row.card]
	if !known {
		name := row.card
		if res, err := r.cards.read(&name); err == nil {
			card = res.Card
		}
		cards[row.card] = card
	}
	if card == nil {
		return a, fmt.Sprintf("there is no card called %q", row.card)
	}
	key, err := r.key(card, row.address)
	if err != nil {
		said, _ := err.(*say.Error)
		if near := nearCode(card, row.address); near != "" {
			return a, said.What + "; " + near + " is on it"
		}
		return a, said.What
	}
	if row.shape != "" {
		key.Shape = string(row.shape)
		key.Size = r.sizeOfShape(row.shape)
	}
	if row.size > 0 {
		key.Size = row.size
	}
	for kind, text := range map[wording.Kind]string{"place": row.place, "note": row.note} {
		if err := kind.Check(text); err != nil {
			return a, err.Error()
		}
	}
	return stash.Amount{Key: key, Drills: row.drills, Place: row.place, Note: row.note}, ""
}

func stashExportCommand() command {
	return command{
		name: "stash export", summary: "write what you own into a table",
		about: `Writes your lots as CSV, for a spreadsheet or another machine: code, finish, drills, card,
			shape, size, place and note. stash import reads it back; the ledger itself stays as it is.`,
		example: "kitwright stash export -o owned.csv",
		bind: func(fs *pflag.FlagSet) func(context.Context, env, []string) error {
			var run stashRun
			out, force, all := "", false, false
			fs.VarP(textValue{&out, "FILE"}, "out", "o", "the file to write; to the screen unless given")
			fs.BoolVar(&force, "force", false, "overwrite the file if it exists")
			fs.BoolVar(&all, "all", false, "empty lots too")
			run.bind(fs)
			return func(ctx context.Context, e env, args []string) error {
				if err := wantArgs(args, 0, "stash export takes no arguments", "kitwright stash export -o owned.csv"); err != nil {
					return err
				}
				l, err := run.place.open(e, run.cards)
				if err != nil {
					return err
				}
				lots := owned(l, all)
				write := func(w io.Writer) error { return writeLots(w, lots) }
				if out == "" {
					return write(e.stdout)
				}
				if err := writeFile(ctx, out, force, isLots, write); err != nil {
					return err
				}
				_, err = fmt.Fprintf(e.stdout, "%s  %s\n", out, say.Count(len(lots), "lot"))
				return err
			}
		},
	}
}

// owned returns the lots that hold drills, or all of them.
func owned(l *stash.Ledger, all bool) (lots []stash.Lot) {
	for _, lot := range l.Lots() {
		if all || lot.Drills > 0 {
			lots = append(lots, lot)
		}
	}
	return lots
}

// lotsHeader is the header of an export.
var lotsHeader = []string{"code", "finish", "drills", "card", "shape", "size", "place", "note"}

func writeLots(w io.Writer, lots []stash.Lot) error {
	out := csv.NewWriter(w)
	_ = out.Write(lotsHeader) // the error stays until the end
	for _, lot := range lots {
		_ = out.Write([]string{wording.Cell(lot.Code), wording.Cell(string(lot.Finish)), strconv.Itoa(lot.Drills), wording.Cell(lot.Card),
			lot.Shape, lot.Size.String(), wording.Cell(lot.Place), wording.Cell(lot.Note)})
	}
	out.Flush()
	return out.Error()
}

// isLots tells a file that an export may be written over.
func isLots(r io.Reader) bool {
	begin := make([]byte, 200)
	n, _ := io.ReadFull(r, begin)
	return strings.HasPrefix(string(begin[:n]), strings.Join(lotsHeader, ","))
}
