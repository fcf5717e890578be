package place

import (
	"math"
	"sync/atomic"

	"kitwright/internal/par"
	"kitwright/lab"
)

// The descent on single cells, in integers. Light is X, Y, Z over that of
// white, in units of 2^-14; blurring by the binomial weights 1 4 6 4 1 a side
// (standard deviation one cell) makes that 2^-22. A metric turns a difference
// of light into squared units of CIE L*a*b* as steep as they are at the
// target; it is kept divided by metricPart.
const (
	lightBits  = 14
	metricPart = 16

	mildDifference = 6  // CIEDE2000 of neighbors that cost just Smooth
	blockSide      = 16 // cells; must be at least 4, twice the blur's reach
)

var binomial = [5]int64{1, 4, 6, 4, 1}

type descent struct {
	*placer
	blend  int64
	lone   int64
	unlike []int64    // what two neighbors cost, by color and color
	light  [][3]int64 // of each color
	near   []metric   // of each cell
	wide   []metric   // of a change of each cell, over all cells it blurs into
	pull   [][3]int64 // near times the blurred difference, for each cell
	fixed  []int32

	blocksAcross, blocksDown int
	tick                     int32
	changed, visited         []int32 // ticks, for each block
}

func newDescent(p *placer, g *lab.Grid, colors []lab.Color, with strengths, opt Options) *descent {
	n := len(g.Cells)
	d := &descent{placer: p, blend: with.blend, lone: with.lone, fixed: opt.Fixed,
		light: make([][3]int64, len(colors)), near: make([]metric, n), wide: make([]metric, n), pull: make([][3]int64, n)}
	d.unlike = unlikeCosts(colors, p.smooth)
	exact := make([][3]float64, len(colors))
	for i, c := range colors {
		exact[i] = relativeLight(c)
		d.light[i] = wholeLight(exact[i])
	}
	target := make([][3]float64, n)
	par.Rows(p.rows, func(y int) {
		for i := y * p.cols; i < (y+1)*p.cols; i++ {
			target[i] = relativeLight(g.Cells[i])
		}
	})
	weight := relative(opt.Weight)
	miss := make([][3]int64, n)
	par.Rows(p.rows, func(y int) {
		for x := range p.cols {
			i := y*p.cols + x
			slope := slopeAt(p.blurred(target, x, y))
			d.near[i] = metricOf(slope)
			if weight != nil {
				for k := range d.near[i] {
					d.near[i][k] = d.near[i][k] * weight[i] / weightOne
				}
			}
			if d.free(i) {
				aim := wholeLight(d.reachable(i, target[i], slope, exact))
				for k := range aim {
					miss[i][k] = d.light[p.at[i]][k] - aim[k]
				}
			}
		}
	})
	par.Rows(p.rows, func(y int) {
		for x := range p.cols {
			i := y*p.cols + x
			var blur [3]int64
			around(x, y, p.cols, p.rows, func(j int, w int64) {
				for k := range blur {
					blur[k] += w * miss[j][k]
				}
				for k, m := range d.near[j] {
					d.wide[i][k] += w * w * m
				}
			})
			d.pull[i][0], d.pull[i][1], d.pull[i][2] = d.near[i].times(blur[0], blur[1], blur[2])
		}
	})
	d.blocksAcross, d.blocksDown = (p.cols+blockSide-1)/blockSide, (p.rows+blockSide-1)/blockSide
	d.changed = make([]int32, d.blocksAcross*d.blocksDown)
	d.visited = make([]int32, d.blocksAcross*d.blocksDown)
	return d
}

// unlikeCosts returns what neighbors of each two colors cost in the descent:
// smooth for colors mildDifference apart, in proportion for others, but at
// least half and at most twice. So mixtures are of like colors, where there is
// a choice, and draw no patterns.
func unlikeCosts(colors []lab.Color, smooth int32) []int64 {
	costs := make([]int64, len(colors)*len(colors))
	for i, a := range colors {
		for j, b := range colors {
			if i != j {
				share := math.Min(2, math.Max(0.5, lab.DeltaE(a, b)/mildDifference))
				costs[i*len(colors)+j] = int64(math.Round(float64(smooth) * share))
			}
		}
	}
	return costs
}

func (d *descent) free(i int) bool { return d.fixed == nil || d.fixed[i] < 0 }

// around calls do for the cells within two of x, y, with their blur weight.
func around(x, y, cols, rows int, do func(i int, w int64)) {
	for dy := max(-2, -y); dy <= min(2, rows-1-y); dy++ {
		for dx := max(-2, -x); dx <= min(2, cols-1-x); dx++ {
			do((y+dy)*cols+x+dx, binomial[dy+2]*binomial[dx+2])
		}
	}
}

