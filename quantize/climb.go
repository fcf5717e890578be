package quantize

import (
	"context"
	"math"
	"slices"
)

// solve goes from the coarsest picture to the cells themselves. What is found
// in one says how far the lists of the next have to reach, and where its
// search and its bound begin.
func (p *Problem) solve(ctx context.Context, o *objective, allowed []int32, pl plan, opt Options) (best []int32, cost, bound int64) {
	lim := limitsOf(opt.Effort)
	coarse, _ := p.tableFor(context.Background(), 0, o, allowed, nil)
	open := coarse.greedy(pl)
	open = newSwapper(coarse, pl).kicks(ctx, pl, open, lim.kicks, 1)
	best = coarse.names(open)

	bins, ok := p.tableFor(ctx, 1, o, allowed, best)
	if !ok {
		return best, p.cost(o, best), 0
	}
	open = newSwapper(bins, pl).kicks(ctx, pl, bins.indices(best), lim.kicks, 2)
	scout := &scout{s: &solver{root: bins, plan: pl, unit: 1}}
	scout.s.offer(open)
	w := newVolume(bins, pl, scout.s.startOffers())
	w.run(ctx, lim.steps, scout.s.target(), scout)
	best = bins.names(scout.s.best)

	cells, ok := p.tableFor(ctx, 2, o, allowed, best)
	if !ok {
		return best, p.cost(o, best), 0
	}
	s := &solver{root: cells, plan: pl, limits: lim, report: opt.Report, unit: 1}
	s.offer(cells.indices(best))
	s.solve(ctx, p.refine(bins, cells, w.lam, o, best))
	return cells.names(s.best), s.cost, s.proven()
}

// tableFor makes the problem of a level, good for a search near the given
// colors, and tells whether ctx left the time for it.
func (p *Problem) tableFor(ctx context.Context, f int, o *objective, allowed, near []int32) (*table, bool) {
	l := p.levels[f]
	reach := l.reachFor(near)
	if !l.extend(ctx, reach) {
		return nil, false
	}
	return l.table(o, o.weights[f], allowed, reach), true
}

// cost is what the cells cost when exactly the given colors are open.
func (p *Problem) cost(o *objective, open []int32) (sum int64) {
	l := p.levels[2]
	for i, j := range p.nearest(open) {
		if w := o.weights[2][i]; w > 0 {
			sum += w * o.cost(units(l.points[i], l.from[j]))
		}
	}
	return sum
}

// scout follows the bound of the bins to better sets.
type scout struct {
	s     *solver
	swaps *swapper
	seen  int
}

func (c *scout) better(w *volume) int64 {
	const rest = 8 // better bounds between two swap searches
	if c.seen++; c.seen%rest == 1 {
		if c.swaps == nil {
			c.swaps = newSwapper(c.s.root, c.s.plan)
		}
		set := c.s.root.serve(w.pick)
		c.swaps.descend(context.Background(), set)
		c.s.offer(set.open)
	}
	return c.s.target()
}

// refine carries offers from bins to cells: a cell offers what its bin does,
// corrected by how much farther than the bin it is from the color that serves
// the bin.
func (p *Problem) refine(bins, cells *table, lam []int64, o *objective, open []int32) []int64 {
	coarse, fine := p.levels[1], p.levels[2]
	offer := make([]float64, len(coarse.points)) // for a weight of 1, without the cost of n1
	n1 := make([]int32, len(coarse.points))
	is := make([]bool, len(p.from))
	for _, j := range open {
		is[j] = true
	}
	for i, at := range bins.point {
		n1[at] = coarse.one(at, is, open)
		d := units(coarse.points[at], coarse.from[n1[at]])
		offer[at] = float64(lam[i])/float64(o.weights[1][at]) - float64(o.cost(d))
	}
	out := make([]int64, len(cells.point))
	group := func(i int32) int {
		g, found := slices.BinarySearch(fine.groups, i)
		if !found {
			g--
		}
		return g
	}
	parallel(len(out), 4096, func(_, lo, hi int) {
		for i := lo; i < hi; i++ {
			at := cells.point[i]
			g := group(at)
			c := float64(o.cost(units(fine.points[at], fine.from[n1[g]]))) + offer[g]
			out[i] = int64(math.Round(c * float64(o.weights[2][at])))
		}
	})
	return out
}
