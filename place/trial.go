package place

import (
	"math"
	"slices"

	"kitwright/internal/par"
	"kitwright/lab"
)

const (
	trialEarly = 2 // passes of a trial with lone drills and lines at a quarter of their price
	trialFull  = 8 // and in full, at most
	trialReach = 3 // by how much more than the nearest a color that comes in may miss where cells are looked at for it
)

// instead returns the picture with color c in place of the color s, not laid
// anew: where s lay, the nearest color lies now, and what the exchange touches
// is then descended on. The layer itself stays as it is.
func (l *layer) instead(s int, c lab.Color) *layer {
	t := *l
	t.points = slices.Clone(l.points)
	t.points[s] = lab.PointOf(c)
	t.light = slices.Clone(l.light)
	t.light[s] = wholeLight(c)
	t.neighbors()
	t.at, t.pull = slices.Clone(l.at), slices.Clone(l.pull)
	t.choice, t.cost = slices.Clone(l.choice), slices.Clone(l.cost)
	t.mesh.blur = slices.Clone(l.mesh.blur)
	t.drifts = slices.Clone(l.drifts)
	t.changed, t.visited, t.tick = make([]int32, len(l.changed)), make([]int32, len(l.visited)), 0

	touched := make([]bool, l.cols*l.rows)
	par.Rows(l.rows, func(y int) {
		for x := range l.cols {
			if q, i := l.place(x, y), y*l.cols+x; l.free[q] {
				touched[i] = t.exchanged(i, q, uint16(s))
			}
		}
	})
	t.rest = make([]int64, len(l.rest))
	for i, is := range touched {
		t.rest[i] = asleep
		if is {
			t.rest[i] = awake
		}
	}
	v := visitor{layer: &t}
	for i, is := range touched {
		// Where s lay, its light is still that of the color that left.
		if q := l.place(i%l.cols, i/l.cols); is && (l.at[q] == uint16(s) || t.missOf(q, l.at[q]) == none) {
			v.block = t.block(q)
			v.recolor(q, t.choice[q*t.kept], l.light[l.at[q]])
		}
	}
	t.lone, t.worm = t.prices(true)
	for pass := range trialEarly {
		t.pass(passes + pass) // with the weights that the far view has
	}
	t.lone, t.worm = t.prices(false)
	if t.with.bend > 0 {
		t.weigh(1)
	}
	for i, until := range t.rest {
		if until != asleep {
			t.rest[i] = awake
		}
	}
	clear(t.visited)
	t.settle(trialFull)
	return &t
}

// settle goes on with the descent until nothing changes.
func (l *layer) settle(most int) {
	idle := 0 // passes without a change: pairs across the borders of blocks wait for every other one
	for pass := 0; pass < most && idle < 2; pass++ {
		if l.pass(passes + pass) {
			idle = 0
		} else {
			idle++
		}
	}
}

// exchanged gives a cell its candidates anew if the color s, which is another
// one now, was or is among them, and says whether the cell has to be looked at:
// its color left, or the one that comes in is about as near as the nearest.
func (l *layer) exchanged(i, q int, s uint16) bool {
	choice, cost := l.choicesOf(q)
	first := cost[0]
	was := slices.Index(choice[:l.offered(q)], s)
	here := lab.PointOf(l.grid.Cells[i])
	if l.weight != nil && was != 0 {
		first = l.off(here, choice[0])
	}
	d := int32(none)
	if math.Abs(here.L-l.points[s].L)*(unit/mostLight) <= float64(l.reachOf(first)) {
		d = l.off(here, s)
	}
	comes := d <= l.reachOf(first)
	switch n := l.offered(q); {
	case was < 0 && !comes:
		return false
	case was == 0, d <= first, n == len(cost): // the nearest is another, or there may be more
		l.offer(i, q)
	default:
		if was > 0 {
			copy(choice[was:n], choice[was+1:n])
			copy(cost[was:n], cost[was+1:n])
			n--
			cost[n] = none
		}
		if comes {
			d += l.stray(l.keeps[i], d-first, choice[0], s)
			choice[n], cost[n] = s, int32(weighed(int64(d), l.weight, i))
		}
	}
	return l.at[q] == s || l.missOf(q, l.at[q]) == none || l.missOf(q, s) <= int64(cost[0])+trialReach*unit
}

// offered is how many candidates a cell has.
func (l *layer) offered(q int) int {
	_, cost := l.choicesOf(q)
	for n, d := range cost {
		if d == none {
			return n
		}
	}
	return len(cost)
}

// off is how far a color is off.
func (l *layer) off(here lab.Point, c uint16) int32 {
	return int32(math.Round(here.DeltaE(l.points[c]) * unit))
}
