package quantize

import (
	"math"
	"sync/atomic"

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
	blockSide  = 16 // cells; must be at least 4, twice the blur's reach
)

var binomial = [5]int64{1, 4, 6, 4, 1}

// metric is a symmetric matrix: xx, xy, xz, yy, yz, zz.
type metric [6]int64

func (m *metric) times(x, y, z int64) (a, b, c int64) {
	return m[0]*x + m[1]*y + m[2]*z, m[1]*x + m[3]*y + m[4]*z, m[2]*x + m[4]*y + m[5]*z
}

type descent struct {
	*placer
	blend int64
	lone  int64
	light [][3]int64 // of each color
	near  []metric   // of each cell
	wide  []metric   // of a change of each cell, over all cells it blurs into
	pull  [][3]int64 // near times the blurred difference, for each cell
	fixed []int32

	blocksAcross, blocksDown int
	tick                     int32
	changed, visited         []int32 // ticks, for each block
}

func newDescent(p *placer, g *lab.Grid, colors []lab.Color, with strengths, opt PlaceOptions) *descent {
	n := len(g.Cells)
	d := &descent{placer: p, blend: with.blend, lone: with.lone, fixed: opt.Fixed,
		light: make([][3]int64, len(colors)), near: make([]metric, n), wide: make([]metric, n), pull: make([][3]int64, n)}
	exact := make([][3]float64, len(colors))
	for i, c := range colors {
		exact[i] = relativeLight(c)
		d.light[i] = wholeLight(exact[i])
	}
	target := make([][3]float64, n)
	placeRows(p.rows, func(y int) {
		for i := y * p.cols; i < (y+1)*p.cols; i++ {
			target[i] = relativeLight(g.Cells[i])
		}
	})
	weight := relative(opt.Weight)
	miss := make([][3]int64, n)
	placeRows(p.rows, func(y int) {
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
	placeRows(p.rows, func(y int) {
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

func (d *descent) free(i int) bool { return d.fixed == nil || d.fixed[i] < 0 }

// around calls do for the cells within two of x, y, with their blur weight.
func around(x, y, cols, rows int, do func(i int, w int64)) {
	for dy := max(-2, -y); dy <= min(2, rows-1-y); dy++ {
		for dx := max(-2, -x); dx <= min(2, cols-1-x); dx++ {
			do((y+dy)*cols+x+dx, binomial[dy+2]*binomial[dx+2])
		}
	}
}

// blurred returns the mean light around a cell.
func (p *placer) blurred(light [][3]float64, x, y int) (mean [3]float64) {
	var all float64
	around(x, y, p.cols, p.rows, func(i int, w int64) {
		all += float64(w)
		for k := range mean {
			mean[k] += float64(float64(w) * light[i][k])
		}
	})
	for k := range mean {
		mean[k] /= all
	}
	return mean
}

func relativeLight(c lab.Color) (v [3]float64) {
	x, y, z := c.XYZ()
	return [3]float64{x / lab.White[0], y / lab.White[1], z / lab.White[2]}
}

func wholeLight(v [3]float64) (w [3]int64) {
	for k := range v {
		w[k] = int64(math.Round(v[k] * (1 << lightBits)))
	}
	return w
}

// slopeAt returns how L*, a* and b* change with X, Y and Z at a light, the
// rows of a* and b* over 1+.045C.
func slopeAt(light [3]float64) (s [3][3]float64) {
	var f, df [3]float64
	for k, t := range light {
		if t > 216./24389 {
			f[k] = math.Cbrt(t)
			df[k] = 1 / (3 * f[k] * f[k])
		} else {
			df[k] = 24389. / 27 / 116
			f[k] = float64(df[k]*t) + 16./116
		}
	}
	a, b := 500*(f[0]-f[1]), 200*(f[1]-f[2])
	c := 1 + float64(0.045*math.Sqrt(float64(a*a)+float64(b*b)))
	s[0][1] = 116 * df[1]
	s[1][0], s[1][1] = 500*df[0]/c, -500*df[1]/c
	s[2][1], s[2][2] = 200*df[1]/c, -200*df[2]/c
	return s
}

func metricOf(s [3][3]float64) (m metric) {
	at := 0
	for i := range 3 {
		for j := i; j < 3; j++ {
			v := float64(s[0][i]*s[0][j]) + float64(s[1][i]*s[1][j]) + float64(s[2][i]*s[2][j])
			m[at] = int64(math.Round(v / metricPart))
			at++
		}
	}
	return m
}

// reachable returns the light nearest to a cell's target that a mixture of its
// candidates can make. Without this, a target that no mixture reaches would
// leave a difference that calls for ever darker or brighter dots around it.
//
// It walks from the nearest candidate, each step along the line to the
// candidate that helps most or away from the one that helps least (M. Frank
// and P. Wolfe, 1956, with away steps), 24 steps at most.
func (d *descent) reachable(i int, target [3]float64, slope [3][3]float64, colors [][3]float64) [3]float64 {
	var point [placeKept][3]float64 // candidates, as differences from the target in L*a*b*
	var share [placeKept]float64
	count := 0
	for j, c := range d.choice[i*d.kept : (i+1)*d.kept] {
		if d.cost[i*d.kept+j] == noCost {
			break
		}
		for r := range 3 {
			for k := range 3 {
				point[j][r] += float64(slope[r][k] * (colors[c][k] - target[k]))
			}
		}
		count++
	}
	inner := func(a, b *[3]float64) float64 {
		return float64(a[0]*b[0]) + float64(a[1]*b[1]) + float64(a[2]*b[2])
	}
	share[0] = 1
	at := point[0]
	for range 24 {
		toward, away := 0, -1
		var low, high float64
		for j := range count {
			v := inner(&at, &point[j])
			if j == 0 || v < low {
				toward, low = j, v
			}
			if share[j] > 0 && (away < 0 || v > high) {
				away, high = j, v
			}
		}
		here := inner(&at, &at)
		if here < 1e-4 || here-low < 1e-3*here {
			break
		}
		// Move share from the worst used candidate to the most helpful one.
		var step [3]float64
		for r := range step {
			step[r] = point[toward][r] - point[away][r]
		}
		length := inner(&step, &step)
		if length == 0 {
			break
		}
		move := math.Min(share[away], math.Max(0, -inner(&at, &step)/length))
		share[toward] += move
		share[away] -= move
		for r := range at {
			at[r] += float64(move * step[r])
		}
	}
	var light [3]float64
	for j := range count {
		for k := range light {
			light[k] += float64(share[j] * colors[d.choice[i*d.kept+j]][k])
		}
	}
	return light
}

// pass visits every cell once, except blocks where nothing near has changed,
// and reports whether anything changed. Blocks of a kind, one in four, do not
// touch each other's cells, so they may be visited at the same time.
func (d *descent) pass() bool {
	var changed atomic.Bool
	for kind := range 4 {
		d.tick++
		across, down := (d.blocksAcross+1-kind%2)/2, (d.blocksDown+1-kind/2)/2
		placeRows(across*down, func(i int) {
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
			cost += int64(d.smooth)
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
