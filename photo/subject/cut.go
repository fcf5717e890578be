package subject

import (
	"math"

	"kitwright/internal/par"
	"kitwright/lab"
	"kitwright/photo"
)

const (
	rounds     = 3
	mostOdds   = 3    // log odds that color and texture can speak with
	pullLater  = 2    // after the first round the box counts this many times less
	smoothness = 5.0  // what it costs to part two cells of one color
	evenSmooth = 0.05 // and, of that, two of any colors
	blocks     = 8    // along the box, see sees
)

// cut parts the subject under a hand-drawn box from its ground, and returns
// how strongly each cell was taken for it, in 1/perUnit of log odds.
//
// Round by round, a [forest] learns what the inside has that the ring around
// the box has not, and the cheapest outline is found by a minimum cut (Y. Boykov,
// M.-P. Jolly, "Interactive graph cuts", ICCV 2001, 105-112; repeated as in
// C. Rother, V. Kolmogorov, A. Blake, "GrabCut", ACM Transactions on Graphics
// 23 (2004) 309-314) between what color, texture and the box say of each cell,
// the edges in the picture, and how far a cell is from the ground along the
// shortest way there ([paths]). In the first round all of the box is taught
// as subject, ground between the legs too; so what divides it is set where
// what was learned falls into two (N. Otsu, IEEE SMC 9 (1979) 62-66). From then
// on a cell is judged only by trees that never saw its part of the picture:
// otherwise ground once taken for subject would stay so for ever.
//
// finer is the same picture with twice the cells each way; nil = not known.
func cut(l, finer *photo.Linear, d drawn) (*photo.Mask, []int32) {
	cols, rows := l.Cols, l.Rows
	colors := l.Leveled()
	var texture []lab.Color
	if finer != nil {
		texture = finer.Leveled()
	}
	data := featuresOf(colors, texture, cols, rows)
	m := &photo.Mask{Cols: cols, Rows: rows, In: make([]bool, len(colors)), By: byEllipse}
	teach := lessons{says: make([]bool, len(colors)), weight: make([]uint8, len(colors)), part: parts(d, cols)}
	start := d.ring()
	for i, r := range d.place {
		switch {
		case d.fixed[i] != 0 && r < farthest:
			teach.says[i], teach.weight[i] = d.fixed[i] > 0, 64
		case r < math.Min(inPart, start-0.1):
			teach.says[i], teach.weight[i] = true, 64
		case r > start && r < ringEnd:
			teach.weight[i] = 64
		}
	}
	links := linksOf(colors, cols, rows)
	f := newFlow(cols, rows)
	score := make([]int32, len(colors))
	threshold, apart := int32(0), []int32(nil)
	for round := range rounds {
		teach.balance()
		trees := grow(data, teach, round > 0)
		par.Bands(rows, func(from, to int) {
			for i := from * cols; i < to*cols; i++ {
				score[i] = logOdds[trees.share(data[features*i:features*i+features], teach.part[i])]
			}
		})
		if round == 0 {
			threshold = dividing(score, d)
			apart = paths(colors, score, cols, rows, d)
		}
		f.reset(links)
		for i := range score {
			if round == 0 {
				score[i] += d.pull[i] + apart[i] - threshold
			} else {
				score[i] += (d.later[i] + apart[i]) / pullLater
			}
			if d.fixed[i] != 0 {
				score[i] = sure * perUnit * int32(d.fixed[i])
			}
			f.toEnd[f.at(i%cols, i/cols)] = score[i]
		}
		f.cut()
		f.show(m)
		whole(m, d)
		for i := range score {
			teach.says[i], teach.weight[i] = m.In[i], 0
			if d.place[i] < ringEnd {
				teach.weight[i] = uint8(12 + 52*min(perUnit*3/2, max(score[i], -score[i]))/(perUnit*3/2)) // what is clear teaches more
			}
		}
	}
	reach(m, score, d, f, links)
	return m, score
}

// logOdds of a share in 1/4096, in 1/perUnit, within mostOdds.
var logOdds = func() (t [4097]int32) {
	for i := range t {
		p := (float64(i) + 8) / (4096 + 16)
		t[i] = int32(math.Round(perUnit * math.Max(-mostOdds, math.Min(mostOdds, math.Log(p/(1-p))))))
	}
	return t
}()

