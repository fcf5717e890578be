package photo

import (
	"math"
	"slices"

	"kitwright/internal/plane"
	"kitwright/lab"
)

const mostLeveled = 32 // gain of the darkest picture

// Leveled returns the colors with the 99th percentile of luminance brought to
// white.
func (l *Linear) Leveled() []lab.Color {
	light := make([]float64, len(l.Cells))
	for i, c := range l.Cells {
		light[i] = lab.Luminance(c)
	}
	gain := math.Min(mostLeveled, 1/math.Max(1e-6, plane.Quantile(light, 0.99)))
	out := make([]lab.Color, len(l.Cells))
	for i, c := range l.Cells {
		out[i] = lab.FromLinear(gain*c[0], gain*c[1], gain*c[2]).Round()
	}
	return out
}

// Flat tells a drawing of few flat colors from a photo. In a drawing most cells
// are the very color of a neighbor, and those that are not lie on an edge, mixed
// of what is on either side: as far as neighbors are nearly alike, they are
// equal, and a handful of colors makes up nearly all that is equal. In a photo
// neighbors are nearly alike, but not equal. The commonest color, which may well
// be a studio's wall, is left out. Brightness is leveled first, so a photo taken
// in the dark is not one black.
func (l *Linear) Flat() bool {
	colors := l.Leveled()
	bin := func(c lab.Color) [3]int {
		return [3]int{int(math.Floor(c.L / flatBin)), int(math.Floor(c.A / flatBin)), int(math.Floor(c.B / flatBin))}
	}
	count := map[[3]int]int{}
	for _, c := range colors {
		count[bin(c)]++
	}
	common := 0
	for _, n := range count {
		common = max(common, n)
	}
	equal, near := 0, 0
	of := map[[3]int]int{} // cells by color that equal a neighbor
	for i, c := range colors {
		if count[bin(c)] == common {
			continue
		}
		same := false
		for _, j := range [2]int{i - 1, i - l.Cols} {
			if j < 0 || j == i-1 && i%l.Cols == 0 {
				continue
			}
			p := colors[j]
			switch d := max(math.Abs(p.L-c.L), math.Abs(p.A-c.A), math.Abs(p.B-c.B)); {
			case d < flatSame:
				equal, near, same = equal+1, near+1, true
			case d < flatNear:
				near++
			}
		}
		if same {
			of[bin(c)]++
		}
	}
	var sizes []int
	all, few := 0, 0
	for _, n := range of {
		sizes, all = append(sizes, n), all+n
	}
	slices.Sort(sizes)
	for _, n := range sizes[max(0, len(sizes)-flatColors):] {
		few += n
	}
	rest := len(colors) - common
	return float64(equal) >= flatPairs*float64(near) && float64(few) >= flatCover*float64(all) && float64(all) >= flatLeast*float64(rest)
}

// (Our choice: see TestFlatOnPictures for the pictures on either side.)
const (
	flatBin    = 4   // side of a color, Lab units
	flatSame   = 0.1 // as near as two cells of one flat area are, each of L*, a*, b*
	flatNear   = 3   // nearer than most edges of a drawing
	flatColors = 24
	flatPairs  = 0.6 // of the pairs that are nearly alike are equal
	flatCover  = 0.8
	flatLeast  = 0.25 // of the cells equal a neighbor
)
