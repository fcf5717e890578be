// Package quantize picks few colors out of many, and says how close to the
// best possible it came.
//
// Begin with [Select], or with [Prepare] where one picture is asked for more
// than once. [Median] is the solver behind it, open to any integer costs. The
// package sees only numbers: a grid of target colors and a list of colors to
// choose from; it answers with indices.
//
// How it works: choosing k colors so that the summed difference of all cells
// is least is the discrete p-median problem. Cells are gathered in bins of
// L*a*b* for a quick search (greedy start, swaps); a Lagrangian bound on the
// cells themselves, reduced-cost settling and branch and bound then prove how
// good the answer is. Everything is counted in integers and limited by
// iterations, so that the same input gives the same answer on any machine.
//
// Where there are only so many drills of a color, [Problem.Supplied] chooses
// from them, with what may be bought; [Problem.Assign] serves the cells by given
// colors, and [Problem.Helps] tells what more of which color would bring. For
// given colors that is a transportation problem, solved and proven exactly.
package quantize

import (
	"context"
	"slices"

	"kitwright/internal/say"
	"kitwright/lab"
)

// Options say what is wanted of a selection. Only K has to be set.
type Options struct {
	K           int      // how many colors, at most
	Weight      []uint16 // a cell: how much a miss counts there; nil = all alike
	Focus       []uint16 // a cell: how many times more it counts, in sixteenths, whatever Rare makes of its color; nil = once
	Fixed       []int32  // a cell: the color it has to have (index into from), or -1 = free; nil = all free
	Keep, Avoid []int    // colors that have to be in, and out (indices into from)
	Rare        float64  // how much colors count that only few cells have, 0 to 1: see Problem.objective
	Effort      int      // Sketch, Quick, Normal (also 0), Prove or a number between: iterations, never seconds
	Report      func(cost, bound int64)
}

// Selection is the answer.
type Selection struct {
	Chosen []int    // indices into from, ascending. Fewer than K where more would serve no cell
	Cells  []uint16 // a cell: index into Chosen, the nearest color, ties by index
	Cost   int64    // sum over the free cells of what their miss costs; the plain mean is Cost / (Unit * cells)
	Bound  int64    // no K colors cost less; equal to Cost: proven best
	Weight int64    // what the free cells count together: Cost / (Unit * Weight) is the mean cost
}

// Gap returns which part of the cost another choice could save at most: 0.01
// is one percent, 0 is proven best, 1 is nothing known.
func (s *Selection) Gap() float64 {
	if s.Cost == s.Bound {
		return 0
	}
	return float64(s.Cost-s.Bound) / float64(s.Cost)
}

// Select chooses colors for a picture. When ctx ends it returns the best so
// far with its bound, and ctx.Err().
func Select(ctx context.Context, g *lab.Grid, from []lab.Color, opt Options) (*Selection, error) {
	p, err := Prepare(g, from)
	if err != nil {
		return nil, err
	}
	return p.Select(ctx, opt)
}

// Select chooses colors for the picture that was prepared. The answer depends
// on the picture and the options alone, not on what was asked before; but what
// was compared before need not be compared again. So ask for the smallest K
// first, and for the plain mean (no Weight, Rare 0) on the same Problem.
func (p *Problem) Select(ctx context.Context, opt Options) (*Selection, error) {
	allowed, must, err := p.check(opt)
	if err != nil {
		return nil, err
	}
	pl := plan{min(opt.K, len(allowed)), must}
	o := p.objective(opt)
	best, cost, bound := p.solve(ctx, o, allowed, pl, opt)
	sel := p.selection(best, opt)
	sel.Cost, sel.Bound = cost, bound
	for _, w := range o.weights[2] {
		sel.Weight += w
	}
	return sel, ctx.Err()
}

