package quantize

import (
	"context"
)

// scouting is how many steps the bound of the bins makes: enough for offers that
// those of the cells can begin with.
const scouting = 60

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
	if opt.Effort == Sketch {
		best = bins.names(open)
		p.list(best)
		return best, p.cost(o, best), 0
	}
	scout := &scout{s: &solver{root: bins, plan: pl, unit: 1}}
	scout.s.offer(open)
	w := newVolume(bins, pl, scout.s.startOffers())
	w.run(ctx, scouting, scout.s.target(), scout)
	best = bins.names(scout.s.best)

	cells, ok := p.tableFor(ctx, 2, o, allowed, best)
	if !ok {
		return best, p.cost(o, best), 0
	}
	s := &solver{root: cells, plan: pl, limits: lim.on(cells), report: opt.Report, unit: 1}
	s.offer(cells.indices(best))
	s.solve(ctx, p.refine(bins, cells, w.lam, best))
	return cells.names(s.best), s.cost, s.proven()
}

// tableFor makes the problem of a level, good for a search near the given
// colors, and tells whether ctx left the time for it.
func (p *Problem) tableFor(ctx context.Context, f int, o *objective, allowed, near []int32) (*table, bool) {
	p.lists.Lock()
	defer p.lists.Unlock()
	l := p.levels[f]
	reach := l.reachFor(near)
	if !l.extend(ctx, reach) {
		return nil, false
	}
	return l.table(o, o.weights[f], allowed, reach), true
}

// list makes the lists of the cells reach past the given colors, so that the
// nearest of them is found without a look at all. Lists stay: the next ask
// hardly costs a thing.
func (p *Problem) list(open []int32) {
	p.lists.Lock()
	defer p.lists.Unlock()
	l := p.levels[2]
	l.extend(context.Background(), l.reachFor(open))
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

// refine carries offers from bins to cells: where a bin's offer lies between
// its costs at the nearest and the second nearest open color, a cell's lies
// between its own.
func (p *Problem) refine(bins, cells *table, lam []int64, open []int32) []int64 {
	b := bins.serve(bins.indices(open))
	share := make([]float64, len(p.levels[1].points))
	for i, at := range bins.point {
		if b.d2[i] > b.d1[i] {
			share[at] = float64(lam[i]-b.d1[i]) / float64(b.d2[i]-b.d1[i])
		}
	}
	c := cells.serve(cells.indices(open))
	out := make([]int64, len(cells.point))
	groups, g := p.levels[2].groups, 0
	for i, at := range cells.point {
		for groups[g+1] <= at {
			g++
		}
		out[i] = c.d1[i] + whole(share[g]*float64(c.d2[i]-c.d1[i]))
	}
	return out
}
