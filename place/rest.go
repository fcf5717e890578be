package place

import "math"

// A cell that could not be changed for the better stays as it is until
// something near it changes, or the wide blur's gradient drifts so far that
// another color may have become better. How far that is, is known from what the
// changes that were tried lacked.

// restReach is how far a change is felt by other cells: its pull reaches 2
// cells, a gradient 2 more, and one is between two cells that change at once.
const restReach = 5

const (
	awake  = -1            // the rest of cells that have to be looked at
	asleep = math.MaxInt64 // and of those that are only when something near changes
)

// drift is how far the wide blur's gradient has moved at a block of the mesh
// and at those right of and below it, all moves added up.
type drift struct {
	sum  int64
	wide [3][2]int64 // as they were last
}

// lack is what the changes of a cell that were tried lacked at least.
type lack struct {
	single, double int64 // costs, of one cell and of two
	far            int64 // the miss from afar, of one cell, where it did not fall: two are then not tried
	step           int64 // the most that one of them moves a channel of color
}

const lackMost = int64(1) << 30

func (l *lack) moves(far, dy, dz int64) {
	if far >= 0 {
		l.far = min(l.far, far)
	}
	l.steps(dy, dz)
}

func (l *lack) steps(dy, dz int64) { l.step = max(l.step, dy, -dy, dz, -dz) }

// room returns by how much the wide gradient may drift before one of the
// changes could be for the better; below 0 for not at all.
func (l *lack) room(blend int64) int64 {
	const farthest = 1 << 50
	// Of costs, two are left for what is cut; of the gradient, one in each channel.
	far := func(cost int64) int64 {
		return min(max(0, cost-2)<<(25-spare)/max(1, blend)-1, farthest>>13) << 13
	}
	least := min(far(l.single), far(l.double)/2, l.far, farthest)
	return (least/(2*max(1, l.step)) - 2) << spare
}

// enter begins a visit of a block of the mesh and brings its drift up to date.
// Blocks right of it and below are only looked at where the cells of the visit
// reach into them: farther away others may be at work. Pairs that lie across are
// not tried there either, and what has drifted is made up for when they are.
func (v *visitor) enter(block int, right, below bool) {
	v.block, v.drift = block, &v.drifts[block]
	v.sides = [3]bool{true, right, below}
	v.wide, v.moved = v.mesh.pull(block), false
	v.beyond()
	most := int64(0)
	for i, wide := range [3]*[3]int64{&v.wide, &v.wideRight, &v.wideBelow} {
		if was := &v.drift.wide[i]; v.sides[i] {
			most = max(most, abs(wide[1]-was[0])+abs(wide[2]-was[1]))
		}
	}
	v.drift.sum += most
	v.leave()
}

// beyond reckons the gradients right of the block and below it.
func (v *visitor) beyond() {
	if v.sides[1] {
		v.wideRight = v.mesh.pull(v.block + 1)
	}
	if v.sides[2] {
		v.wideBelow = v.mesh.pull(v.block + v.mesh.across)
	}
}

// leave keeps the gradients that hold at the end of a visit. What was found out
// about cells before one of them changed holds no longer.
func (v *visitor) leave() {
	if v.moved {
		v.beyond()
	}
	for i, wide := range [3]*[3]int64{&v.wide, &v.wideRight, &v.wideBelow} {
		if v.sides[i] {
			v.drift.wide[i] = [2]int64{wide[1], wide[2]}
		}
	}
}

// wideOf is the gradient of the wide blur at a block: the visitor's, or the one
// right of it or below.
func (v *visitor) wideOf(block int) [3]int64 {
	switch {
	case block == v.block:
		return v.wide
	case v.moved:
		return v.mesh.pull(block)
	case block == v.block+1:
		return v.wideRight
	}
	return v.wideBelow
}

// wake says that what a cell's change reaches has to be looked at again.
func (l *layer) wake(q int) {
	x, y := q%l.stride-margin, q/l.stride-margin
	for yy := max(0, y-restReach); yy < min(l.rows, y+restReach); yy++ {
		row := l.rest[yy*l.cols:][:l.cols]
		for xx := max(0, x-restReach); xx < min(l.cols, x+restReach); xx++ {
			row[xx] = awake
		}
	}
}

// sleeps says whether all cells of a block of the mesh are asleep.
func (l *layer) sleeps(x0, y0, right, bottom int) bool {
	for y := y0; y < min(y0+meshSide, bottom); y++ {
		for x := x0; x < min(x0+meshSide, right); x++ {
			if l.rest[y*l.cols+x] != asleep {
				return false
			}
		}
	}
	return true
}

// wakeAll does so for all cells: prices are others.
func (l *layer) wakeAll() {
	clear(l.visited)
	for i := range l.rest {
		l.rest[i] = awake
	}
}

func abs(v int64) int64 { return max(v, -v) }
