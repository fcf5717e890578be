package place

import (
	"sync/atomic"

	"kitwright/internal/par"
)

// blockSide is the side, in cells, of the blocks that are visited at the same
// time, one in four. What one of them writes reaches 2 blocks of the mesh, 11
// cells, beyond it and what it reads as far; 16 keep any two apart. It must be
// a multiple of 2*meshSide.
const blockSide = 16

// pass visits every cell once, except blocks where nothing near has changed,
// and reports whether anything changed. Every other pass the blocks are
// shifted by half a side, for pairs that lie across their borders.
func (l *layer) pass(number int) bool {
	var changed atomic.Bool
	if weighs(number) && l.with.bend > 0 {
		l.reweigh(1)
	}
	shift := number % 2 * blockSide / 2
	if number < early+2 { // prices, or what belongs to which block, were others
		clear(l.visited)
	}
	for kind := range 4 {
		l.tick++
		across, down := (l.blocksAcross+1-kind%2)/2, (l.blocksDown+1-kind/2)/2
		par.Rows(across*down, func(i int) {
			bx, by := i%across*2+kind%2, i/across*2+kind/2
			b := by*l.blocksAcross + bx
			if l.visited[b] > l.lastChange(bx, by) {
				return
			}
			l.visited[b] = l.tick
			if l.visit(bx*blockSide-shift, by*blockSide-shift) {
				l.changed[b] = l.tick
				changed.Store(true)
			}
		})
	}
	return changed.Load()
}

// lastChange returns when a block or one beside it last changed.
func (l *layer) lastChange(bx, by int) (tick int32) {
	for y := max(0, by-1); y <= min(l.blocksDown-1, by+1); y++ {
		for x := max(0, bx-1); x <= min(l.blocksAcross-1, bx+1); x++ {
			tick = max(tick, l.changed[y*l.blocksAcross+x])
		}
	}
	return tick
}

// visit improves the cells of a block, one block of the mesh after the other.
func (l *layer) visit(left, top int) (changed bool) {
	right, bottom := min(left+blockSide, l.cols), min(top+blockSide, l.rows)
	left, top = max(0, left), max(0, top)
	v := visitor{layer: l, right: right, bottom: bottom}
	for y0 := top; y0 < bottom; y0 += meshSide {
		for x0 := left; x0 < right; x0 += meshSide {
			if l.sleeps(x0, y0, right, bottom) {
				continue
			}
			v.enter(y0/meshSide*l.mesh.across+x0/meshSide, x0+meshSide < right, y0+meshSide < bottom)
			for y := y0; y < min(y0+meshSide, bottom); y++ {
				for x := x0; x < min(x0+meshSide, right); x++ {
					if q := l.place(x, y); l.free[q] && l.rest[y*l.cols+x] < v.drift.sum && v.improve(q, x, y) {
						changed = true
					}
				}
			}
			v.leave()
		}
	}
	return changed
}

// visitor is at work on one block of the mesh.
type visitor struct {
	*layer
	right, bottom        int // where the cells end that may be changed
	block                int
	wide                 [3]int64 // gradient there
	wideRight, wideBelow [3]int64 // and beside it, until something is changed
	sides                [3]bool  // which of the three are looked at
	moved                bool     // something was
	drift                *drift   // of the block
	lack                 lack     // of the cell
}

// improve gives a cell the color that lowers the energy most, or it and its
// right or lower neighbor one color.
func (v *visitor) improve(q, x, y int) bool {
	choice, cost := v.choicesOf(q)
	if len(cost) < 2 || cost[1] == none {
		return false
	}
	old := v.at[q]
	pull := v.gradient(q, v.wide)
	curve := v.layer.wide[q]
	curve.add(&v.mesh.wide[v.block])
	round := v.roundOf(q)
	now := v.missOf(q, old) + round.cost(v.layer, old)
	best, change := old, int64(-1) // only what is clearly lower: sums below are cut to whole units
	var far [most]int64            // change of the miss from afar
	helps := false
	v.lack = lack{single: lackMost, double: lackMost, far: 1 << 62}
	for j, c := range choice {
		if cost[j] == none {
			break
		}
		if c == old {
			continue
		}
		dx, dy, dz := v.step(old, c)
		miss := 2*(pull[0]*dx+pull[1]*dy+pull[2]*dz) + curve.of(dx, dy, dz)
		far[j] = miss
		helps = helps || miss < 0
		v.lack.moves(miss, dy, dz)
		d := v.farCost(miss) + int64(cost[j]) - now
		if d >= v.lack.single { // and what is around costs something, too
			continue
		}
		d += round.cost(v.layer, c)
		v.lack.single = min(v.lack.single, d)
		if d < change {
			best, change = c, d
		}
	}
	if best != old {
		v.set(q, best)
		return true
	}
	inRow, inColumn := x+1 < v.right, y+1 < v.bottom
	if helps && (inRow && v.pair(q, 0, &far, &round) || inColumn && v.pair(q, 1, &far, &round)) {
		return true
	}
	if !helps || (inRow || x+1 == v.cols) && (inColumn || y+1 == v.rows) {
		v.rest[y*v.cols+x] = v.drift.sum + v.lack.room(v.blend)
	}
	return false
}

