package stash

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"kitwright/internal/say"
)

// Need is what a kit needs of one color.
type Need struct {
	Key
	Placed int // drills in its picture
	Extra  int // beyond them, for those that are lost or bad
}

// Kit is a kit as the stash knows it.
type Kit struct {
	Mark  string // of its chart as it was first made: it stays when colors are changed by hand
	Chart string // a hash of its chart as it is
	Title string
	Needs []Need
}

// KitState is what was taken for a kit and came back.
type KitState struct {
	Out      map[Key]int // taken and not returned
	Copies   int         // how often it was taken since leftovers came back last
	Chart    string      // the hash of the chart it was taken for last
	Taken    Line        // a line of the last take; Entry 0 = never taken
	Returned Line        // a line of the return after it; Entry 0 = none

	before *KitState // of an earlier copy, that is made
}

// KitState returns what was taken for a kit, by its mark.
func (l *Ledger) KitState(mark string) KitState {
	s := KitState{Out: map[Key]int{}}
	last := 0
	for _, r := range l.recs {
		if !r.kit || r.act == Undone || l.undone[r.entry] {
			continue
		}
		x := l.parsed.read(r)
		if x.Kit != mark {
			continue
		}
		act, ref := x.said()
		if x.Entry != last {
			last = x.Entry
			s = s.next(x, act, ref)
		}
		if act == Taken || act == Returned && ref != allRef {
			s.Out[x.Key] -= x.Drills
		}
	}
	return s
}

// next returns the state after an entry begins.
func (s KitState) next(x Line, act Act, ref string) KitState {
	switch {
	case act == Returned && ref == allRef:
		if s.before != nil {
			return *s.before
		}
		return KitState{Out: map[Key]int{}}
	case act == Returned:
		s.Returned = x
	case act == Taken:
		if s.Returned.Entry > 0 {
			made := s
			s = KitState{Out: map[Key]int{}, before: &made}
		}
		if ref != restRef {
			s.Copies++
		}
		s.Taken, s.Chart = x, x.Chart
	}
	return s
}

// Short is a color of which fewer drills are owned than a kit places.
type Short struct {
	Key
	Placed, Owned int
}

// ShortError says that a kit cannot be taken because some colors fall short.
type ShortError struct{ Short []Short }

func (e *ShortError) Error() string {
	var words []string
	for _, s := range e.Short[:min(len(e.Short), 3)] {
		words = append(words, fmt.Sprintf("%s of %s", say.Number(s.Placed-s.Owned), s.Address()))
	}
	return strings.Join(words, ", ") + andMoreColors(len(e.Short)-3)
}

func andMoreColors(n int) string {
	if n <= 0 {
		return ""
	}
	return " and of " + say.Count(n, "more color")
}

// How says how a kit is taken.
type How struct {
	Partly bool // what is owned of it, even where that falls short
	Again  bool // once more, for another copy
	Rest   bool // only what is missing since it was taken; what is needed no longer goes back
}

// Take takes what a kit needs out of its lots: the drills of its picture, and
// the extra as far as it is owned. All of it is taken, or nothing; and a kit
// is not taken twice unless asked.
func (l *Ledger) Take(ctx context.Context, date string, k Kit, how How) ([]Line, error) {
	return l.change(ctx, date, func() ([]Line, error) {
		if err := l.sound("take"); err != nil {
			return nil, err
		}
		s := l.KitState(k.Mark)
		if err := s.mayTake(k, how); err != nil {
			return nil, err
		}
		copies := 1
		if how.Rest {
			copies = s.Copies
		} else {
			s.Out = nil
		}
		var short []Short
		var lines []Line
		move := func(key Key, n int) {
			if n == 0 {
				return
			}
			x := Line{Act: Taken, Key: key, Drills: -n, Counted: -1, Note: k.Title, Kit: k.Mark, Chart: k.Chart}
			if how.Rest {
				x.Ref = restRef
			}
			lines = append(lines, x)
		}
		for _, need := range k.Needs {
			out := max(0, s.Out[need.Key])
			have := max(0, l.Lot(need.Key).Drills) + out
			if have < need.Placed*copies {
				short = append(short, Short{need.Key, need.Placed * copies, have})
			}
			move(need.Key, min((need.Placed+need.Extra)*copies, have)-out)
		}
		for _, key := range sortedKeys(s.Out) {
			if !slices.ContainsFunc(k.Needs, func(n Need) bool { return n.Key == key }) {
				move(key, -max(0, s.Out[key]))
			}
		}
		switch {
		case len(short) > 0 && !how.Partly:
			return nil, &ShortError{short}
		case len(lines) == 0 && how.Rest:
			return nil, say.Usage("", "nothing is missing of the kit %s since it was taken", k.Mark)
		case len(lines) == 0:
			return nil, say.Failed("kitwright stash list shows what you own; {card} names the card under which you keep these colors", "your stash has no drill that the kit %s needs", k.Mark)
		}
		return lines, nil
	})
}

