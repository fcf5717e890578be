// Package place lays chosen colors into the cells of a picture: near the
// target drill by drill, close to it from afar, and calm.
//
// Begin with [Place]. The package sees only numbers: a grid of target colors
// and the colors to lay; it answers with indices. How the colors were chosen
// does not matter to it.
package place

import (
	"context"
	"math"
	"sync/atomic"

	"kitwright/internal/par"
	"kitwright/internal/say"
	"kitwright/lab"
)

// Options says how colors are laid into cells. The zero value gives every
// cell its nearest color.
type Options struct {
	// Calm, 0 to 1, is how strongly lone drills are merged into their
	// neighbors. At 0 every cell has its nearest color; at .5 strays are gone
	// and fine shades are mixed where that brings an area closer to the photo;
	// at 1 areas are as plain as they get.
	Calm float64

	// Blend, Smooth and Lone, if any is set, stand in for what Calm makes of
	// them: how much the squared difference of the picture blurred over about
	// a drill counts, what a pair of unlike neighbors costs (half to twice
	// that, by how unlike they are), and what a drill without a like neighbor
	// costs, all against CIEDE2000 of the cells. Calm .5 is Blend .05,
	// Smooth 1, Lone 2.
	Blend, Smooth, Lone float64

	Weight []uint16 // how much a miss counts in each cell, relative to the mean; nil: all alike
	Fixed  []int32  // a color's index for cells that are settled, -1 for free ones; nil: all free
}

// strengths are the options' in whole numbers.
type strengths struct {
	blend  int64 // units of 1/1024
	smooth int32 // costs
	lone   int64 // costs
}

func (o Options) strengths() strengths {
	b, s, l := o.Blend, o.Smooth, o.Lone
	if b == 0 && s == 0 && l == 0 && o.Calm > 0 {
		c := math.Min(1, o.Calm)
		s, l = 4*c*c, 4*c
		b = math.Min(0.05*s, 0.1*(1-c)) // from .08 on, worms grow where a soft ground is mixed of two unlike colors
	}
	return strengths{int64(math.Round(b * 1024)), int32(math.Round(s * placeUnit)), int64(math.Round(l * placeUnit))}
}

const (
	placeUnit  = 4096 // costs a unit of CIEDE2000
	placeKept  = 16   // nearest colors that a cell may take
	placeReach = 8    // difference that a color may have, plus half that of the nearest one: mixing unlike colors draws dots and patterns
	placeTurns = 4    // turns of row and column sweeps, at most
	placePass  = 8    // passes of the descent, at most
)

// Place lays colors into the cells of g so that the picture is close to the
// target, cell by cell and after the eye's blur, and calm: it lowers
//
//	sum of CIEDE2000(cell) + Blend * sum of |blurred difference|^2 + Smooth * unlike neighbor pairs + Lone * lone drills.
//
// It first finds the best row and the best column again and again, each
// exactly, for the first term and Smooth (A. Viterbi's dynamic programming, on
// the Potts model of R. B. Potts, 1952), then changes single cells while the
// whole falls. The blurred difference is that of linear light, in units of
// local CIE L*a*b* (chroma shrunk by 1+.045C as in CIE94), so the descent may
// mix neighbors where their mean is closer than either.
//
// Start is the nearest color of each cell, or nil to let Place find it. The
// result is the same for any number of processors. When ctx ends, Place
// returns what it has and the context's error.
func Place(ctx context.Context, g *lab.Grid, colors []lab.Color, start []uint16, opt Options) ([]uint16, error) {
	with := opt.strengths()
	if with == (strengths{}) && start != nil {
		at := append([]uint16(nil), start...)
		for i, f := range opt.Fixed {
			if f >= 0 {
				at[i] = uint16(f)
			}
		}
		return at, ctx.Err()
	}
	p := newPlacer(g, colors, opt, with.smooth)
	steps := placeTurns + placePass
	for turn := 0; turn < placeTurns && with.smooth > 0 && ctx.Err() == nil; turn++ {
		say.Step(ctx, "placing colors", turn, steps)
		if !p.sweep() {
			break
		}
	}
	if with.blend+with.lone > 0 && ctx.Err() == nil {
		d := newDescent(p, g, colors, with, opt)
		for pass := 0; pass < placePass && ctx.Err() == nil; pass++ {
			say.Step(ctx, "placing colors", placeTurns+pass, steps)
			if !d.pass() {
				break
			}
		}
	}
	say.Step(ctx, "placing colors", steps, steps)
	return p.at, ctx.Err()
}

// placer holds what each cell may take and has.
type placer struct {
	cols, rows int
	colors     int
	smooth     int32
	kept       int      // candidates a cell
	choice     []uint16 // kept of them for each cell, nearest first
	cost       []int32  // their costs; noCost: no more candidates
	at         []uint16 // the color each cell has
}

const noCost = math.MaxInt32

// mostLight is more than the S_L of CIEDE2000 ever is (1.747 at black and
// white): two colors differ by at least their difference of L* over it.
const mostLight = 1.75

