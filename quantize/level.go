package quantize

import (
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
	reach  []int32   // group -> what the lists of its points are good for
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
		boxes: make([]lab.Box, n), reach: make([]int32, n), near: make([][]pair, len(points))}
	for g := range n {
		for i := groups[g]; i < groups[g+1]; i++ {
			l.boxes[g].Add(points[i])
		}
	}
	return l
}

// everything is the reach of a list that holds all colors.
const everything = math.MaxInt32

// extend makes the lists of every group reach at least as far as asked: every
// color nearer than reach (in units) to one of its points is on that point's
// list. Only pairs that the group's box does not rule out are compared, so no
// matrix of all pairs is ever made.
func (l *level) extend(reach []int32) {
	parallel(len(reach), 64, func(_, lo, hi int) {
		var cand []int32
		var buf []pair
		for g := lo; g < hi; g++ {
			if reach[g] <= l.reach[g] {
				continue
			}
			l.reach[g] = reach[g]
			d := float64(reach[g]) / Unit
			cand = cand[:0]
			for j, p := range l.from {
				if reach[g] == everything || !l.boxes[g].Beyond(p, d) {
					cand = append(cand, int32(j))
				}
			}
			one := l.groups[g+1]-l.groups[g] == 1
			for i := l.groups[g]; i < l.groups[g+1]; i++ {
				p := l.points[i]
				var box lab.Box
				box.Add(p)
				buf = buf[:0]
				for _, j := range cand {
					if !one && reach[g] != everything && box.Beyond(l.from[j], d) {
						continue
					}
					if u := units(p, l.from[j]); u < reach[g] {
						buf = append(buf, pair(u)<<16|pair(j))
					}
				}
				slices.Sort(buf)
				l.near[i] = slices.Clone(buf)
			}
		}
	})
}

// reachFor returns how far the lists of each group should reach for the search
// around an open set: past the second nearest of its colors at every point.
func (l *level) reachFor(open []int32) []int32 {
	reach := make([]int32, len(l.boxes))
	if l.above == nil {
		for g := range reach {
			reach[g] = everything
		}
		return reach
	}
	is := make([]bool, len(l.from))
	for _, j := range open {
		is[j] = true
	}
	parallel(len(reach), 64, func(_, lo, hi int) {
		for g := lo; g < hi; g++ {
			// The two that are nearest for the whole group; no point's second
			// nearest is farther than the farther of them.
			a, b := l.above.two(int32(g), is, open)
			far := int32(0)
			for i := l.groups[g]; i < l.groups[g+1]; i++ {
				d := units(l.points[i], l.from[a])
				if b >= 0 {
					d = max(d, units(l.points[i], l.from[b]))
				}
				far = max(far, d)
			}
			reach[g] = int32(min(int64(far)*9/8+Unit, everything-1))
		}
	})
	return reach
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
	t := &table{m: len(allowed), name: allowed, start: []int32{0}}
	size := 0
	for _, near := range l.near {
		size += len(near)
	}
	t.fac, t.cost = make([]int32, 0, size), make([]int64, 0, size)
	for g, r := range reach {
		for i := l.groups[g]; i < l.groups[g+1]; i++ {
			w := weight[i]
			if w == 0 {
				continue
			}
			t.point = append(t.point, i)
			for _, p := range l.near[i] {
				if p.units() >= r {
					break
				}
				if k := slot[p.color()]; k >= 0 {
					t.fac, t.cost = append(t.fac, k), append(t.cost, w*o.cost(p.units()))
				}
			}
			t.start = append(t.start, int32(len(t.fac)))
			end := never
			if r != everything {
				end = w * o.cost(r)
			}
			t.end, t.weight = append(t.end, end), append(t.weight, float64(w)/float64(o.scale))
		}
	}
	t.row = func(i, j int32) int64 {
		return weight[t.point[i]] * o.cost(units(l.points[t.point[i]], l.from[allowed[j]]))
	}
	return t
}
