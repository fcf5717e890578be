// Package roll lays rectangles side by side on a roll of paper so that little of
// its length is used, and proves how little could be used at best. It sees only
// numbers.
//
// Begin with [Pack]. A first laying comes from a skyline heuristic that many
// orders are tried with (lay.go); a length that no laying can be below comes
// from dual feasible functions (bound.go); where the two differ and the
// rectangles are few, a search goes through all layings that matter
// (exact.go). Effort is counted in steps, never in seconds, so the same
// rectangles lie the same way on any machine.
package roll

import (
	"context"
	"slices"
)

// Item is a rectangle, with the gap to its neighbors. Any unit will do.
type Item struct {
	W, H int64 // across and along the roll
	Turn bool  // may be turned by a quarter
}

// Placed is where an item lies: its lower left corner, or its upper left one
// if the roll is seen from the other end.
type Placed struct {
	Item   int // index into the items
	X, Y   int64
	Turned bool
}

// Plan is how items lie on stretches of a roll.
type Plan struct {
	Runs   [][]Placed // each a stretch that is cut off by itself, items by their place: along, then across
	Long   []int64    // of each
	Length int64      // of all
	Bound  int64      // no plan is shorter
}

// Proven says whether no plan is shorter.
func (p *Plan) Proven() bool { return p.Length <= p.Bound }

// Effort is how hard a plan is looked for.
type Effort struct {
	Orders int // that the heuristic tries; 0: a number that suits
	Nodes  int // of the exact search; 0: a number that suits
}

// Fits says whether an item fits on a roll of this width, in a stretch that is
// at most most long.
func (it Item) Fits(width, most int64) bool {
	return it.W <= width && it.H <= most || it.Turn && it.H <= width && it.W <= most
}

// Pack lays items on a roll of a width, in stretches that are at most most
// long. Every item must fit. A run that is stopped gives what it has and the
// error of its context.
func Pack(ctx context.Context, width, most int64, items []Item, e Effort) (*Plan, error) {
	for _, it := range items {
		if !it.Fits(width, most) || it.W < 1 || it.H < 1 {
			panic("an item does not fit on the roll")
		}
	}
	if len(items) == 0 {
		return &Plan{}, ctx.Err()
	}
	p := &packing{ctx: ctx, width: width, most: most, items: items}
	p.effort(e)
	best := p.heuristic()
	bound := p.bound(best.Length)
	if best.Length > bound && best.Length <= most {
		bound = p.exact(best, bound)
	}
	best.Bound = min(bound, best.Length)
	for _, run := range best.Runs {
		slices.SortFunc(run, func(a, b Placed) int {
			if a.Y != b.Y {
				return int(min(1, max(-1, a.Y-b.Y)))
			}
			return int(min(1, max(-1, a.X-b.X)))
		})
	}
	return best, ctx.Err()
}

// packing is one problem.
type packing struct {
	ctx         context.Context
	width, most int64
	items       []Item
	orders      int
	nodes       int
}

func (p *packing) effort(e Effort) {
	n := len(p.items)
	if p.orders = e.Orders; p.orders == 0 {
		p.orders = min(4000, 4_000_000/(n*n)+50)
	}
	if p.nodes = e.Nodes; p.nodes == 0 {
		p.nodes = 400_000
	}
}

// way is an item in one of the two ways it may lie.
type way struct {
	w, h   int64
	turned bool
}

// ways returns the ways in which an item can lie on the roll.
func (p *packing) ways(it Item) []way {
	var out []way
	if it.W <= p.width && it.H <= p.most {
		out = append(out, way{it.W, it.H, false})
	}
	if it.Turn && it.W != it.H && it.H <= p.width && it.W <= p.most {
		out = append(out, way{it.H, it.W, true})
	}
	return out
}
