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
			v.block = y0/meshSide*l.mesh.across + x0/meshSide
			v.wide = l.mesh.pull(v.block)
			for y := y0; y < min(y0+meshSide, bottom); y++ {
				for x := x0; x < min(x0+meshSide, right); x++ {
					if q := l.place(x, y); l.free[q] && v.improve(q, x, y) {
						changed = true
					}
				}
			}
		}
	}
	return changed
}

// visitor is at work on one block of the mesh.
type visitor struct {
	*layer
	right, bottom int // where the cells end that may be changed
	block         int
	wide          [3]int64 // gradient there
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
	now := v.missOf(q, old) + v.borders(q, old) + v.terms(q)
	best, change := old, int64(-1) // only what is clearly lower: sums below are cut to whole units
	var far [most]int64            // change of the miss from afar
	helps := false
	for j, c := range choice {
		if cost[j] == none {
			break
		}
		if c == old {
			continue
		}
		dx, dy, dz := v.step(old, c)
		far[j] = 2*(pull[0]*dx+pull[1]*dy+pull[2]*dz) + v.layer.wide[q].of(dx, dy, dz) + v.mesh.wide[v.block].of(dx, dy, dz)
		helps = helps || far[j] < 0
		v.at[q] = c
		d := v.farCost(far[j]) + int64(cost[j]) + v.borders(q, c) + v.terms(q) - now
		v.at[q] = old
		if d < change {
			best, change = c, d
		}
	}
	if best != old {
		v.set(q, best)
		return true
	}
	return helps && (x+1 < v.right && v.pair(q, q+1, &far, pull) || y+1 < v.bottom && v.pair(q, q+v.stride, &far, pull))
}

// pair tries cells q and n, its right or lower neighbor, in one color.
func (v *visitor) pair(q, n int, far *[most]int64, pull [3]int64) bool {
	oldQ, oldN := v.at[q], v.at[n]
	if !v.free[n] {
		return false
	}
	choice, cost := v.choicesOf(q)
	var now, best int64 = 0, -1
	var color uint16
	var pullN [3]int64
	var both, bothWide metric
	block, ready := v.layer.block(n), false
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
			wide := v.wide
			if block != v.block {
				wide = v.mesh.pull(block)
			}
			pullN = v.gradient(n, wide)
			if n == q+1 {
				both = v.curve(q, 1, 0)
			} else {
				both = v.curve(q, 0, 1)
			}
			bothWide = v.mesh.curve(v.block, block)
			now = v.missOf(q, oldQ) + v.missOf(n, oldN) + v.borders(q, oldQ) + v.borders(n, oldN) -
				v.beside[int(oldQ)*v.colors+int(oldN)] + v.pairTerms(q, n)
		}
		qx, qy, qz := v.step(oldQ, c)
		nx, ny, nz := v.step(oldN, c)
		ax, ay, az := both.times(nx, ny, nz)
		bx, by, bz := bothWide.times(nx, ny, nz)
		change := far[j] + 2*(pullN[0]*nx+pullN[1]*ny+pullN[2]*nz) +
			v.layer.wide[n].of(nx, ny, nz) + v.mesh.wide[block].of(nx, ny, nz) +
			2*((ax+bx)*qx+(ay+by)*qy+(az+bz)*qz)
		v.at[q], v.at[n] = c, c
		d := v.farCost(change) + int64(cost[j]) + missN + v.borders(q, c) + v.borders(n, c) + v.pairTerms(q, n) - now
		v.at[q], v.at[n] = oldQ, oldN
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
func (v *visitor) set(q int, c uint16) {
	dx, dy, dz := v.step(v.at[q], c)
	v.at[q] = c
	for j := range 25 {
		p := v.around(q, j)
		a, b, c := v.near[p].times(v.kernel[0][j]*dx, v.kernel[1][j]*dy, v.kernel[2][j]*dz)
		v.layer.pull[p][0] += a
		v.layer.pull[p][1] += b
		v.layer.pull[p][2] += c
	}
	v.mesh.move(v.layer.block(q), dy, dz)
	v.wide = v.mesh.pull(v.block)
}

// gradient is that of the miss from afar at a cell.
func (l *layer) gradient(q int, wide [3]int64) [3]int64 {
	g := wide
	for j := range 25 {
		p := &l.pull[l.around(q, j)]
		g[0] += l.kernel[0][j] * p[0]
		g[1] += l.kernel[1][j] * p[1]
		g[2] += l.kernel[2][j] * p[2]
	}
	for k := range g {
		g[k] >>= spare
	}
	return g
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

// borders is what the borders to a cell's eight neighbors cost if it has the
// color.
func (l *layer) borders(q int, c uint16) (sum int64) {
	up, down := l.at[q-l.stride-1:][:3], l.at[q+l.stride-1:][:3]
	row := l.beside[int(c)*l.colors:][:l.colors]
	for _, b := range [4]uint16{l.at[q-1], l.at[q+1], up[1], down[1]} {
		if b != outside {
			sum += row[b]
		}
	}
	row = l.corner[int(c)*l.colors:][:l.colors]
	for _, b := range [4]uint16{up[0], up[2], down[0], down[2]} {
		if b != outside {
			sum += row[b]
		}
	}
	return sum
}

// term is what a cell costs for standing alone, or amid a line that is one
// drill wide.
func (l *layer) term(q int) int64 {
	if !l.free[q] {
		return 0
	}
	c := l.at[q]
	left, right, up, down := l.at[q-1] == c, l.at[q+1] == c, l.at[q-l.stride] == c, l.at[q+l.stride] == c
	switch {
	case !left && !right && !up && !down:
		if l.spark[q] {
			return 0
		}
		return l.lone
	case left && right && !up && !down, up && down && !left && !right:
		return l.worm
	}
	return 0
}

// terms is what the cells cost for it that a change of one touches.
func (l *layer) terms(q int) int64 {
	return l.term(q) + l.term(q-1) + l.term(q+1) + l.term(q-l.stride) + l.term(q+l.stride)
}

// pairTerms is terms for a change of two, n right of q or below it.
func (l *layer) pairTerms(q, n int) int64 {
	if n == q+1 {
		return l.terms(q) + l.term(n+1) + l.term(n-l.stride) + l.term(n+l.stride)
	}
	return l.terms(q) + l.term(n+l.stride) + l.term(n-1) + l.term(n+1)
}