// mayTake says whether a kit may be taken, as it is asked for.
func (s KitState) mayTake(k Kit, how How) error {
	when := func() string { return fmt.Sprintf("on %s (entry %d)", s.Taken.Date, s.Taken.Entry) }
	switch {
	case how.Again && how.Rest:
		return say.Usage("leave out one", "{again} and {rest} were both asked for")
	case s.Taken.Entry == 0 && how.Rest:
		return say.Usage("take it without {rest}", "the kit %s was not taken yet", k.Mark)
	case s.Taken.Entry == 0 || how.Again:
		return nil
	case s.Returned.Entry > 0:
		return say.Failed("{again} takes it for another copy", "the kit %s was taken %s, and its leftovers came back on %s", k.Mark, when(), s.Returned.Date)
	case how.Rest:
		return nil
	case s.Chart != k.Chart:
		return say.Failed("{rest} takes what is missing since then and gives back what is needed no longer", "the kit %s was taken %s, and was changed after that", k.Mark, when())
	}
	return say.Failed("{again} takes it for another copy, {rest} what fell short then", "the kit %s was taken %s already", k.Mark, when())
}

func sortedKeys(m map[Key]int) (keys []Key) {
	for k := range m {
		keys = append(keys, k)
	}
	slices.SortFunc(keys, Compare)
	return keys
}

// Back says what comes back of a kit.
type Back struct {
	Left  []Amount // what was counted; nil: what was taken beyond the drills of the picture
	All   bool     // all that was taken: the kit was not made
	Again bool     // even if its leftovers came back already
}

// How a return was asked for.
const (
	reckonedRef = "reckoned"
	leftRef     = "counted"
)

// Return puts back what is left over of a kit that was taken.
func (l *Ledger) Return(ctx context.Context, date string, k Kit, back Back) ([]Line, error) {
	return l.change(ctx, date, func() ([]Line, error) {
		if err := l.sound("return"); err != nil {
			return nil, err
		}
		s := l.KitState(k.Mark)
		switch {
		case s.Taken.Entry == 0:
			return nil, say.Usage("kitwright stash add puts other leftovers in", "the kit %s was not taken out of this stash", k.Mark)
		case s.Returned.Entry > 0 && !back.Again:
			return nil, say.Failed("kitwright stash undo takes that back if it was the last entry, {again} adds more leftovers", "the leftovers of the kit %s came back on %s already (entry %d)", k.Mark, s.Returned.Date, s.Returned.Entry)
		}
		var lines []Line
		put := func(key Key, n int, ref string) {
			if n > 0 {
				lines = append(lines, Line{Act: Returned, Key: key, Drills: n, Counted: -1, Note: k.Title, Kit: k.Mark, Chart: k.Chart, Ref: ref})
			}
		}
		switch {
		case back.All:
			for _, key := range sortedKeys(s.Out) {
				put(key, s.Out[key], allRef)
			}
		case back.Left != nil:
			for _, a := range back.Left {
				if a.Drills < 0 {
					return nil, say.Usage("0 says that none is left", "%d drills of %s cannot come back", a.Drills, a.Address())
				}
				put(a.Key, a.Drills, leftRef)
			}
		default:
			if s.Chart != k.Chart {
				l.notes = append(l.notes, "the kit was changed after it was taken: what is left is reckoned by its counts as they are now")
			}
			placed := map[Key]int{}
			for _, n := range k.Needs {
				placed[n.Key] += n.Placed * s.Copies
			}
			for _, key := range sortedKeys(s.Out) {
				put(key, s.Out[key]-placed[key], reckonedRef)
			}
		}
		if len(lines) == 0 {
			return nil, say.Usage("", "nothing is left of the kit %s to come back", k.Mark)
		}
		return lines, nil
	})
}
