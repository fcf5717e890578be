package look

import (
	"fmt"
	"math"
	"slices"

	"kitwright/kit"
	"kitwright/lab"
)

// Spot is a square of cells that a ladder magnifies: its upper left cell and
// its width in cells.
type Spot struct{ X, Y, Cells int }

const (
	spotCells = 28
	spotMost  = 44 // cells, so that they stay 10 pixels wide
)

// Oval is an ellipse on the grid that matters more, such as an eye: middle
// and half axes in cells.
type Oval struct{ X, Y, RX, RY float64 }

// Magnify chooses the spot that a ladder magnifies and says in the rungs'
// notes where it hardly changes. A focus wins: the first one is magnified.
// Otherwise it is the place where neighboring rungs, of those drawn, differ
// most as seen when cellsPerDegree drills make up a degree of the view.
func (l *LadderPicture) Magnify(cellsPerDegree float64, focus ...Oval) {
	shown := shownRungs(l.Views, l.Pick)
	first := l.Views[shown[0]].Stones
	var changes [][]float64
	var before *lab.Grid
	for _, i := range shown {
		now := l.Views[i].Stones.grid()
		if before != nil {
			changes = append(changes, lab.FarMiss(before, now, cellsPerDegree))
		}
		before = now
	}
	if len(focus) > 0 {
		l.Spot = spotAt(first.Cols, first.Rows, focus[0])
	} else {
		l.Spot = liveliest(first.Cols, first.Rows, changes)
	}
	for j, change := range changes {
		l.Views[shown[j+1]].Note = changeNote(change, first.Cols, l.Spot, l.Views[shown[j]].Colors)
	}
}

// grid is the picture as colors.
func (s Stones) grid() *lab.Grid {
	colors := make([]lab.Color, len(s.RGB))
	for i, c := range s.RGB {
		colors[i] = lab.FromSRGB(c).Round()
	}
	g := lab.NewGrid(s.Cols, s.Rows)
	for i, c := range s.Cells {
		g.Cells[i] = colors[c]
	}
	return g
}

// spotAt is a square around a focus with a little room.
func spotAt(cols, rows int, f Oval) Spot {
	most := max(1, min(cols, rows))
	n := min(most, max(spotCells, min(spotMost, int(math.Ceil(float64(2.3*math.Max(f.RX, f.RY)))))))
	return Spot{clampTo(int(math.Round(f.X-float64(n)/2)), cols-n), clampTo(int(math.Round(f.Y-float64(n)/2)), rows-n), n}
}

// liveliest returns the square with the largest sum of visible change beyond
// 1, the least that the eye sees; the middle if nothing changes so much.
func liveliest(cols, rows int, changes [][]float64) Spot {
	n := min(spotCells, max(1, min(cols, rows)))
	// Sums of the upper left rectangles, in 1/10000, so that ties are ties.
	sums := make([]int64, (cols+1)*(rows+1))
	for y := range rows {
		for x := range cols {
			var v int64
			for _, c := range changes {
				v += max(0, int64(math.Round(c[y*cols+x]*1e4))-10000)
			}
			sums[(y+1)*(cols+1)+x+1] = v + sums[y*(cols+1)+x+1] + sums[(y+1)*(cols+1)+x] - sums[y*(cols+1)+x]
		}
	}
	best, at := int64(0), Spot{(cols - n) / 2, (rows - n) / 2, n}
	for y := 0; y+n <= rows; y++ {
		for x := 0; x+n <= cols; x++ {
			v := sums[(y+n)*(cols+1)+x+n] - sums[y*(cols+1)+x+n] - sums[(y+n)*(cols+1)+x] + sums[y*(cols+1)+x]
			if v > best {
				best, at = v, Spot{x, y, n}
			}
		}
	}
	return at
}

func clampTo(v, most int) int { return max(0, min(most, v)) }

// changeNote says "here hard to tell from 30" where a rung's spot has hardly
// changed against the rung before, of so many colors: less than 1 on average.
func changeNote(change []float64, cols int, spot Spot, before int) string {
	var sum int64
	for y := spot.Y; y < spot.Y+spot.Cells; y++ {
		for _, c := range change[y*cols+spot.X:][:spot.Cells] {
			sum += int64(math.Round(c * 1e4))
		}
	}
	if sum < int64(10000*spot.Cells*spot.Cells) {
		return fmt.Sprintf("here hard to tell from %d", before)
	}
	return ""
}

// shownRungs returns which rungs get a picture: all, or the usual ones and the
// pick, or else the first, the last, the pick and those that spread best
// between, by ratio of colors.
func shownRungs(rungs []View, pick int) (shown []int) {
	n := len(rungs)
	if n <= ladderShown+1 {
		for i := range rungs {
			shown = append(shown, i)
		}
		return shown
	}
	for i, r := range rungs {
		if r.Asked == pick || slices.Contains(kit.LadderCounts(), r.Asked) {
			shown = append(shown, i)
		}
	}
	if len(shown) >= ladderShown && shown[0] == 0 && shown[len(shown)-1] == n-1 {
		return shown
	}
	shown = []int{0, n - 1}
	if i := slices.IndexFunc(rungs, func(r View) bool { return r.Asked == pick }); i > 0 && i < n-1 {
		shown = append(shown, i)
	}
	for len(shown) < ladderShown {
		best, at := int64(-1), 0
		for i, r := range rungs {
			near := int64(math.MaxInt64)
			for _, j := range shown {
				a, b := int64(r.Asked), int64(rungs[j].Asked)
				near = min(near, max(a, b)*10000/max(1, min(a, b))-10000)
			}
			if near > best {
				best, at = near, i
			}
		}
		shown = append(shown, at)
	}
	slices.Sort(shown)
	return shown
}
