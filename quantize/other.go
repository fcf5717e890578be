package quantize

import "slices"

// Other returns the selection that the given colors (indices into from) are,
// with their cost as the options count it. Nothing is searched for, and Bound is
// 0.
func (p *Problem) Other(chosen []int, opt Options) *Selection {
	open := make([]int32, len(chosen))
	for k, j := range chosen {
		open[k] = int32(j)
	}
	slices.Sort(open)
	o := p.objective(opt)
	sel := p.selection(open, opt)
	sel.Cost = p.cost(o, open)
	for _, w := range o.weights[2] {
		sel.Weight += w
	}
	return sel
}

// Price returns a function that says what colors (indices into from) cost as
// the options count it.
func (p *Problem) Price(opt Options) func(chosen []int) int64 {
	o := p.objective(opt)
	return func(chosen []int) int64 {
		open := make([]int32, len(chosen))
		for k, j := range chosen {
			open[k] = int32(j)
		}
		return p.cost(o, open)
	}
}
