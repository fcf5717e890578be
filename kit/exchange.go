package kit

import (
	"context"
	"math"
	"slices"

	"kitwright/internal/say"
	"kitwright/lab"
	"kitwright/place"
	"kitwright/quantize"
)

// dearer is how much more than the best of all choices other colors may cost
// that lay better, by what was asked for: so rare colors stay. (Measured: of
// the plain mean hardly anything is given up.)
const dearer = 1.02

// How much farther off, on average, those drills of a color may come out that
// lose most, a quarter of them, if it leaves. Beyond freely, each unit more has
// to be worth a share of the energy: a sky over half of the picture may be, that
// two blues lie better in. Of a hue that few drills have nothing more is given
// up: the green of small eyes, which it shares with fur, turns tan by more.
const (
	freely   = 2.5
	farthest = 8
	dearness = 0.01
	accented = 0.25 // of a color's drills: from here on its hue is one of few
)

// exchange swaps colors of a choice for others that lay better, and says so in
// the objective. What the search proved stays true: it is told of the plain
// mean, and the bound of what was asked for is kept beside the colors' own cost.
// Where drills are counted, colors stay as they were chosen, and so they do if
// the search is ended by hand.
//
// Cells are those that the colors then are laid in, nil where that is still to
// be done.
func (t *task) exchange(ctx, search context.Context, calm float64, w wanted, d *design) (cells []uint16, err error) {
	opt := w.opt
	opt.K = len(d.sel.Chosen)
	if d.stopped || d.supplied != nil || opt.Effort <= quantize.Quick {
		return nil, nil
	}
	say.Step(ctx, "looking for colors that lay better", 0, 0)
	price := t.problem.Price(opt)
	most := int64(dearer * float64(d.sel.Cost))
	loss := t.losing(d.sel.Chosen)
	now, cells, err := place.Exchange(search, t.grid, d.sel.Chosen, t.laying(calm, w.opt, d.sel), place.Exchanges{
		From: labs(t.card), Out: opt.Avoid, Stay: d.kept,
		Price: func(now []int) (float64, bool) {
			if price(now) > most {
				return 0, false
			}
			return loss(now)
		},
	})
	if d.stopped, err = ended(ctx, err); err != nil || d.stopped || slices.Equal(now, d.sel.Chosen) {
		return cells, err
	}
	n := 0
	for _, j := range now {
		if !slices.Contains(d.sel.Chosen, j) {
			n++
		}
	}
	opt.Keep, d.found = now, d.sel.Chosen
	other := t.problem.Other(now, opt)
	other.Bound = d.sel.Bound
	d.sel, d.chosen, d.cells = other, other.Chosen, other.Cells
	d.what += ", " + plural(n, "color", "colors") + " exchanged for how they are laid"
	return cells, nil
}

// losing returns a function that says what the colors that other choices lack
// were worth to their drills, as a share of the energy, and whether they may be
// given up at all.
func (t *task) losing(chosen []int) func(now []int) (float64, bool) {
	own := t.problem.Nearest(chosen)
	was := misses(t.grid, t.colors(chosen), own)
	served := make([][]int32, len(chosen)) // cells of each color
	accent := make([]float64, len(chosen))
	for i, a := range place.Accents(t.grid) {
		c := own[i]
		served[c] = append(served[c], int32(i))
		accent[c] += a
	}
	return func(now []int) (worth float64, ok bool) {
		points := make([]lab.Point, len(now))
		for k, j := range now {
			points[k] = lab.PointOf(t.card.Drills[j].Lab)
		}
		for c, j := range chosen {
			if slices.Contains(now, j) {
				continue
			}
			rises := make([]int32, len(served[c]))
			for k, i := range served[c] {
				rises[k] = nearestMiss(lab.PointOf(t.grid.Cells[i]), points) - was[i]
			}
			rise := float64(lastQuarter(rises)) / 1e4
			switch {
			case rise <= freely:
			case rise > farthest || accent[c] >= accented*float64(len(served[c])):
				return 0, false
			default:
				worth += float64(dearness * (rise - freely))
			}
		}
		return worth, true
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

// nearestMiss is the difference to the nearest color, in whole 1/10000.
func nearestMiss(here lab.Point, points []lab.Point) int32 {
	least := math.Inf(1)
	for _, p := range points {
		least = min(least, here.DeltaE(p))
	}
	return int32(math.Round(least * 1e4))
}