// pass visits every cell once, except blocks where nothing near has changed,
// and reports whether anything changed. Blocks of a kind, one in four, do not
// touch each other's cells, so they may be visited at the same time.
func (d *descent) pass() bool {
	var changed atomic.Bool
	for kind := range 4 {
		d.tick++
		across, down := (d.blocksAcross+1-kind%2)/2, (d.blocksDown+1-kind/2)/2
		par.Rows(across*down, func(i int) {
			bx, by := i%across*2+kind%2, i/across*2+kind/2
			block := by*d.blocksAcross + bx
			if d.visited[block] > d.lastChange(bx, by) {
				return
			}
			d.visited[block] = d.tick
			if d.block(bx*blockSide, by*blockSide) {
				d.changed[block] = d.tick
				changed.Store(true)
			}
		})
	}
	return changed.Load()
}

// lastChange returns when a block or one beside it last changed.
func (d *descent) lastChange(bx, by int) (tick int32) {
	for y := max(0, by-1); y <= min(d.blocksDown-1, by+1); y++ {
		for x := max(0, bx-1); x <= min(d.blocksAcross-1, bx+1); x++ {
			tick = max(tick, d.changed[y*d.blocksAcross+x])
		}
	}
	return tick
}

func (d *descent) block(left, top int) (changed bool) {
	for y := top; y < min(top+blockSide, d.rows); y++ {
		for x := left; x < min(left+blockSide, d.cols); x++ {
			if d.free(y*d.cols+x) && d.improve(x, y) {
				changed = true
			}
		}
	}
	return changed
}

// improve gives a cell the color that lowers the whole most.
func (d *descent) improve(x, y int) bool {
	i := y*d.cols + x
	old := d.at[i]
	var v [3]int64
	if x >= 2 && y >= 2 && x < d.cols-2 && y < d.rows-2 {
		for dy := range 5 {
			row := d.pull[i+(dy-2)*d.cols-2:][:5]
			var r [3]int64
			for k := range r {
				r[k] = row[0][k] + row[4][k] + 4*(row[1][k]+row[3][k]) + 6*row[2][k]
				v[k] += binomial[dy] * r[k]
			}
		}
	} else {
		around(x, y, d.cols, d.rows, func(j int, w int64) {
			for k := range v {
				v[k] += w * d.pull[j][k]
			}
		})
	}
	var beside [4]uint16
	var needy [4]bool // which of them have no like neighbor but this cell may be
	n := 0
	look := func(dx, dy int) {
		if x+dx < 0 || y+dy < 0 || x+dx >= d.cols || y+dy >= d.rows {
			return
		}
		beside[n] = d.at[i+dy*d.cols+dx]
		needy[n] = d.lone > 0 && !d.likeBeside(x+dx, y+dy, i)
		n++
	}
	look(-1, 0)
	look(1, 0)
	look(0, -1)
	look(0, 1)
	costOf := func(c uint16, near int32) int64 {
		cost := int64(near)
		alone := true
		for j, b := range beside[:n] {
			if b == c {
				alone = false
				continue
			}
			cost += d.unlike[int(c)*d.colors+int(b)]
			if needy[j] {
				cost += d.lone
			}
		}
		if alone {
			cost += d.lone
		}
		return cost
	}
	choice, cost := d.choice[i*d.kept:(i+1)*d.kept], d.cost[i*d.kept:(i+1)*d.kept]
	var now int64
	for j, c := range choice {
		if c == old && cost[j] != noCost {
			now = costOf(c, cost[j])
			break
		}
	}
	best, bestChange := old, int64(-1) // only what is clearly lower: sums below are cut to whole units
	for j, c := range choice {
		if cost[j] == noCost {
			break
		}
		if c == old {
			continue
		}
		dx, dy, dz := d.step(old, c)
		ax, ay, az := d.wide[i].times(dx, dy, dz)
		blurred := 2*(v[0]*dx+v[1]*dy+v[2]*dz) + ax*dx + ay*dy + az*dz
		// In units of metricPart * 2^-44 squared L*a*b* units; now as costs.
		change := costOf(c, cost[j]) - now + (blurred>>14)*d.blend>>24
		if change < bestChange {
			best, bestChange = c, change
		}
	}
	if best == old {
		return false
	}
	d.at[i] = best
	dx, dy, dz := d.step(old, best)
	around(x, y, d.cols, d.rows, func(j int, w int64) {
		a, b, c := d.near[j].times(w*dx, w*dy, w*dz)
		d.pull[j][0] += a
		d.pull[j][1] += b
		d.pull[j][2] += c
	})
	return true
}

func (d *descent) step(from, to uint16) (x, y, z int64) {
	a, b := &d.light[from], &d.light[to]
	return b[0] - a[0], b[1] - a[1], b[2] - a[2]
}

// likeBeside reports whether a cell has a like neighbor other than except.
func (d *descent) likeBeside(x, y, except int) bool {
	i := y*d.cols + x
	c := d.at[i]
	return x > 0 && i-1 != except && d.at[i-1] == c ||
		x+1 < d.cols && i+1 != except && d.at[i+1] == c ||
		y > 0 && i-d.cols != except && d.at[i-d.cols] == c ||
		y+1 < d.rows && i+d.cols != except && d.at[i+d.cols] == c
}