// check returns the colors that may be chosen, and where among them those are
// that must be.
func (p *Problem) check(opt Options) (allowed, must []int32, err error) {
	n := len(p.cell)
	if opt.Weight != nil && len(opt.Weight) != n || opt.Focus != nil && len(opt.Focus) != n || opt.Fixed != nil && len(opt.Fixed) != n {
		return nil, nil, say.Usage("give one for each cell", "weights or fixed colors do not fit a picture of %d cells", n)
	}
	if !(opt.Rare >= 0 && opt.Rare <= 1) {
		return nil, nil, say.Usage("choose between 0 (plain mean) and 1", "%v is no setting for rare colors", opt.Rare)
	}
	keep := opt.Keep
	for _, j := range opt.Fixed {
		if j >= int32(len(p.from)) {
			return nil, nil, say.Usage("colors are counted from 0", "there is no color %d among %d", j, len(p.from))
		}
	}
	seen := make(map[int32]bool)
	for _, j := range opt.Fixed {
		if j >= 0 && !seen[j] {
			seen[j] = true
			keep = append(keep[:len(keep):len(keep)], int(j))
		}
	}
	allowed, must, err = facilities(len(p.from), opt.K, keep, opt.Avoid)
	if err != nil {
		return nil, nil, err
	}
	allowed, must = p.distinct(allowed, must)
	return allowed, must, nil
}

// distinct leaves out colors that are the same as one before them, unless they
// must be in.
func (p *Problem) distinct(allowed, must []int32) (colors, kept []int32) {
	stay := make(map[int32]bool)
	for _, at := range must {
		stay[allowed[at]] = true
	}
	seen := make(map[lab.Color]bool)
	for _, pass := range []bool{true, false} {
		for _, j := range allowed {
			if c := p.from[j]; stay[j] == pass && (pass || !seen[c]) {
				colors, seen[c] = append(colors, j), true
			}
		}
	}
	slices.Sort(colors)
	for at, j := range colors {
		if stay[j] {
			kept = append(kept, int32(at))
		}
	}
	return colors, kept
}

// selection turns the solver's answer into colors for cells. A color that
// serves no cell is left out, unless it has to be in.
func (p *Problem) selection(open []int32, opt Options) *Selection {
	nearest := p.nearest(open)
	used := make([]bool, len(p.from))
	for _, j := range opt.Keep {
		used[j] = true
	}
	color := make([]int32, len(p.cell))
	for c, i := range p.cell {
		color[c] = nearest[i]
		if opt.Fixed != nil && opt.Fixed[c] >= 0 {
			color[c] = opt.Fixed[c]
		}
		used[color[c]] = true
	}
	sel := &Selection{Cells: make([]uint16, len(p.cell))}
	index := make([]uint16, len(p.from))
	for j, u := range used {
		if u {
			index[j] = uint16(len(sel.Chosen))
			sel.Chosen = append(sel.Chosen, j)
		}
	}
	for c, j := range color {
		sel.Cells[c] = index[j]
	}
	return sel
}

// Nearest returns, for each cell, which of the chosen colors (indices into
// from) is nearest to it: an index into chosen, ties by its order.
func (p *Problem) Nearest(chosen []int) []uint16 {
	open := make([]int32, len(chosen))
	index := make(map[int32]uint16)
	for k, j := range chosen {
		open[k] = int32(j)
		if _, ok := index[int32(j)]; !ok {
			index[int32(j)] = uint16(k)
		}
	}
	nearest := p.nearest(open)
	cells := make([]uint16, len(p.cell))
	for c, i := range p.cell {
		cells[c] = index[nearest[i]]
	}
	return cells
}

// Miss returns the plain sum over all cells of the miss of the nearest chosen
// color (indices into from), in steps of 1/Unit.
func (p *Problem) Miss(chosen []int) (sum int64) {
	open := make([]int32, len(chosen))
	for k, j := range chosen {
		open[k] = int32(j)
	}
	l := p.levels[2]
	for i, j := range p.nearest(open) {
		sum += int64(p.count[i]) * int64(units(l.points[i], l.from[j]))
	}
	return sum
}

// nearest returns the nearest open color for each color of the cells.
func (p *Problem) nearest(open []int32) []int32 {
	p.lists.Lock()
	defer p.lists.Unlock()
	l := p.levels[2]
	is := make([]bool, len(p.from))
	for _, j := range open {
		is[j] = true
	}
	out := make([]int32, len(l.points))
	parallel(len(out), 512, func(_, lo, hi int) {
		for i := lo; i < hi; i++ {
			out[i] = l.one(int32(i), is, open)
		}
	})
	return out
}
