package quantize

import (
	"cmp"
	"context"
	"math"
	"slices"
)

// prove cuts the choices in two, again and again, by whether a column is in,
// until no part can hold anything that costs less than the best, or the work
// that may be spent is. It returns the best set, which may be another
// than the search found, and what is proven of all.
//
// A part in which nothing is left to choose is one set, and solved. The others
// are bounded from the offers and prices of the part that they were cut from.
func (s *supplier) prove(ctx context.Context, root *supplyVolume, best *supplySet) (_ *supplySet, bound int64) {
	const steps = 60
	until := s.work + s.limits.work/2
	switch {
	case s.quick:
		until = s.work
	case root.binding: // hardly a column is settled by its cost alone, so that much work proves little
		until = s.work + s.limits.work/16
	}
	loose := never
	try := func(in func(c int32) bool) {
		if got := s.setOf(in); got.short <= 0 && (got.cost < best.cost || best.short > 0) {
			best = got
		}
	}
	for stack := []*supplyVolume{root}; len(stack) > 0; {
		v := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		switch {
		case v.best >= best.cost:
			continue
		case s.work >= until || ctx.Err() != nil:
			loose = min(loose, v.best)
			continue
		case v != root:
			if v.raise(ctx, steps, best.cost); v.best >= best.cost {
				continue
			}
		}
		v.value() // at the best offers: what is chosen there
		try(func(c int32) bool { return v.chosen[c] })
		v.settle(best.cost)
		c := v.branch()
		if c < 0 {
			try(v.forced)
			continue
		}
		with, without := v.part(), v.part()
		with.in[c], without.out[c] = true, true
		stack = append(stack, without, with)
	}
	return best, min(best.cost, loose)
}

// setOf solves the set of some columns.
func (s *supplier) setOf(in func(c int32) bool) *supplySet {
	var column []int32
	var bought []int
	for c := range s.color {
		c := int32(c)
		if !in(c) {
			continue
		}
		buy := 0
		if s.isNew(c) || s.owned[c] < s.fixed[c] {
			buy = endless
		}
		column, bought = append(column, c), append(bought, buy)
	}
	return s.solve(column, bought)
}

// open says whether a column of a part may still be in or not.
func (v *supplyVolume) open(c int) bool {
	return !v.keep[c] && !v.in[c] && !v.out[c] && (v.binding || v.fresh[c])
}

// forced says whether a column is in every set of a part.
func (v *supplyVolume) forced(c int32) bool {
	return v.keep[c] || v.in[c] || !v.binding && !v.fresh[c]
}

// left is how many columns more, and how many of them new, a part may take.
func (v *supplyVolume) left() (columns, fresh int) {
	columns, fresh = v.k, v.buy
	for c := range v.in {
		if v.forced(int32(c)) {
			columns--
			if v.fresh[c] {
				fresh--
			}
		}
	}
	return columns, fresh
}

// branch returns the column to cut a part by, the one that was neither mostly
// in nor mostly out, ties by index; -1 where nothing is left to choose.
func (v *supplyVolume) branch() int {
	columns, fresh := v.left()
	best, least := -1, math.Inf(1)
	for c, often := range v.often {
		if !v.open(c) || columns <= 0 || v.fresh[c] && fresh <= 0 {
			continue
		}
		if off := math.Abs(often - 0.5); off < least {
			best, least = c, off
		}
	}
	return best
}

// settle decides the new columns of a part that cost alone decides: with them,
// or without them, nothing of it costs less than target. The value of the part
// has to be at hand.
func (v *supplyVolume) settle(target int64) {
	if v.binding {
		return // a column that goes makes room for one of either kind
	}
	_, fresh := v.left()
	var open []int
	for c := range v.in {
		if v.open(c) {
			open = append(open, c)
		}
	}
	slices.SortStableFunc(open, func(a, b int) int { return cmp.Compare(v.rho[a], v.rho[b]) })
	if fresh <= 0 {
		return
	}
	last, next := int64(0), int64(0) // rho of the last that fits, and of the first that does not
	if fresh <= len(open) {
		last = min(0, v.rho[open[fresh-1]])
	}
	if fresh < len(open) {
		next = min(0, v.rho[open[fresh]])
	}
	for i, c := range open {
		switch rho := v.rho[c]; {
		case (i >= fresh || rho >= 0) && v.best+rho-last >= target:
			v.out[c] = true
		case i < fresh && rho < 0 && v.best-rho+next >= target:
			v.in[c] = true
		}
	}
}

// part is a copy of a part, to be cut further.
func (v *supplyVolume) part() *supplyVolume {
	w := *v
	w.u, w.p = slices.Clone(v.u), slices.Clone(v.p)
	w.in, w.out, w.often = slices.Clone(v.in), slices.Clone(v.out), slices.Clone(v.often)
	w.rho, w.chosen = slices.Clone(v.rho), slices.Clone(v.chosen)
	w.r, w.over = slices.Clone(v.r), slices.Clone(v.over)
	return &w
}
