package quantize

import (
	"context"
	"math"
	"slices"

	"kitwright/lab"
)

// Unit is the number of steps of a cost in a difference of 1 (CIEDE2000).
// Costs are whole numbers, so sums are exact and the same on every machine.
const Unit = 8192

// units is a difference in steps.
func units(p, q lab.Point) int32 { return int32(math.Round(p.DeltaE(q) * Unit)) }

// level is the picture at one fineness: points to be served, in groups of
// neighbors, and for each the colors near it.
type level struct {
	from   []lab.Point
	points []lab.Point
	groups []int32   // group g is points groups[g] to groups[g+1]
	boxes  []lab.Box // around each group
	reach  []int32   // point -> what its list is good for
	near   [][]pair  // point -> colors nearer than reach, nearest first, ties by index

	// The coarser picture: group g here is point g there. nil for the coarsest.
	above *level
}

// pair is a color and its difference from the point that lists it: units<<16 | color.
type pair uint64

func (p pair) color() int32 { return int32(p & 0xffff) }
func (p pair) units() int32 { return int32(p >> 16) }

func newLevel(from, points []lab.Point, groups []int32, above *level) *level {
	n := len(groups) - 1
	l := &level{from: from, points: points, groups: groups, above: above,
		boxes: make([]lab.Box, n), reach: make([]int32, len(points)), near: make([][]pair, len(points))}
	for g := range n {
		for i := groups[g]; i < groups[g+1]; i++ {
			l.boxes[g].Add(points[i])
		}
	}
	return l
}

// everything is the reach of a list that holds all colors.
const everything = math.MaxInt32

// extend makes the lists reach at least as far as asked: every color nearer
// than reach (in units) to a point is on the point's list. Only pairs that
// boxes do not rule out are compared, so no matrix of all pairs is ever made.
// It tells whether it came to the end before ctx did.
func (l *level) extend(ctx context.Context, reach []int32) bool {
	parallel(len(l.boxes), 64, func(_, lo, hi int) {
		var cand []int32
		var buf []pair
		for g := lo; g < hi; g++ {
			far := int32(0)
			for i := l.groups[g]; i < l.groups[g+1]; i++ {
				if reach[i] > l.reach[i] {
					far = max(far, reach[i])
				}
			}
			if far == 0 || ctx.Err() != nil {
				continue
			}
			cand = cand[:0]
			for j, p := range l.from {
				if far == everything || !l.boxes[g].Beyond(p, float64(far)/Unit) {
					cand = append(cand, int32(j))
				}
			}
			for i := l.groups[g]; i < l.groups[g+1]; i++ {
				if reach[i] > l.reach[i] {
					buf = l.compare(i, reach[i], cand, buf[:0])
				}
			}
		}
	})
	return ctx.Err() == nil
}

// compare lists the colors of cand that are nearer than reach to a point.
func (l *level) compare(i, reach int32, cand []int32, buf []pair) []pair {
	p, d := l.points[i], float64(reach)/Unit
	for _, j := range cand {
		if reach != everything && p.Beyond(l.from[j], d) {
			continue
		}
		off := p.Within(l.from[j], d)
		if math.IsInf(off, 1) {
			continue
		}
		if u := int32(math.Round(off * Unit)); u < reach {
			buf = append(buf, pair(u)<<16|pair(j))
		}
	}
	slices.Sort(buf)
	l.near[i], l.reach[i] = slices.Clone(buf), reach
	return buf
}

// reachFor returns how far the list of each point should reach for the search
// around an open set: past the second nearest of its colors.
func (l *level) reachFor(open []int32) []int32 {
	reach := make([]int32, len(l.points))
	if l.above == nil {
		for i := range reach {
			reach[i] = everything
		}
		return reach
	}
	is := make([]bool, len(l.from))
	for _, j := range open {
		is[j] = true
	}
	parallel(len(l.boxes), 64, func(_, lo, hi int) {
		for g := lo; g < hi; g++ {
			// The two that are nearest for the whole group: no point's second
			// nearest is farther than the farther of them.
			a, b := l.above.two(int32(g), is, open)
			for i := l.groups[g]; i < l.groups[g+1]; i++ {
				d := units(l.points[i], l.from[a])
				if b >= 0 {
					d = max(d, units(l.points[i], l.from[b]))
				}
				reach[i] = l.slack(d)
			}
		}
	})
	return reach
}

