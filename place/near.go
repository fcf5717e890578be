package place

import (
	"math"

	"kitwright/internal/par"
	"kitwright/lab"
)

const (
	most  = 12 // nearest colors that a cell may take
	reach = 12 // difference that a color may have, plus half that of the nearest one: mixing colors farther apart draws dots
	none  = math.MaxInt32

	// On smooth light ground, and in small spots of a hue of their own, a color that
	// looks unlike the nearest one costs what it misses more than that, and strayLeast, so many times over; on all other
	// ground strayRough of it.
	strayTimes = 72
	strayLeast = 0.6
	strayRough = 0.02

	// mostLight is more than the S_L of CIEDE2000 ever is (1.747 at black and
	// white): two colors differ by at least their difference of L* over it.
	mostLight = 1.75
)

// candidates gives each cell the colors that it may take, nearest first, with
// the cost of their miss, and lays the nearest.
func (l *layer) candidates(opt Options) {
	l.weight = relative(opt.Weight)
	par.Rows(l.rows, func(y int) {
		for x := range l.cols {
			i, q := y*l.cols+x, l.place(x, y)
			if opt.Fixed != nil && opt.Fixed[i] >= 0 {
				choice, cost := l.choicesOf(q)
				for j := range cost {
					cost[j] = none
				}
				choice[0], cost[0] = uint16(opt.Fixed[i]), 0
			} else {
				l.free[q], l.spark[q] = true, l.sparks[i]
				if x > 0 { // probably near here, too
					l.choice[q*l.kept] = l.choice[(q-1)*l.kept]
				}
				l.offer(i, q)
			}
			l.at[q] = l.choice[q*l.kept]
		}
	})
}

// offer gives a cell its candidates.
func (l *layer) offer(i, q int) {
	choice, cost := l.choicesOf(q)
	for j := range cost {
		cost[j] = none
	}
	l.nearest(lab.PointOf(l.grid.Cells[i]), choice, cost)
	first, n := cost[0], 0
	for j, d := range cost {
		cost[j] = none
		if d > l.reachOf(first) {
			continue
		}
		if n > 0 {
			d += l.stray(l.keeps[i], d-first, choice[0], choice[j])
		}
		choice[n], cost[n] = choice[j], int32(weighed(int64(d), l.weight, i))
		n++
	}
}

// stray is what a color costs, beside its miss, that looks unlike the nearest
// one and misses so much more, where a cell keeps so much to its like. Smooth light
// ground between two colors is then mixed of both where they are about as near,
// fading to either side, and plain or nearly so elsewhere; and no ground is
// speckled with a third color for little.
func (l *layer) stray(keeps float64, more int32, nearest, c uint16) int32 {
	if l.with.alike == 0 {
		return 0
	}
	unlike := l.unlike[int(nearest)*l.colors+int(c)]
	share := math.Max(keeps*math.Min(1, unlike), strayRough*unlike)
	return int32(math.Round(share * strayTimes * (float64(more) + strayLeast*unit)))
}

// reachOf is how far off a color may be where the nearest one is so far off: more
// than that in any case, and the more the calmer, for areas to come together.
func (l *layer) reachOf(nearest int32) int32 {
	return max(nearest+int32(whole(l.with.merge)), nearest/2+reach*unit)
}

// nearest fills choice with the colors nearest to here and cost with what they
// miss, as far as reachOf allows; it may hold more. Ties go to the lower index.
// The first of choice, which need not be near, says where to begin.
func (l *layer) nearest(here lab.Point, choice []uint16, cost []int32) {
	last := len(cost) - 1
	limit := l.reachOf(l.off(here, choice[0]))
	for c := range l.points {
		q := &l.points[c]
		far := float64(limit) * (1. / unit)
		if here.Beyond(*q, far) {
			continue
		}
		off := here.Within(*q, far)
		if math.IsInf(off, 1) {
			continue
		}
		d := int32(math.Round(off * unit))
		if d >= cost[last] || d > limit {
			continue
		}
		j := last
		for ; j > 0 && d < cost[j-1]; j-- {
			choice[j], cost[j] = choice[j-1], cost[j-1]
		}
		choice[j], cost[j] = uint16(c), d
		limit = min(limit, cost[last], l.reachOf(cost[0]))
	}
}

const weightOne = 256

// relative returns weights in units of weightOne for their mean, at most 64.
func relative(weight []uint16) []int64 {
	var sum int64
	for _, w := range weight {
		sum += int64(w)
	}
	if sum == 0 {
		return nil
	}
	rel := make([]int64, len(weight))
	for i, w := range weight {
		rel[i] = min(64*weightOne, (int64(w)*weightOne*int64(len(weight))+sum/2)/sum)
	}
	return rel
}

// Accents tells the cells of a hue that few have, as green eyes are in a
// ginger cat: 0 for none, 1 for all of it. From two meters the eye hardly tells
// such a spot from its ground, so that a drill of the ground's hue would do where
// its lightness is right; near, it is what one looks at.
func Accents(g *lab.Grid) []float64 {
	const (
		around         = 8 // degrees to either side that make up one hue
		vivid0, vivid1 = 15, 22
		common, rare   = .03, .015 // of all cells
	)
	chroma := func(c lab.Color) float64 { return math.Sqrt(float64(c.A*c.A) + float64(c.B*c.B)) }
	var count [360]int
	hues := make([]int, len(g.Cells))
	for i, c := range g.Cells {
		degrees := math.Round(math.Atan2(c.B, c.A)*180/math.Pi*1e6) / 1e6
		hues[i] = (int(math.Floor(degrees)) + 360) % 360
		if chroma(c) >= vivid0 {
			count[hues[i]]++
		}
	}
	out := make([]float64, len(g.Cells))
	for i, c := range g.Cells {
		n := 0
		for d := -around; d <= around; d++ {
			n += count[(hues[i]+d+360)%360]
		}
		out[i] = ramp(chroma(c), vivid0, vivid1) * ramp(float64(n)/float64(len(g.Cells)), common, rare)
	}
	return out
}

// sparks tells the cells that are a small light in a dark spot, as the glint
// in an eye is: one to four of them within five by five cells, the rest of
// which is dark and at least 20 in L* below. They may stand alone, however
// calm the rest is.
func sparks(g *lab.Grid) []bool {
	const above, dark, group = 20, 32, 4
	is := make([]bool, len(g.Cells))
	par.Rows(g.Rows, func(y int) {
		for x := range g.Cols {
			i := y*g.Cols + x
			light := g.Cells[i].L
			bright, below, n := 0, 0, 0
			for yy := max(0, y-2); yy <= min(g.Rows-1, y+2); yy++ {
				for xx := max(0, x-2); xx <= min(g.Cols-1, x+2); xx++ {
					n++
					if v := g.At(xx, yy).L; v > light-above/2 {
						bright++
					} else if v < dark && v < light-above {
						below++
					}
				}
			}
			// Around a small light lie cells that are neither: half of both.
			is[i] = n == 25 && bright <= group && below >= 12
		}
	})
	return is
}
