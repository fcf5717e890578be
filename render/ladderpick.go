package render

import (
	"fmt"
	"math"
	"slices"
)

// Spot is a square of cells that a ladder magnifies: its upper left cell and
// its width in cells.
type Spot struct{ X, Y, Cells int }

const (
	spotCells = 28
	spotMost  = 44 // cells, so that they stay 10 pixels wide
)

// Focus is an ellipse on the grid that matters more, such as an eye: middle
// and half axes in cells.
type Focus struct{ X, Y, RX, RY float64 }

// FindSpot returns the place where a ladder's rungs differ most: the square
// with the largest sum, over neighboring rungs, of visible change beyond 1,
// the least that the eye sees. Changes holds, for each pair of neighboring
// rungs, the CIEDE2000 between them in each cell as seen from afar. A focus
// wins: the first one is shown.
func FindSpot(cols, rows int, changes [][]float64, focus []Focus) Spot {
	most := max(1, min(cols, rows))
	if len(focus) > 0 {
		f := focus[0]
		n := min(most, max(min(spotCells, most), min(spotMost, int(math.Ceil(2.3*math.Max(f.RX, f.RY))))))
		return Spot{clampTo(int(math.Round(f.X-float64(n)/2)), cols-n), clampTo(int(math.Round(f.Y-float64(n)/2)), rows-n), n}
	}
	n := min(spotCells, most)
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
	// Start from the middle's: where nothing changes, that is the place.
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

// ChangeNote says "hard to tell from 30" where a rung's spot has hardly
// changed against the rung before, of so many colors: less than 1 on average.
func ChangeNote(change []float64, cols int, spot Spot, before int) string {
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

// shownRungs returns which rungs get a picture: all, or the first, the last,
// the pick and those that spread best between, by ratio of colors.
func shownRungs(rungs []Rung, pick int) []int {
	n := len(rungs)
	if n <= ladderShown+1 {
		all := make([]int, n)
		for i := range all {
			all[i] = i
		}
		return all
	}
	shown := []int{0, n - 1}
	if i := slices.IndexFunc(rungs, func(r Rung) bool { return r.Colors == pick }); i > 0 && i < n-1 {
		shown = append(shown, i)
	}
	for len(shown) < ladderShown {
		best, at := int64(-1), 0
		for i, r := range rungs {
			near := int64(math.MaxInt64)
			for _, j := range shown {
				a, b := int64(r.Colors), int64(rungs[j].Colors)
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