// newPlacer gives each cell its candidates and its nearest color. But for the
// blur, a color farther than the nearest by more than 4 times smooth can never
// be the better one, whatever the neighbors are.
func newPlacer(g *lab.Grid, colors []lab.Color, opt Options, smooth int32) *placer {
	n := len(g.Cells)
	kept := min(placeKept, len(colors))
	p := &placer{cols: g.Cols, rows: g.Rows, colors: len(colors), smooth: smooth, kept: kept,
		choice: make([]uint16, n*kept), cost: make([]int32, n*kept), at: make([]uint16, n)}
	points := make([]lab.Point, len(colors))
	for i, c := range colors {
		points[i] = lab.PointOf(c)
	}
	weight := relative(opt.Weight)
	reach := func(nearest int32) int32 { return max(nearest+4*smooth, nearest/2+placeReach*placeUnit) }
	par.Rows(g.Rows, func(y int) {
		for i := y * g.Cols; i < (y+1)*g.Cols; i++ {
			choice, cost := p.choice[i*kept:(i+1)*kept], p.cost[i*kept:(i+1)*kept]
			for j := range cost {
				cost[j] = noCost
			}
			if opt.Fixed != nil && opt.Fixed[i] >= 0 {
				choice[0], cost[0] = uint16(opt.Fixed[i]), 0
				p.at[i] = choice[0]
				continue
			}
			here := lab.PointOf(g.Cells[i])
			limit := int32(noCost)
			for c, q := range points {
				if math.Abs(here.L-q.L)*(placeUnit/mostLight) > float64(limit) {
					continue
				}
				d := int32(math.Round(here.DeltaE(q) * placeUnit))
				if d >= cost[kept-1] || d > limit {
					continue
				}
				j := kept - 1
				for ; j > 0 && d < cost[j-1]; j-- {
					choice[j], cost[j] = choice[j-1], cost[j-1]
				}
				choice[j], cost[j] = uint16(c), d
				limit = min(cost[kept-1], reach(cost[0]))
			}
			far := reach(cost[0])
			for j, d := range cost {
				if d > far {
					cost[j] = noCost
				} else if weight != nil {
					cost[j] = int32(min(int64(d)*weight[i]/weightOne, noCost/64))
				}
			}
			p.at[i] = choice[0]
		}
	})
	return p
}

const weightOne = 256

// relative returns weights in units of weightOne for their mean, at most 64.
func relative(weight []uint16) []int64 {
	var sum int64
	for _, w := range weight {
		sum += int64(w)
	}
	if sum == 0 {
		return nil
	}
	rel := make([]int64, len(weight))
	for i, w := range weight {
		rel[i] = min(64*weightOne, (int64(w)*weightOne*int64(len(weight))+sum/2)/sum)
	}
	return rel
}

// sweep finds the best of each row, given its neighbors, and the best of each
// column: even ones, then odd ones, which do not touch. It reports whether
// anything changed.
func (p *placer) sweep() bool {
	var changed atomic.Bool
	for _, line := range []struct{ lines, length, step, next, side int }{
		{p.rows, p.cols, p.cols, 1, p.cols},
		{p.cols, p.rows, 1, p.cols, 1},
	} {
		for parity := range 2 {
			count := (line.lines + 1 - parity) / 2
			scratch := make([]*viterbi, par.Count(count))
			par.Workers(count, func(worker, i int) {
				if scratch[worker] == nil {
					scratch[worker] = newViterbi(p, line.length)
				}
				at := 2*i + parity
				before, after := at > 0, at+1 < line.lines
				if scratch[worker].line(at*line.step, line.length, line.next, line.side, before, after) {
					changed.Store(true)
				}
			})
		}
	}
	return changed.Load()
}

// viterbi is the room that one line's dynamic programming needs.
type viterbi struct {
	p     *placer
	best  []int32 // cost of the best line that ends in a color, for the cell before
	stamp []int32 // and whether that cell may take it: the cell's number
	slot  []uint8 // as which of its candidates
	from  []uint8 // for each cell and candidate, the candidate before
	now   [placeKept]int32
}

func newViterbi(p *placer, length int) *viterbi {
	return &viterbi{p: p, best: make([]int32, p.colors), stamp: make([]int32, p.colors),
		slot: make([]uint8, p.colors), from: make([]uint8, length*p.kept)}
}

// line finds the best colors for the length cells at first, first+next, ...
// given the cells beside them at -side and +side, if there are any. It changes
// nothing when the best is no better than what is there.
func (v *viterbi) line(first, length, next, side int, before, after bool) bool {
	p := v.p
	clear(v.stamp)
	var old, shift int64 // the line's cost now; what was taken off to keep numbers small
	var lowest int32
	var lowestSlot uint8
	for t := range length {
		i := first + t*next
		choice, cost := p.choice[i*p.kept:(i+1)*p.kept], p.cost[i*p.kept:(i+1)*p.kept]
		var low int32 = noCost
		var lowSlot uint8
		count := 0
		for j, u := range cost {
			if u == noCost {
				break
			}
			count++
			c := choice[j]
			if before && p.at[i-side] != c {
				u += p.smooth
			}
			if after && p.at[i+side] != c {
				u += p.smooth
			}
			if c == p.at[i] {
				old += int64(u)
				if t > 0 && p.at[i-next] != c {
					old += int64(p.smooth)
				}
			}
			if t > 0 {
				step, from := lowest+p.smooth, lowestSlot
				if v.stamp[c] == int32(t) && v.best[c] <= step {
					step, from = v.best[c], v.slot[c]
				}
				u += step
				v.from[t*p.kept+j] = from
			}
			v.now[j] = u
			if u < low {
				low, lowSlot = u, uint8(j)
			}
		}
		for j := range count {
			c := choice[j]
			v.best[c], v.stamp[c], v.slot[c] = v.now[j]-low, int32(t)+1, uint8(j)
		}
		shift += int64(low)
		lowest, lowestSlot = 0, lowSlot
	}
	if shift >= old {
		return false
	}
	j := lowestSlot
	for t := length - 1; t >= 0; t-- {
		i := first + t*next
		p.at[i] = p.choice[i*p.kept+int(j)]
		if t > 0 {
			j = v.from[t*p.kept+int(j)]
		}
	}
	return true
}
