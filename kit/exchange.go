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

// farther is how much farther off, on average, those drills of a color may come
// out that lose most, a quarter of them, if it leaves. The green of small eyes,
// which it shares with fur, turns tan by more.
const farther = 2.5

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
		rises := make([][]int32, len(chosen))
		for i, c := range own {
			if !slices.Contains(now, chosen[c]) {
				rises[c] = append(rises[c], is[i]-was[i])
			}
		}
		for _, rise := range rises {
			if float64(lastQuarter(rise)) > farther*1e4 {
				return false
			}
		}
		return true
	}
}

// lastQuarter is the mean of the quarter of some numbers that is highest; 0 of
// none.
func lastQuarter(v []int32) int64 {
	if len(v) == 0 {
		return 0
	}
	slices.Sort(v)
	v = v[len(v)-(len(v)+3)/4:]
	var sum int64
	for _, n := range v {
		sum += int64(n)
	}
	return sum / int64(len(v))
}