// slack is how far a list reaches whose point has its second nearest color at d.
func (l *level) slack(d int32) int32 {
	return int32(min(int64(d)+Unit/2, everything-1))
}

// two returns the nearest and the second nearest open color of a point, -1
// where there is none.
func (l *level) two(i int32, is []bool, open []int32) (a, b int32) {
	a = -1
	for _, p := range l.near[i] {
		if j := p.color(); is[j] {
			if a >= 0 {
				return a, j
			}
			a = j
		}
	}
	const none = pair(math.MaxUint64)
	first, second := none, none
	for _, j := range open {
		switch p := pair(units(l.points[i], l.from[j]))<<16 | pair(j); {
		case p < first:
			first, second = p, first
		case p < second:
			second = p
		}
	}
	if second == none {
		return first.color(), -1
	}
	return first.color(), second.color()
}

// one returns the nearest open color of a point, ties by index.
func (l *level) one(i int32, is []bool, open []int32) int32 {
	for _, p := range l.near[i] {
		if j := p.color(); is[j] {
			return j
		}
	}
	first := pair(math.MaxUint64)
	for _, j := range open {
		first = min(first, pair(units(l.points[i], l.from[j]))<<16|pair(j))
	}
	return first.color()
}

// table makes the problem of this level for an objective: the allowed colors,
// the clients that weigh anything, lists cut at reach.
func (l *level) table(o *objective, weight []int64, allowed []int32, reach []int32) *table {
	slot := make([]int32, len(l.from))
	for j := range slot {
		slot[j] = -1
	}
	for k, j := range allowed {
		slot[j] = int32(k)
	}
	t := &table{m: len(allowed), name: allowed}
	clients, entries := 0, 0
	lists, n := make([]int32, len(reach)), 0
	for i, r := range reach {
		if weight[i] > 0 {
			n = l.within(i, r, n) // neighbors are alike
			lists[i] = int32(n)
			clients++
			entries += n
		}
	}
	t.start, t.point = append(make([]int32, 0, clients+1), 0), make([]int32, 0, clients)
	t.end, t.weight = make([]int64, 0, clients), make([]float64, 0, clients)
	fac, cost := make([]uint16, entries), make([]int64, entries)
	at := 0 // in both
	for i, r := range reach {
		w := weight[i]
		if w == 0 {
			continue
		}
		t.point = append(t.point, int32(i))
		for _, p := range l.near[i][:lists[i]] {
			if k := slot[p.color()]; k >= 0 {
				fac[at], cost[at] = uint16(k), w*o.cost(p.units())
				at++
			}
		}
		t.start = append(t.start, int32(at))
		end := w * o.cost(r)
		if r == everything {
			end = cost[at-1]
		}
		t.end, t.weight = append(t.end, end), append(t.weight, float64(w)/float64(o.scale))
	}
	t.fac, t.cost = fac[:at], cost[:at]
	t.row = func(i, j, within int32) (int64, int32) {
		p, q := l.points[t.point[i]], l.from[allowed[j]]
		if within < everything {
			// What is farther may still cost the same, by a square cut to whole numbers.
			if far := within + 16; o.cost(far) > o.cost(within) && p.Beyond(q, float64(far)/Unit) {
				return math.MaxInt64, math.MaxInt32
			}
		}
		u := units(p, q)
		return weight[t.point[i]] * o.cost(u), u
	}
	return t
}

// within is how many colors a point lists that are nearer than reach: about so
// many as guessed.
func (l *level) within(i int, reach int32, guess int) int {
	near := l.near[i]
	n := min(guess, len(near))
	for n > 0 && near[n-1].units() >= reach {
		n--
	}
	for n < len(near) && near[n].units() < reach {
		n++
	}
	return n
}
