package place

import (
	"math"

	"kitwright/internal/par"
	"kitwright/lab"
)

// Scene is what all layings of one picture share, whatever the colors and
// however calm: how much each cell is mixed and how steep its far view is. It
// never changes once it is made.
type Scene struct {
	grid       *lab.Grid
	perDegree  float64
	cols, rows int
	stride     int
	sparks     []bool
	keeps      []float64 // how much a cell keeps to colors that look like its nearest one, 0 to 1

	// The miss from afar: its gradient at a cell is kernel * pull, and
	// wide the curvature.
	kernel  [3][25]int64
	taps    []tap       // the same, without what is nothing
	blue    []blueTap   // and where it is nothing but for the third channel
	changes [3]overlaps // of a cell alone, with its right and with its lower neighbor
	target  [][3]int64  // light of each cell
	near    []narrow    // metric of each cell
	wide    []metric    // metric of a change of each cell, over all it blurs into
	mesh    mesh        // without anything laid
}

// NewScene makes ready what depends on a picture alone and on from how far it
// is looked at, as Options says it.
func NewScene(g *lab.Grid, perDegree float64) *Scene {
	s := &Scene{grid: g, perDegree: perDegree, cols: g.Cols, rows: g.Rows, stride: g.Cols + 2*margin}
	if perDegree == 0 {
		perDegree = lab.CellsPerDegree(2.5, 2000)
	}
	s.sparks, s.keeps = sparks(g), bareness(g)
	for i, v := range Accents(g) {
		s.keeps[i] = max(s.keeps[i], v)
	}
	s.kernel = kernels(perDegree)
	s.tap()
	s.changes = [3]overlaps{s.overlaps(0, 0), s.overlaps(1, 0), s.overlaps(0, 1)}
	n := s.stride * (g.Rows + 2*margin)
	s.target, s.near, s.wide = make([][3]int64, n), make([]narrow, n), make([]metric, n)
	s.metrics()
	par.Rows(s.rows, func(y int) {
		for x := range s.cols {
			q := s.place(x, y)
			s.wide[q] = s.curve(q, &s.changes[0])
		}
	})
	s.mesh = newMesh(s)
	return s
}

// scene returns the one that the options bring along, if it is the picture's.
func (o Options) scene(g *lab.Grid) *Scene {
	if o.Scene != nil && o.Scene.grid == g && o.Scene.perDegree == o.PerDegree {
		return o.Scene
	}
	return NewScene(g, o.PerDegree)
}

// place is the number of a cell.
func (s *Scene) place(x, y int) int { return (y+margin)*s.stride + x + margin }

// around is the cell that the j-th weight of a kernel at q belongs to.
func (s *Scene) around(q, j int) int { return q + (j/5-2)*s.stride + j%5 - 2 }

// metrics sets the light and the metric of each cell.
func (s *Scene) metrics() {
	par.Rows(s.rows, func(y int) {
		for x := range s.cols {
			s.target[s.place(x, y)] = wholeLight(s.grid.At(x, y))
		}
	})
	soft := softness(s.grid)
	par.Rows(s.rows, func(y int) {
		for x := range s.cols {
			q := s.place(x, y)
			var mean [3]int64
			all := int64(0)
			for dy := max(-2, -y); dy <= min(2, s.rows-1-y); dy++ {
				for dx := max(-2, -x); dx <= min(2, s.cols-1-x); dx++ {
					w := binomial[dy+2] * binomial[dx+2]
					all += w
					for k, v := range s.target[q+dy*s.stride+dx] {
						mean[k] += w * v
					}
				}
			}
			var light [3]float64
			for k, v := range mean {
				light[k] = float64(v) / float64(all) / lightUnit
			}
			share := float64(soft[y*s.cols+x]) / 256 / metricPart
			m := metricAt(light)
			if steepest := math.Max(m[0], math.Max(m[3], m[5])) * share; steepest > mostMetric {
				share *= mostMetric / steepest
			}
			for k, v := range m {
				s.near[q][k] = int32(math.Round(float64(v * share)))
			}
		}
	})
}

var binomial = [5]int64{1, 4, 6, 4, 1}

// tap is what a kernel weighs the light of a cell so far off.
type tap struct {
	offset int
	weight [3]int64
}

type blueTap struct {
	offset int
	weight int64
}

// tap makes lists of what is not nothing in the kernels.
func (s *Scene) tap() {
	for j := range 25 {
		t := tap{s.around(0, j), [3]int64{s.kernel[0][j], s.kernel[1][j], s.kernel[2][j]}}
		switch {
		case t.weight[0] != 0 || t.weight[1] != 0:
			s.taps = append(s.taps, t)
		case t.weight[2] != 0:
			s.blue = append(s.blue, blueTap{t.offset, t.weight[2]})
		}
	}
}

// overlaps are the cells that two changes both blur into.
type overlaps struct {
	all  []overlap
	blue []blueTap // where only the third channel does
}

// overlap is such a cell by its offset from the first, and what its metric is
// taken times: a channel with itself, and, twice, one with another.
type overlap struct {
	offset     int
	xx, yy, zz int64
	xy, xz, yz int64
}

// overlaps are those of a cell's change with one dx and dy beside it.
func (s *Scene) overlaps(dx, dy int) (list overlaps) {
	for j := range 25 {
		ox, oy := j%5-dx, j/5-dy
		if ox < 0 || oy < 0 {
			continue
		}
		o := oy*5 + ox
		both := func(r, c int) int64 { return s.kernel[r][j]*s.kernel[c][o] + s.kernel[r][o]*s.kernel[c][j] }
		one := overlap{s.around(0, j), both(0, 0) / 2, both(1, 1) / 2, both(2, 2) / 2, both(0, 1), both(0, 2), both(1, 2)}
		switch {
		case one.xx != 0 || one.yy != 0 || one.xy != 0 || one.xz != 0 || one.yz != 0:
			list.all = append(list.all, one)
		case one.zz != 0:
			list.blue = append(list.blue, blueTap{one.offset, one.zz})
		}
	}
	return list
}

// curve returns the metric of changing a cell, or two at once: sum of kernel *
// kernel * near.
func (s *Scene) curve(q int, list *overlaps) metric {
	var xx, xy, xz, yy, yz, zz int64 // not an array: the compiler keeps these at hand
	for i := range list.all {
		k := &list.all[i]
		a := &s.near[q+k.offset]
		xx += k.xx * int64(a[0])
		xy += k.xy * int64(a[1]) / 2
		xz += k.xz * int64(a[2]) / 2
		yy += k.yy * int64(a[3])
		yz += k.yz * int64(a[4]) / 2
		zz += k.zz * int64(a[5])
	}
	for i := range list.blue {
		k := &list.blue[i]
		zz += k.weight * int64(s.near[q+k.offset][5])
	}
	return metric{xx >> spare, xy >> spare, xz >> spare, yy >> spare, yz >> spare, zz >> spare}
}
