package symbols

import (
	"math"
	"slices"
)

// samples is how many lines and columns of points are looked at in a pixel of
// Coverage: in a small cell 256 points a pixel, one for each level, in a
// large one fewer, but always 16 or more.
func samples(px int) int { return min(max(512/px, 4), 16) }

// Coverage draws the symbol into a cell of px by px pixels and returns, row
// by row from the top left, how much of each pixel is ink, 0 to 255. Box is
// the share of the cell's side that the symbol may fill: Box or LargeBox.
func (s Symbol) Coverage(px int, box float64) []uint8 {
	sub := samples(px)
	sums := s.ink(px, sub, box)
	out := make([]uint8, len(sums))
	all := sub * sub
	for i, n := range sums {
		out[i] = uint8((int(n)*255 + all/2) / all)
	}
	return out
}

// ink counts, for each pixel of a px by px cell, how many of its sub by sub
// points (at the middle of their small squares) are inside the symbol.
func (s Symbol) ink(px, sub int, box float64) []uint16 {
	n := px * sub
	sums := make([]uint16, px*px)
	row := make([]bool, n)
	for y := range n {
		clear(row)
		at := unit(y, n, box)
		for _, p := range s.Paths {
			p.scan(row, at, box)
		}
		line := sums[y/sub*px : (y/sub+1)*px]
		for x, in := range row {
			if in {
				line[x/sub]++
			}
		}
	}
	return sums
}

// unit is where the middle of step i of n across a cell lies in the unit box.
func unit(i, n int, box float64) float64 {
	return (float64(2*i+1) - float64(n)) / (float64(n) * box)
}

// scan marks the points of row, one line of a cell at height y of the unit
// box, that lie inside the path.
func (p Path) scan(row []bool, y, box float64) {
	var at []float64
	for _, c := range p {
		a := c[len(c)-1]
		for _, b := range c {
			if (a.Y <= y) != (b.Y <= y) {
				at = append(at, a.X+float64((y-a.Y)*(b.X-a.X))/(b.Y-a.Y))
			}
			a = b
		}
	}
	slices.Sort(at)
	n := len(row)
	for i := 0; i+1 < len(at); i += 2 {
		for x := column(at[i], n, box); x < column(at[i+1], n, box); x++ {
			row[x] = true
		}
	}
}

// column is the first step of n across a cell whose middle is not left of x.
func column(x float64, n int, box float64) int {
	at := float64(float64(x*float64(float64(n)*box))/2) + float64(float64(n)/2) - 0.5
	return min(max(int(math.Ceil(at)), 0), n)
}
