package place

import (
	"math"

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
	*Scene
	plain        *Scene // as it was before it was weighed; nil: it was not
	with         strengths
	kept, colors int

	at     []uint16 // the color each cell has
	free   []bool
	spark  []bool
	choice []uint16 // kept of them for each cell, nearest first
	cost   []int32  // their costs; none: no more

	beside, corner []int64 // what two neighbors cost, by color and color
	lone, worm     int64
	blend          int64 // units of 1/1024

	points []lab.Point // the colors
	light  [][3]int64  // of each color
	unlike []float64   // how unlike two colors are where they may not be mixed, 0 to 2, by color and color
	weight []int64     // of each cell's near miss; nil: all alike
	pull   [][3]int64  // the scene's near metric times the blurred miss
	mesh   mesh

	blocksAcross, blocksDown int
	tick                     int32
	changed, visited         []int32 // ticks, for each block

	rest   []int64 // a cell: up to which drift of its block it need not be looked at
	drifts []drift // of each block of the mesh
}

func (l *layer) choicesOf(q int) ([]uint16, []int32) {
	return l.choice[q*l.kept : (q+1)*l.kept], l.cost[q*l.kept : (q+1)*l.kept]
}

func newLayer(g *lab.Grid, colors []lab.Color, opt Options) *layer {
	l := &layer{Scene: opt.scene(g), with: opt.strengths(), colors: len(colors), kept: min(most, len(colors))}
	n := l.stride * (g.Rows + 2*margin)
	l.at, l.free, l.spark = make([]uint16, n), make([]bool, n), make([]bool, n)
	for i := range l.at {
		l.at[i] = outside
	}
	l.choice, l.cost = make([]uint16, n*l.kept), make([]int32, n*l.kept)
	l.pull = make([][3]int64, n)
	l.blend = int64(math.Round(l.with.blend * 1024))
	l.points, l.light = make([]lab.Point, len(colors)), make([][3]int64, len(colors))
	for i, c := range colors {
		l.points[i], l.light[i] = lab.PointOf(c), wholeLight(c)
	}
	l.neighbors()
	l.candidates(opt)
	l.view(l.blurs())
	l.blocksAcross, l.blocksDown = (l.cols+blockSide-1)/blockSide+1, (l.rows+blockSide-1)/blockSide+1
	l.changed = make([]int32, l.blocksAcross*l.blocksDown)
	l.visited = make([]int32, l.blocksAcross*l.blocksDown)
	l.rest, l.drifts = make([]int64, l.cols*l.rows), make([]drift, len(l.mesh.near))
	l.wakeAll()
	return l
}

// neighbors sets what borders cost. Their length is that of Y. Boykov and
// V. Kolmogorov ("Computing geodesics and minimal surfaces via graph cuts",
// ICCV 2003) on eight neighbors, pi/8 beside and pi/8 over the root of 2 across
// the corner, so that no direction is cheaper than another by much; their
// height is the colors' difference, lightness in full, color at .6 (the eye
// sees little of it in fine grain), at least half and at most four times that
// of mild ones.
func (l *layer) neighbors() {
	l.beside, l.corner = make([]int64, l.colors*l.colors), make([]int64, l.colors*l.colors)
	l.unlike = make([]float64, l.colors*l.colors)
	for i, a := range l.points {
		for j, b := range l.points {
			if i == j {
				continue
			}
			apart := a.DeltaE(b)
			height := math.Max(0.6*apart, math.Abs(a.L-b.L))
			cost := l.with.smooth * math.Min(4, math.Max(0.5, height/mild))
			l.beside[i*l.colors+j] = whole(cost * math.Pi / 8)
			l.corner[i*l.colors+j] = whole(cost * math.Pi / 8 / math.Sqrt2)
			l.unlike[i*l.colors+j] = 2 * ramp(apart, l.with.alike, 3*l.with.alike)
		}
	}
}

// misses returns by how much each cell's light misses the target. Cells that
// are settled miss nothing.
func (l *layer) misses() [][3]int64 {
	miss := make([][3]int64, len(l.at))
	for q, free := range l.free {
		if free {
			for k := range 3 {
				miss[q][k] = l.light[l.at[q]][k] - l.target[q][k]
			}
		}
	}
	return miss
}

// blurred is the miss at a cell after the narrow blur.
func (s *Scene) blurred(miss [][3]int64, q int) [3]int64 {
	var x, y, z int64 // not an array: the compiler keeps these at hand
	for i := range s.taps {
		t := &s.taps[i]
		m := &miss[q+t.offset]
		x += t.weight[0] * m[0]
		y += t.weight[1] * m[1]
		z += t.weight[2] * m[2]
	}
	for i := range s.blue {
		t := &s.blue[i]
		z += t.weight * miss[q+t.offset][2]
	}
	return [3]int64{x, y, z}
}