// pair tries cell q and its right (0) or lower (1) neighbor in one color.
func (v *visitor) pair(q, direction int, far *[most]int64, round *round) bool {
	n := q + [2]int{1, v.stride}[direction]
	oldQ, oldN := v.at[q], v.at[n]
	if !v.free[n] {
		return false
	}
	choice, cost := v.choicesOf(q)
	var now, best int64 = 0, -1
	var color uint16
	var pullN [3]int64
	var both, curve metric
	var two pairRound
	ready := false
	for j, c := range choice {
		if cost[j] == none {
			break
		}
		if c == oldQ || c == oldN || far[j] >= 0 {
			continue
		}
		missN := v.missOf(n, c)
		if missN == none {
			continue
		}
		if !ready {
			ready = true
			block := v.layer.block(n)
			pullN = v.gradient(n, v.wideOf(block))
			both = v.curve(q, &v.changes[1+direction])
			v.mesh.addCurve(&both, v.block, block)
			curve = v.layer.wide[n]
			curve.add(&v.mesh.wide[block])
			two = v.pairRoundOf(q, n, direction, round)
			now = v.missOf(q, oldQ) + v.missOf(n, oldN) + two.cost(v.layer, oldQ, oldN)
		}
		qx, qy, qz := v.step(oldQ, c)
		nx, ny, nz := v.step(oldN, c)
		ax, ay, az := both.times(nx, ny, nz)
		change := far[j] + 2*(pullN[0]*nx+pullN[1]*ny+pullN[2]*nz) + curve.of(nx, ny, nz) + 2*(ax*qx+ay*qy+az*qz)
		v.lack.steps(ny, nz)
		d := v.farCost(change) + int64(cost[j]) + missN - now
		if d >= v.lack.double { // and what is around costs something, too
			continue
		}
		d += two.cost(v.layer, c, c)
		v.lack.double = min(v.lack.double, d)
		if d < best {
			best, color = d, c
		}
	}
	if best == -1 {
		return false
	}
	v.set(q, color)
	v.set(n, color)
	return true
}

// set gives a cell a color and keeps the far view up to date.
func (v *visitor) set(q int, c uint16) { v.recolor(q, c, v.light[v.at[q]]) }

// recolor is set for a cell whose color had another light.
func (v *visitor) recolor(q int, c uint16, was [3]int64) {
	light := &v.light[c]
	dx, dy, dz := light[0]-was[0], light[1]-was[1], light[2]-was[2]
	v.at[q] = c
	for i := range v.taps {
		t := &v.taps[i]
		p := q + t.offset
		a, b, c := v.near[p].times(t.weight[0]*dx, t.weight[1]*dy, t.weight[2]*dz)
		pull := &v.layer.pull[p]
		pull[0] += a
		pull[1] += b
		pull[2] += c
	}
	for i := range v.blue {
		t := &v.blue[i]
		p := q + t.offset
		near, pull, z := &v.near[p], &v.layer.pull[p], t.weight*dz
		pull[0] += int64(near[2]) * z
		pull[1] += int64(near[4]) * z
		pull[2] += int64(near[5]) * z
	}
	v.mesh.move(v.layer.block(q), dy, dz)
	v.wide = v.mesh.pull(v.block)
	v.moved = true
	v.wake(q)
}

// gradient is that of the miss from afar at a cell.
func (l *layer) gradient(q int, wide [3]int64) [3]int64 {
	blur := l.blurred(l.pull, q)
	return [3]int64{(wide[0] + blur[0]) >> spare, (wide[1] + blur[1]) >> spare, (wide[2] + blur[2]) >> spare}
}

func (l *layer) step(from, to uint16) (x, y, z int64) {
	a, b := &l.light[from], &l.light[to]
	return b[0] - a[0], b[1] - a[1], b[2] - a[2]
}

// farCost turns a change of the squared miss from afar, in units of
// metricPart<<spare/(lightUnit*kernelUnit)^2, into costs.
func (l *layer) farCost(change int64) int64 { return (change >> 13) * l.blend >> (25 - spare) }

// missOf is the cost of a cell's miss near, none if it may not have the color.
func (l *layer) missOf(q int, c uint16) int64 {
	choice, cost := l.choicesOf(q)
	for j, d := range cost {
		if d == none {
			break
		}
		if choice[j] == c {
			return int64(d)
		}
	}
	return none
}
