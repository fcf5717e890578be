package draw

import "kitwright/chart/symbols"

// fineness is how many points across a cell of 2.5 mm the print checks look
// at: one every 0.0208 mm.
const fineness = 120

// Prints tells what a stroke and a gap of the given width in millimeters do
// to the drawing in a 2.5 mm cell: kept is the share of the ink that a round
// nib of that stroke can draw, filled the ink that appears, as a share of
// what was there, where a gap is narrower than a disc of that gap. Sharp
// corners cost a little of both.
func Prints(p paths, stroke, gap float64) (kept, filled float64) {
	ink := make([]bool, fineness*fineness)
	all := 0
	for i, c := range (symbols.Symbol{Paths: p}).Coverage(fineness, symbols.Box) {
		if ink[i] = c > 127; ink[i] {
			all++
		}
	}
	paper := invert(ink)
	opened := sweep(ink, stroke)
	closed := invert(sweep(paper, gap))
	return float64(count(opened)) / float64(all), float64(count(closed)-all) / float64(all)
}

// sweep returns the points that a disc of the given width can reach while it
// stays inside area. Outside the cell is like its edge: the disc may lean out.
func sweep(area []bool, width float64) []bool {
	r := width / 2 / (2.5 / fineness)
	var disc [][2]int
	for y := -int(r); y <= int(r); y++ {
		for x := -int(r); x <= int(r); x++ {
			if float64(x*x+y*y) <= r*r {
				disc = append(disc, [2]int{x, y})
			}
		}
	}
	out := make([]bool, len(area))
	for i := range area {
		if fits(area, i%fineness, i/fineness, disc) {
			for _, d := range disc {
				if x, y := i%fineness+d[0], i/fineness+d[1]; x >= 0 && y >= 0 && x < fineness && y < fineness {
					out[y*fineness+x] = true
				}
			}
		}
	}
	return out
}

func fits(area []bool, x, y int, disc [][2]int) bool {
	for _, d := range disc {
		x, y := min(max(x+d[0], 0), fineness-1), min(max(y+d[1], 0), fineness-1)
		if !area[y*fineness+x] {
			return false
		}
	}
	return true
}

func invert(a []bool) []bool {
	out := make([]bool, len(a))
	for i, v := range a {
		out[i] = !v
	}
	return out
}

func count(a []bool) (n int) {
	for _, v := range a {
		if v {
			n++
		}
	}
	return n
}
