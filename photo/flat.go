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

// Flat tells a drawing of few flat colors from a photo. It looks at what is
// left without the commonest color, which may well be a studio's wall: a drawing
// if most of those cells are the very color of the next one and a handful of
// colors makes up nearly all of them. Brightness is leveled first, so a photo
// taken in the dark is not one black.
func (l *Linear) Flat() bool {
	colors := l.Leveled()
	bin := func(c lab.Color) [3]int {
		return [3]int{int(math.Floor(c.L / flatBin)), int(math.Floor(c.A / flatBin)), int(math.Floor(c.B / flatBin))}
	}
	count := map[[3]int]int{}
	for _, c := range colors {
		count[bin(c)]++
	}
	var sizes []int
	for _, n := range count {
		sizes = append(sizes, n)
	}
	slices.Sort(sizes)
	common := sizes[len(sizes)-1]
	same, pairs := 0, 0
	for i, c := range colors {
		if i%l.Cols == 0 || count[bin(c)] == common {
			continue
		}
		pairs++
		if p := colors[i-1]; math.Abs(p.L-c.L) < flatSame && math.Abs(p.A-c.A) < flatSame && math.Abs(p.B-c.B) < flatSame {
			same++
		}
	}
	few := 0
	for _, n := range sizes[max(0, len(sizes)-1-flatColors) : len(sizes)-1] {
		few += n
	}
	rest := len(colors) - common
	return float64(same) >= flatPairs*float64(pairs) && float64(few) >= flatCover*float64(rest)
}

// (Our choice: of the pictures in scikit-image's data folder the two drawings
// in flat colors pass, the twelve photos do not.)
const (
	flatBin    = 4   // side of a color, Lab units
	flatSame   = 0.1 // as near as two cells of one flat area are, each of L*, a*, b*
	flatColors = 24
	flatPairs  = 0.6
	flatCover  = 0.8
)
