package place

import (
	"math"

	"kitwright/internal/par"
	"kitwright/lab"
)

const (
	margin   = 2      // cells around the picture, so that a blur never asks where it ends
	outside  = 0xFFFF // the color there
	meshSide = 4      // cells a side of the blocks that wide blur is reckoned on
	mild     = 6      // difference of neighbors whose border costs just smooth
)

// layer is a picture being laid. Cells are numbered with the margin around
// them: see place.
type layer struct {
	with         strengths
	cols, rows   int
	stride       int
	kept, colors int

	at     []uint16 // the color each cell has
	free   []bool
	spark  []bool
	choice []uint16 // kept of them for each cell, nearest first
	cost   []int32  // their costs; none: no more

	beside, corner []int64 // what two neighbors cost, by color and color
	lone, worm     int64
	blend          int64 // units of 1/1024

	// The miss from afar: its gradient at a cell is kernel * pull, and
	// wide the curvature.
	light  [][3]int64 // of each color
	kernel [3][25]int64
	near   []narrow   // metric of each cell
	wide   []metric   // metric of a change of each cell, over all it blurs into
	pull   [][3]int64 // near times the blurred miss
	mesh   mesh

	blocksAcross, blocksDown int
	tick                     int32
	changed, visited         []int32 // ticks, for each block
}

// place is the number of a cell.
func (l *layer) place(x, y int) int { return (y+margin)*l.stride + x + margin }

func (l *layer) choicesOf(q int) ([]uint16, []int32) {
	return l.choice[q*l.kept : (q+1)*l.kept], l.cost[q*l.kept : (q+1)*l.kept]
}

func newLayer(g *lab.Grid, colors []lab.Color, opt Options) *layer {
	l := &layer{with: opt.strengths(), cols: g.Cols, rows: g.Rows, stride: g.Cols + 2*margin, colors: len(colors), kept: min(most, len(colors))}
	n := l.stride * (g.Rows + 2*margin)
	l.at, l.free, l.spark = make([]uint16, n), make([]bool, n), make([]bool, n)
	for i := range l.at {
		l.at[i] = outside
	}
	l.choice, l.cost = make([]uint16, n*l.kept), make([]int32, n*l.kept)
	l.near, l.wide, l.pull = make([]narrow, n), make([]metric, n), make([][3]int64, n)
	l.blend = int64(math.Round(l.with.blend * 1024))
	l.neighbors(colors)
	perDegree := opt.PerDegree
	if perDegree == 0 {
		perDegree = lab.CellsPerDegree(2.5, 2000)
	}
	l.kernel = kernels(perDegree)
	l.light = make([][3]int64, len(colors))
	for i, c := range colors {
		l.light[i] = wholeLight(c)
	}
	l.candidates(g, colors, opt)
	miss := l.misses(g)
	l.mesh = newMesh(l, miss)
	par.Rows(l.rows, func(y int) {
		for x := range l.cols {
			q := l.place(x, y)
			var blur [3]int64
			for j := range 25 {
				m := &miss[l.around(q, j)]
				for k := range blur {
					blur[k] += l.kernel[k][j] * m[k]
				}
			}
			l.pull[q][0], l.pull[q][1], l.pull[q][2] = l.near[q].times(blur[0], blur[1], blur[2])
			l.wide[q] = l.curve(q, 0, 0)
		}
	})
	l.blocksAcross, l.blocksDown = (l.cols+blockSide-1)/blockSide+1, (l.rows+blockSide-1)/blockSide+1
	l.changed = make([]int32, l.blocksAcross*l.blocksDown)
	l.visited = make([]int32, l.blocksAcross*l.blocksDown)
	return l
}

// around is the cell that the j-th weight of a kernel at q belongs to.
func (l *layer) around(q, j int) int { return q + (j/5-2)*l.stride + j%5 - 2 }

// neighbors sets what borders cost. Their length is that of Y. Boykov and
// V. Kolmogorov ("Computing geodesics and minimal surfaces via graph cuts",
// ICCV 2003) on eight neighbors, pi/8 beside and pi/8 over the root of 2 across
// the corner, so that no direction is cheaper than another by much; their
// height is the colors' difference, lightness in full, color at .6 (the eye
// sees little of it in fine grain), at least half and at most twice that of
// mild ones.
func (l *layer) neighbors(colors []lab.Color) {
	l.beside, l.corner = make([]int64, len(colors)*len(colors)), make([]int64, len(colors)*len(colors))
	for i, a := range colors {
		for j, b := range colors {
			if i == j {
				continue
			}
			height := math.Max(0.6*lab.DeltaE(a, b), math.Abs(a.L-b.L))
			cost := l.with.smooth * math.Min(2, math.Max(0.5, height/mild))
			l.beside[i*len(colors)+j] = whole(cost * math.Pi / 8)
			l.corner[i*len(colors)+j] = whole(cost * math.Pi / 8 / math.Sqrt2)
		}
	}
}

// misses sets the metric of each cell and returns by how much its light
// misses the target. Cells that are settled miss nothing.
func (l *layer) misses(g *lab.Grid) [][3]int64 {
	target := make([][3]int64, len(l.at))
	miss := make([][3]int64, len(l.at))
	par.Rows(l.rows, func(y int) {
		for x := range l.cols {
			q := l.place(x, y)
			target[q] = wholeLight(g.At(x, y))
			if l.free[q] {
				for k := range 3 {
					miss[q][k] = l.light[l.at[q]][k] - target[q][k]
				}
			}
		}
	})
	soft := softness(g)
	par.Rows(l.rows, func(y int) {
		for x := range l.cols {
			q := l.place(x, y)
			var mean [3]int64
			all := int64(0)
			for dy := max(-2, -y); dy <= min(2, l.rows-1-y); dy++ {
				for dx := max(-2, -x); dx <= min(2, l.cols-1-x); dx++ {
					w := binomial[dy+2] * binomial[dx+2]
					all += w
					for k, v := range target[q+dy*l.stride+dx] {
						mean[k] += w * v
					}
				}
			}
			var light [3]float64
			for k, v := range mean {
				light[k] = float64(v) / float64(all) / lightUnit
			}
			share := float64(soft[y*l.cols+x]) / 256 / metricPart
			m := metricAt(light)
			if steepest := math.Max(m[0], math.Max(m[3], m[5])) * share; steepest > mostMetric {
				share *= mostMetric / steepest
			}
			for k, v := range m {
				l.near[q][k] = int32(math.Round(float64(v * share)))
			}
		}
	})
	return miss
}

var binomial = [5]int64{1, 4, 6, 4, 1}

// curve returns the metric of changing two cells at once, the other one dx and
// dy beside the first: sum of kernel * kernel * near. For a cell with itself
// it is the metric of its change.
func (l *layer) curve(q, dx, dy int) (m metric) {
	for j := range 25 {
		ox, oy := j%5-dx, j/5-dy
		if ox < 0 || oy < 0 {
			continue
		}
		o := oy*5 + ox
		a := &l.near[l.around(q, j)]
		at := 0
		for r := range 3 {
			for c := r; c < 3; c++ {
				m[at] += (l.kernel[r][j]*l.kernel[c][o] + l.kernel[r][o]*l.kernel[c][j]) * int64(a[at]) / 2
				at++
			}
		}
	}
	return m.cut()
}
