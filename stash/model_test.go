package stash

import (
	"context"
	"flag"
	"maps"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// plain is a stash as anyone would keep it in a notebook: how many there are,
// and a list of what was done.
type plain struct {
	drills map[Key]int
	done   []deed
}

type deed struct {
	gain map[Key]int
	kind Act
	kit  string
	all  bool
}

func (p plain) clone() plain {
	return plain{maps.Clone(p.drills), slices.Clone(p.done)}
}

func (p *plain) do(d deed) {
	p.done = append(p.done, d)
	for k, n := range d.gain {
		p.drills[k] += n
	}
}

func (p *plain) undo() bool {
	if len(p.done) == 0 {
		return false
	}
	for k, n := range p.done[len(p.done)-1].gain {
		p.drills[k] -= n
	}
	p.done = p.done[:len(p.done)-1]
	return true
}

// open returns what was taken for a kit since leftovers came back, and whether
// it is taken, and whether leftovers came back.
func (p *plain) open(kit string) (out map[Key]int, copies int, taken, back bool) {
	type state struct {
		out    map[Key]int
		copies int
		taken  bool
		back   bool
	}
	stack := []state{{out: map[Key]int{}}}
	for _, d := range p.done {
		if d.kit != kit {
			continue
		}
		top := &stack[len(stack)-1]
		switch {
		case d.kind == Taken && top.back:
			stack = append(stack, state{out: map[Key]int{}})
			top = &stack[len(stack)-1]
			fallthrough
		case d.kind == Taken:
			top.taken = true
			top.copies++
		case d.all && len(stack) > 1:
			stack = stack[:len(stack)-1]
			continue
		case d.all:
			stack = []state{{out: map[Key]int{}}}
			continue
		default:
			top.back = true
		}
		for k, n := range d.gain {
			top.out[k] -= n
		}
	}
	top := stack[len(stack)-1]
	return top.out, top.copies, top.taken, top.back
}

// life is a ledger and its notebook.
type life struct {
	m       *machine
	dice    *rand.Rand
	book    plain
	entries int
	told    int     // entries that somebody was told of
	books   []plain // after each entry
	did     map[string]int
}

var (
	modelKeys = []Key{sq("SR-1"), sq("SR-2"), sq("SR-3"), {Card: "seaside", Code: "SR-1", Finish: "AB", Shape: "square", Size: 2500}, {Card: "seaside", Code: "SR-1", Shape: "round", Size: 2800}}
	modelKits = []Kit{
		{Mark: "CDFHJK", Chart: "aa", Title: "ginger", Needs: []Need{{modelKeys[0], 40, 20}, {modelKeys[1], 70, 20}}},
		{Mark: "LMRTXY", Chart: "bb", Title: "gull, at \"sea\"", Needs: []Need{{modelKeys[1], 30, 20}, {modelKeys[3], 10, 20}, {modelKeys[4], 25, 20}}},
	}
)

// wish is something to ask of the ledger, what the notebook holds after it, and
// whether it can be met.
type wish struct {
	name string
	do   func(l *Ledger) error
	book plain
	ok   bool
}

func (f *life) wish() wish {
	ctx := context.Background()
	book := f.book.clone()
	key := func() Key { return modelKeys[f.dice.IntN(len(modelKeys))] }
	kit := modelKits[f.dice.IntN(len(modelKits))]
	switch f.dice.IntN(7) {
	case 0, 1:
		d := deed{gain: map[Key]int{}, kind: Added}
		var what []Amount
		for range 1 + f.dice.IntN(4) {
			a := Amount{Key: key(), Drills: f.dice.IntN(90), Place: []string{"", "box, 3"}[f.dice.IntN(2)]}
			what = append(what, a)
			d.gain[a.Key] += a.Drills
		}
		book.do(d)
		return wish{"add", func(l *Ledger) error { _, err := l.Add(ctx, day, what...); return err }, book, true}
	case 2:
		a := Amount{Key: key(), Drills: f.dice.IntN(150)}
		book.do(deed{gain: map[Key]int{a.Key: a.Drills - book.drills[a.Key]}, kind: Counted})
		return wish{"count", func(l *Ledger) error { _, err := l.Count(ctx, day, a); return err }, book, true}
	case 3, 4:
		how := How{Partly: f.dice.IntN(2) == 0, Again: f.dice.IntN(3) == 0}
		d := deed{gain: map[Key]int{}, kind: Taken, kit: kit.Mark}
		enough, some := true, false
		for _, n := range kit.Needs {
			have := book.drills[n.Key]
			d.gain[n.Key] = -min(have, n.Placed+n.Extra)
			enough = enough && have >= n.Placed
			some = some || have > 0
		}
		_, _, taken, _ := book.open(kit.Mark)
		book.do(d)
		return wish{"take", func(l *Ledger) error { _, err := l.Take(ctx, day, kit, how); return err }, book, (enough || how.Partly) && some && (!taken || how.Again)}
	case 5:
		out, copies, taken, back := book.open(kit.Mark)
		b, ok := Back{All: f.dice.IntN(3) == 0}, false
		d := deed{gain: map[Key]int{}, kind: Returned, kit: kit.Mark, all: b.All}
		for _, n := range kit.Needs {
			left := out[n.Key]
			if !b.All {
				left -= n.Placed * copies
			}
			if left > 0 {
				d.gain[n.Key] = left
				ok = true
			}
		}
		book.do(d)
		return wish{"return", func(l *Ledger) error { _, err := l.Return(ctx, day, kit, b); return err }, book, ok && taken && !back}
	}
	ok := book.undo()
	return wish{"undo", func(l *Ledger) error { _, _, err := l.Undo(ctx, day); return err }, book, ok}
}

// live asks for something, with a mishap on the way or none, and compares what
// stands afterwards with the notebook.
func (f *life) live(t *testing.T, what mishap) {
	f.m.what, f.m.left = none, -1
	l, err := openOn(f.m, "home/stash.csv")
	require.NoError(t, err)
	f.m.what, f.m.left = what, f.dice.IntN(17)
	w, lived := f.wish(), false
	func() {
		defer func() {
			if r := recover(); r != nil && r != any(ended{}) {
				panic(r)
			}
		}()
		err = w.do(l)
		lived = true
	}()
	struck := f.m.left < 0 && what != none
	if !lived {
		f.m.restart()
	}
	f.m.what, f.m.left = none, -1
	again, opened := openOn(f.m, "home/stash.csv")
	require.NoError(t, opened)
	require.Empty(t, again.Faults(), w.name)
	entries := 0
	if n := len(again.recs); n > 0 {
		entries = again.recs[n-1].entry
	}
	switch {
	case lived && err == nil:
		require.True(t, w.ok, "%s should have been refused", w.name)
		require.Equal(t, f.entries+1, entries, "%s was said to be kept", w.name)
		f.did[w.name]++
	case lived && !struck:
		require.False(t, w.ok, "%s: %v", w.name, err)
		require.Equal(t, f.entries, entries)
	case lived && !strings.Contains(err.Error(), "not sure"):
		require.Equal(t, f.entries, entries, "%s was said to have failed: %v", w.name, err)
		f.did["failed"]++
	default:
		least := f.entries
		if what == power && !lived { // an entry that nobody was told of may have been seen and be gone
			least = f.told
		}
		require.True(t, entries >= least && (entries <= f.entries || w.ok && entries == f.entries+1), "%s (%v): %d entries, %d before, %d told", w.name, w.ok, entries, f.entries, f.told)
		f.did[[]string{"stopped", "in doubt"}[b2i(lived)]]++
	}
	if entries > f.entries {
		f.books = append(f.books, w.book)
	}
	f.books = f.books[:entries+1]
	if lived && err == nil {
		f.told = entries
	}
	f.entries, f.book = entries, f.books[entries]
	for _, k := range modelKeys {
		require.Equal(t, f.book.drills[k], again.Lot(k).Drills, "%s: %s (%v, %v) %d %d\n%s", w.name, k.Address(), lived, err, what, f.entries, again.data)
	}
}

func b2i(b bool) int {
	if b {
		return 1
	}
	return 0
}

var livesFlag = flag.Int("lives", 400, "how many ledgers TestNoDrillIsLostOrInvented leads through 40 commands each")

// The ledger says the same as a notebook after any commands, whatever stops or
// fails any operation of any of them.
func TestNoDrillIsLostOrInvented(t *testing.T) {
	lives, length := *livesFlag, 40
	if testing.Short() {
		lives = 60
	}
	did := map[string]int{}
	for seed := range lives {
		dice := rand.New(rand.NewPCG(uint64(seed), 5))
		m := &machine{dice: dice, files: map[string]*file{}}
		empty := plain{drills: map[Key]int{}}
		f := &life{m: m, dice: dice, book: empty, books: []plain{empty}, did: did}
		for range length {
			what := none
			if dice.IntN(2) == 0 {
				what = 1 + mishap(dice.IntN(int(mishaps)-1))
			}
			f.live(t, what)
		}
	}
	t.Log(did)
	for _, name := range []string{"add", "count", "take", "return", "undo", "failed", "stopped", "in doubt"} {
		assert.Greater(t, did[name], lives/10, name)
	}
}