// parts numbers the blocks of the picture, 0 to 7, so that neighbors seldom
// share a number.
func parts(d drawn, cols int) []uint8 {
	inside := 0
	for _, r := range d.place {
		if r < 1 {
			inside++
		}
	}
	side := max(3, int(math.Sqrt(float64(inside)))/blocks)
	part := make([]uint8, len(d.place))
	for i := range part {
		h := uint32(i%cols/side)*2654435761 ^ uint32(i/cols/side)*2246822519
		h ^= h >> 15
		h *= 2654435761
		part[i] = uint8(h >> 29)
	}
	return part
}

// dividing returns the log odds that divide the inside of the box in two by
// Otsu's rule, within what both sides of it can be.
func dividing(score []int32, d drawn) int32 {
	const least, most = perUnit * 2 / 5, perUnit * 2
	var count [2*mostOdds*perUnit + 1]int64
	var all, sum int64
	for i, r := range d.place {
		if r < 1 {
			at := int64(score[i] + mostOdds*perUnit)
			count[at]++
			all++
			sum += at
		}
	}
	best, at := 0.0, 0
	var n, s int64
	for b, c := range count {
		n += c
		s += c * int64(b)
		if n == 0 || n == all {
			continue
		}
		apart := float64(s)/float64(n) - float64(sum-s)/float64(all-n)
		if v := float64(n) * float64(all-n) * apart * apart; v > best {
			best, at = v, b
		}
	}
	return max(least, min(most, int32(at-mostOdds*perUnit)))
}

// linksOf returns the capacities between neighbors: dear where the color is
// the same, cheap across an edge (as in GrabCut).
func linksOf(colors []lab.Color, cols, rows int) []int32 {
	f := newFlow(cols, rows)
	each := func(do func(place, d int, d2 float64)) {
		for i, p := range colors {
			x, y := i%cols, i/cols
			for d, to := range [8][2]int{{1, 0}, {}, {0, 1}, {}, {1, 1}, {}, {-1, 1}, {}} {
				if tx, ty := x+to[0], y+to[1]; d%2 == 0 && tx >= 0 && tx < cols && ty < rows {
					q := colors[ty*cols+tx]
					u, v, w := p.L-q.L, p.A-q.A, p.B-q.B
					do(f.at(x, y), d, float64(u*u)+float64(v*v)+float64(w*w))
				}
			}
		}
	}
	sum, n := 0.0, 0
	each(func(_, _ int, d2 float64) { sum += d2; n++ })
	beta := 0.0
	if sum > 0 {
		beta = float64(n) / (2 * sum)
	}
	each(func(place, d int, d2 float64) {
		c := smoothness * (math.Exp(-beta*d2) + evenSmooth)
		if d >= 4 {
			c /= math.Sqrt2
		}
		f.arc[8*place+d] = int32(math.Round(c * perUnit))
		f.arc[8*(place+f.offset[d])+d^1] = f.arc[8*place+d]
	})
	return f.arc
}

// reset empties the network but for the arcs between neighbors.
func (f *flow) reset(arcs []int32) {
	copy(f.arc, arcs)
	clear(f.toEnd)
	clear(f.tree)
	clear(f.parent)
	clear(f.stamp)
	clear(f.dist)
	clear(f.queued)
	f.now, f.head, f.active, f.orphans = 0, 0, f.active[:0], f.orphans[:0]
}

// whole keeps the largest part of the subject and those others that lie within
// the box: a second animal, a paw beyond a twig. Farther out it is the ground
// that looks like the subject.
func whole(m *photo.Mask, d drawn) {
	const within, small = 0.9, 15
	part, sizes := regions(m, true)
	inside, said := make([]int, len(sizes)), make([]bool, len(sizes))
	for i, p := range part {
		if p >= 0 && d.place[i] < within {
			inside[p]++
		}
		if p >= 0 && d.fixed[i] > 0 && d.place[i] >= core {
			said[p] = true
		}
	}
	largest := 0
	for p, n := range inside {
		if n > inside[largest] {
			largest = p
		}
	}
	for i, p := range part {
		if p >= 0 && int(p) != largest && !said[p] && (2*inside[p] < sizes[p] || small*sizes[p] < sizes[largest]) {
			m.In[i] = false
		}
	}
}
