package quantize

import (
	"math"
	"slices"
	"sync"

	"kitwright/internal/say"
	"kitwright/lab"
)

// Problem is a picture and the colors there are, made ready once for any
// number of selections: the ladder's rungs, the plain mean beside the one in
// force. It remembers what it compared. Several goroutines may ask at once.
type Problem struct {
	cols, rows int
	from       []lab.Color
	lists      sync.Mutex // guards the lists of levels, which grow
	levels     [3]*level  // coarse bins, bins, the colors of the cells
	cell       []int32    // cell -> point of the last level
	count      []int32    // point of the last level -> cells
}

// Edges of the cubic bins in L*a*b*. Bins of 3 hold nearly all of a picture
// (choosing by them alone loses below 0.1 %) in a twentieth of its colors;
// bins of 6 give a start.
const (
	binEdge    = 3
	coarseEdge = 6
)

// Prepare sorts the cells of g into bins and takes in the colors to choose
// from, at most 65535.
func Prepare(g *lab.Grid, from []lab.Color) (*Problem, error) {
	if len(g.Cells) == 0 || len(g.Cells) != g.Cols*g.Rows {
		return nil, say.Failed("", "a picture of %d x %d drills with %d colors cannot be charted", g.Cols, g.Rows, len(g.Cells))
	}
	if len(from) == 0 || len(from) > math.MaxUint16 {
		return nil, say.Usage("a card holds 1 to 65535 colors", "there are %d colors to choose from", len(from))
	}
	points := make([]lab.Point, len(from))
	for j, c := range from {
		points[j] = lab.PointOf(c)
	}
	p := &Problem{cols: g.Cols, rows: g.Rows, from: from, cell: make([]int32, len(g.Cells))}

	type place struct {
		bin   uint64 // coarse bin, then bin
		color uint64
		cell  int32
	}
	places := make([]place, len(g.Cells))
	for i, c := range g.Cells {
		places[i] = place{pack(c, coarseEdge)<<3 | half(c), pack(c, 1.0/4096), int32(i)}
	}
	slices.SortFunc(places, func(a, b place) int {
		switch {
		case a.bin < b.bin || a.bin == b.bin && a.color < b.color:
			return -1
		case a.bin == b.bin && a.color == b.color:
			return 0
		}
		return 1
	})
	var fine, bins, coarse []lab.Point
	var binAt, coarseAt []int32
	var bin, block mean
	for i, at := range places {
		c := g.Cells[at.cell]
		newBin := i > 0 && at.bin != places[i-1].bin
		if newBin {
			bins, binAt = append(bins, bin.point()), append(binAt, int32(len(fine)))
			bin = mean{}
		}
		if i > 0 && at.bin>>3 != places[i-1].bin>>3 {
			coarse, coarseAt = append(coarse, block.point()), append(coarseAt, int32(len(bins)))
			block = mean{}
		}
		bin.add(c)
		block.add(c)
		if i == 0 || newBin || at.color != places[i-1].color {
			fine, p.count = append(fine, lab.PointOf(c)), append(p.count, 0)
		}
		p.cell[at.cell] = int32(len(fine) - 1)
		p.count[len(fine)-1]++
	}
	bins, binAt = append(bins, bin.point()), append(binAt, int32(len(fine)))
	coarse, coarseAt = append(coarse, block.point()), append(coarseAt, int32(len(bins)))

	binAt, coarseAt = append([]int32{0}, binAt...), append([]int32{0}, coarseAt...)
	single := make([]int32, len(coarse)+1)
	for i := range single {
		single[i] = int32(i)
	}
	p.levels[0] = newLevel(points, coarse, single, nil)
	p.levels[1] = newLevel(points, bins, coarseAt, p.levels[0])
	p.levels[2] = newLevel(points, fine, binAt, p.levels[1])
	return p, nil
}

// pack numbers the cube of the given edge that holds c.
func pack(c lab.Color, edge float64) uint64 {
	part := func(v float64) uint64 {
		return uint64(int64(math.Floor(math.Max(-200, math.Min(200, v))/edge)) + 1<<20)
	}
	return part(c.L)<<42 | part(c.A)<<21 | part(c.B)
}

