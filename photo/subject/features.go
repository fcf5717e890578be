package subject

import (
	"math"

	"kitwright/internal/par"
	"kitwright/lab"
)

// features is how many numbers tell about a cell: lightness and the two hues,
// the same around it, then what shade hardly changes: how uneven it is at two
// scales, the hue as an angle, chroma, and chroma by lightness, and at last what
// only a finer picture shows (see finely). None of them looks farther than
// three cells: the wider ones that were tried told a cell by its being near the
// animal, and so kept the grass between its legs.
const (
	features       = 17
	firstShadeless = 6
	firstFine      = 11
)

const fine = 32 // parts of a Lab unit

// featuresOf returns the features of each cell, one cell after the other.
// finer is the same picture with twice the cells each way; nil = not known.
func featuresOf(colors, finer []lab.Color, cols, rows int) []int16 {
	planes := [3][]int32{make([]int32, len(colors)), make([]int32, len(colors)), make([]int32, len(colors))}
	for i, c := range colors {
		planes[0][i], planes[1][i], planes[2][i] = int32(math.Round(c.L*fine)), int32(math.Round(c.A*fine)), int32(math.Round(c.B*fine))
	}
	out := make([]int16, features*len(colors))
	put := func(k int, of []int32) {
		for i, v := range of {
			out[features*i+k] = int16(max(math.MinInt16, min(math.MaxInt16, v)))
		}
	}
	do := []func(){
		func() { put(6, uneven(planes[0], cols, rows, 1)) },
		func() { put(7, uneven(planes[0], cols, rows, 3)) },
		func() {
			l, a, b := around(planes[0], cols, rows, 1), around(planes[1], cols, rows, 1), around(planes[2], cols, rows, 1)
			hue, chroma, full := make([]int32, len(a)), make([]int32, len(a)), make([]int32, len(a))
			for i := range a {
				u, v := float64(a[i]), float64(b[i])
				hue[i] = int32(math.Round(math.Atan2(v, u) * 4096))
				chroma[i] = int32(math.Round(math.Sqrt(float64(u*u) + float64(v*v))))
				full[i] = 4096 * chroma[i] / (max(0, l[i]) + 10*fine)
			}
			put(8, hue)
			put(9, chroma)
			put(10, full)
		},
	}
	if finer != nil {
		do = append(do, func() {
			for k, p := range finely(finer, cols, rows) {
				put(firstFine+k, p)
			}
		})
	}
	for c := range planes {
		do = append(do, func() { put(c, planes[c]) }, func() { put(3+c, around(planes[c], cols, rows, 2)) })
	}
	par.Rows(len(do), func(k int) { do[k]() })
	return out
}

// around returns the means over the square of 2 reach + 1 cells around each,
// as far as it lies inside, cut to whole numbers.
func around(p []int32, cols, rows, reach int) []int32 {
	sums := make([]int64, (cols+1)*(rows+1)) // of all above and to the left
	for y := range rows {
		line := int64(0)
		for x := range cols {
			line += int64(p[y*cols+x])
			sums[(y+1)*(cols+1)+x+1] = sums[y*(cols+1)+x+1] + line
		}
	}
	out := make([]int32, len(p))
	for y := range rows {
		up, down := max(0, y-reach)*(cols+1), min(rows, y+reach+1)*(cols+1)
		for x := range cols {
			x0, x1 := max(0, x-reach), min(cols, x+reach+1)
			n := (x1 - x0) * (down - up) / (cols + 1)
			out[y*cols+x] = int32((sums[down+x1] - sums[up+x1] - sums[down+x0] + sums[up+x0]) / int64(n))
		}
	}
	return out
}

// uneven returns the standard deviation in that square.
func uneven(p []int32, cols, rows, reach int) []int32 {
	square := make([]int32, len(p))
	for i, v := range p {
		square[i] = v * v // below 2^31: a lightness has at most 3200 parts, leveled ones a little more
	}
	mean, out := around(p, cols, rows, reach), around(square, cols, rows, reach)
	for i, m := range mean {
		out[i] = int32(math.Sqrt(float64(max(0, out[i]-m*m))))
	}
	return out
}

// finely tells fur from grass, rock and what is out of focus: how strongly
// lightness changes across, down and crosswise within the cells around, at a
// quarter of a cell's area; then, of a wider square, how strongly in all, the
// same by lightness, and whether more across than down.
func finely(finer []lab.Color, cols, rows int) [features - firstFine][]int32 {
	n := cols * rows
	across, down, cross, light := make([]int32, n), make([]int32, n), make([]int32, n), make([]int32, n)
	for i := range n {
		at := 4*(i/cols*cols) + 2*(i%cols) // of the upper left of four
		a, b, c, d := finer[at].L, finer[at+1].L, finer[at+2*cols].L, finer[at+2*cols+1].L
		across[i] = int32(math.Round(fine * (math.Abs(a-b) + math.Abs(c-d))))
		down[i] = int32(math.Round(fine * (math.Abs(a-c) + math.Abs(b-d))))
		cross[i] = int32(math.Round(fine * math.Abs(a-b-c+d)))
		light[i] = int32(math.Round(fine / 4 * (a + b + c + d)))
	}
	const near, wide = 1, 3
	out := [features - firstFine][]int32{around(across, cols, rows, near), around(down, cols, rows, near), around(cross, cols, rows, near)}
	across, down, light = around(across, cols, rows, wide), around(down, cols, rows, wide), around(light, cols, rows, wide)
	out[3], out[4], out[5] = make([]int32, n), make([]int32, n), make([]int32, n)
	for i := range n {
		all := across[i] + down[i]
		out[3][i] = all
		out[4][i] = 4096 * all / (max(0, light[i]) + 10*fine)
		out[5][i] = 4096 * (across[i] - down[i]) / (all + fine/4)
	}
	return out
}
