package kit

import (
	"context"
	"slices"

	"kitwright/internal/say"
	"kitwright/place"
	"kitwright/quantize"
)

// dearer is how much more than the best of all choices other colors may cost
// that lay better, by what was asked for: so rare colors stay. (Measured: of
// the plain mean hardly anything is given up.)
const dearer = 1.02

// farther is how much farther off, on average, the drills of a color may come
// out that leaves. The green of small eyes turns tan by more.
const farther = 3

// exchange swaps colors of a choice for others that lay better, and says so in
// the objective. What the search proved stays true: it is told of the plain
// mean, and the bound of what was asked for is kept beside the colors' own cost.
// Where drills are counted, colors stay as they were chosen, and so they do if
// the search is ended by hand.
func (t *task) exchange(ctx, search context.Context, calm float64, w wanted, d *design) error {
	opt := w.opt
	opt.K = len(d.sel.Chosen)
	if d.stopped || d.supplied != nil || opt.Effort <= quantize.Quick {
		return nil
	}
	say.Step(ctx, "looking for colors that lay better", 0, 0)
	price := t.problem.Price(opt)
	most := int64(dearer * float64(d.sel.Cost))
	spared := t.sparing(d.sel.Chosen)
	now, err := place.Exchange(search, t.grid, d.sel.Chosen, t.laying(calm, w.opt, d.sel), place.Exchanges{
		From: labs(t.card), Out: opt.Avoid, Stay: d.kept,
		Allow: func(now []int) bool { return price(now) <= most && spared(now) },
	})
	if d.stopped, err = ended(ctx, err); err != nil || d.stopped || slices.Equal(now, d.sel.Chosen) {
		return err
	}
	n := 0
	for i, j := range now {
		if j != d.sel.Chosen[i] {
			n++
		}
	}
	opt.Keep, d.found = now, d.sel.Chosen
	other := t.problem.Other(now, opt)
	other.Bound = d.sel.Bound
	d.sel, d.chosen, d.cells = other, other.Chosen, other.Cells
	d.what += ", " + plural(n, "color", "colors") + " exchanged for how they are laid"
	return nil
}

// sparing returns a function that says whether every color that other choices
// of colors lack is made up for.
func (t *task) sparing(chosen []int) func(now []int) bool {
	own := t.problem.Nearest(chosen)
	was := misses(t.grid, t.colors(chosen), own)
	return func(now []int) bool {
		is := misses(t.grid, t.colors(now), t.problem.Nearest(now))
		rise, count := make([]int64, len(chosen)), make([]int64, len(chosen))
		for i, c := range own {
			rise[c] += int64(is[i] - was[i])
			count[c]++
		}
		for c, j := range chosen {
			if !slices.Contains(now, j) && rise[c] > farther*1e4*count[c] {
				return false
			}
		}
		return true
	}
}