// half numbers the eight bins of a coarse bin.
func half(c lab.Color) (h uint64) {
	for _, v := range [3]float64{c.L, c.A, c.B} {
		h <<= 1
		if u := v / coarseEdge; u-math.Floor(u) >= 0.5 {
			h |= 1
		}
	}
	return h
}

// mean is a running mean of colors.
type mean struct {
	l, a, b float64
	n       int
}

func (m *mean) add(c lab.Color) {
	m.l, m.a, m.b, m.n = m.l+c.L, m.a+c.A, m.b+c.B, m.n+1
}

func (m *mean) point() lab.Point {
	n := float64(m.n)
	return lab.PointOf(lab.Color{L: m.l / n, A: m.a / n, B: m.b / n}.Round())
}

// objective is what a selection minimises: the sum over points of weight times
// cost of the difference.
type objective struct {
	square  int64 // 0 to 256: share of the square in the cost
	scale   int64 // mean weight of a color of the cells
	weights [3][]int64
}

// even is the difference, in units, at which the plain cost and the square agree.
const even = 5 * Unit

// cost is what a difference costs.
func (o *objective) cost(u int32) int64 {
	if o.square == 0 {
		return int64(u)
	}
	d := int64(u)
	return ((256-o.square)*d + o.square*(d*d/even)) / 256
}

// compress makes a bin count by its number of cells, as they count by
// themselves, to the power of 1-by: many cells of one color still count more
// than few, but not as many times more.
func (p *Problem) compress(w, cells []int64, by float64) {
	if by <= 0 {
		return
	}
	const fine = 1 << 20 // of a weight of 1
	l := p.levels[2]
	for g := range l.boxes {
		sum := int64(0)
		for _, v := range cells[l.groups[g]:l.groups[g+1]] {
			sum += v
		}
		if sum == 0 {
			continue
		}
		k := int64(math.Round(fine * math.Pow(float64(sum), -by)))
		for i := l.groups[g]; i < l.groups[g+1]; i++ {
			w[i] *= max(k, 1)
		}
	}
}

// objective weighs the points of all levels.
//
// The plain mean of the misses forgets a rare color that matters, such as the
// green of a cat's eyes, for the sake of a little more fidelity in the fur. So
// a color (a bin of 3 units) counts by the number of its cells to the power of
// 1 - 0.4 Rare; and from 0.5 to 1 the cost of a miss turns from the miss itself
// to its square. On the cat of the demo at 18 colors, untoned, Rare 0.5 brings
// the green back for 0.1 to 0.4 percent of the mean, where the square alone
// needs 0.2 to 0.5 percent and helps less (TestRareKeepsTheGreenEyes).
func (p *Problem) objective(opt Options) *objective {
	o := &objective{square: int64(math.Round(256 * max(0, 2*opt.Rare-1)))}
	cells := make([]int64, len(p.count))
	w := cells
	if opt.Focus != nil {
		w = make([]int64, len(p.count))
	}
	for c, i := range p.cell {
		if opt.Fixed != nil && opt.Fixed[c] >= 0 {
			continue
		}
		counts := int64(1)
		if opt.Weight != nil {
			counts = int64(opt.Weight[c])
		}
		cells[i] += counts
		if opt.Focus != nil {
			w[i] += counts * int64(opt.Focus[c])
		}
	}
	p.compress(w, cells, 0.4*opt.Rare)
	o.scale = limit(w)
	p.raise(o, w)
	return o
}

// limit divides weights whose sum is so large that costs might not fit into 62
// bits; what weighs anything keeps at least 1. It returns the mean weight, at
// least 1.
func limit(w []int64) (mean int64) {
	const most = 1 << 36 // the largest cost of one cell stays below 2^26
	sum := int64(0)
	for _, v := range w {
		sum += v
	}
	if by := sum/most + 1; by > 1 {
		for i, v := range w {
			if v > 0 {
				w[i] = max(1, v/by)
			}
		}
		sum /= by
	}
	return max(1, sum/int64(len(w)))
}

// raise adds the weights of the cells' colors up to bins and coarse bins.
func (p *Problem) raise(o *objective, w []int64) {
	o.weights[2] = w
	for f := 1; f >= 0; f-- {
		l := p.levels[f+1]
		up := make([]int64, len(l.boxes))
		for g := range up {
			for i := l.groups[g]; i < l.groups[g+1]; i++ {
				up[g] += o.weights[f+1][i]
			}
		}
		o.weights[f] = up
	}
}
