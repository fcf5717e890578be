package photo

import (
	"math"
	"slices"

	"kitwright/lab"
)

// Tone is what [Linear.Tone] did to a picture, in the order it was done. The
// zero Tone is none.
type Tone struct {
	Stops float64 // exposure, in doublings of light; 0 = left as it was
	Lift  float64 // L* added to the darks, most at L* 25
	Local bool    // local contrast
	Sharp bool    // sharpening on the grid
}

// Limits and triggers of the tone, all in L* unless said otherwise. They were
// measured on photos of cats, dogs and other animals: what they rescue is a pet
// photographed in the dark; daylight photos hardly change.
const (
	dimBelow   = 60   // expose only if the subject's 98th percentile is darker
	bright     = 82   // what it is brought to
	mostGain   = 8    // at most, times
	shoulder   = 0.75 // light above it is bent so as never to reach 1
	liftBelow  = 26   // lift only if the subject's first quarter is darker
	liftShare  = 0.6  // by this share of what is missing
	mostLift   = 8
	liftPeak   = 25  // where the lift is greatest; black stays
	localShare = 0.5 // of the difference from the surroundings
	mostLocal  = 6
	localReach = 0.06 // surroundings: this part of the short side, at least 2 cells
	localEdge  = 60   // squared L*: larger steps are edges, not texture
	sharpShare = 0.5
	sharpBlur  = 0.7 // standard deviation, cells
	sharpSlack = 2   // beyond the neighbors' lightest and darkest
)

// Tone returns the picture as it should be painted: exposure, then the lift of
// the darks, then local contrast, then sharpening, each measured inside the
// subject (nil: everywhere) and within narrow limits. A drawing of flat colors
// ([Linear.Flat]) comes back as it is.
//
// easy leaves out the sharpening, which costs 1 to 2.5 percent more lone
// drills.
func (l *Linear) Tone(subject *Mask, easy bool) (*Linear, Tone) {
	var t Tone
	if l.Flat() {
		return l, t
	}
	gain := exposure(l.lightnesses(subject))
	out := l.Exposed(gain)
	t.Stops = math.Round(math.Log2(gain)*1000) / 1000
	lift := lifting(out.lightnesses(subject))
	out = out.Lifted(lift)
	t.Lift = math.Round(lift*1000) / 1000
	out = out.LocalContrast()
	t.Local = true
	if !easy {
		out = out.Sharpened()
		t.Sharp = true
	}
	return out, t
}

// lightnesses returns the L* of the subject's cells.
func (l *Linear) lightnesses(subject *Mask) []float64 {
	var all []float64
	for i, c := range l.Cells {
		if subject == nil || subject.In[i] {
			all = append(all, lightness(luminance(c)))
		}
	}
	return all
}

// exposure returns the gain that a subject needs: 1 unless it is dim.
func exposure(subject []float64) float64 {
	p98 := quantile(subject, 0.98)
	if !(p98 < dimBelow) { // no subject at all counts as bright
		return 1
	}
	return math.Min(mostGain, lit(bright)/lit(p98))
}

// lifting returns the lift that a subject needs.
func lifting(subject []float64) float64 {
	q25 := quantile(subject, 0.25)
	if !(q25 < liftBelow) {
		return 0
	}
	return math.Min(mostLift, liftShare*(liftBelow-q25))
}

// Exposed returns the picture with gain times the light. Red, green and blue
// share one factor, so hue and saturation stay; the strongest of them bends
// away from full light instead of being cut.
func (l *Linear) Exposed(gain float64) *Linear {
	if gain == 1 {
		return l
	}
	return l.scaled(func(_ int, c [3]float64) float64 {
		m := max(c[0], c[1], c[2])
		if m <= 0 {
			return 1
		}
		x := gain * m
		if x > shoulder {
			x = shoulder + (1-shoulder)*(1-math.Exp(-(x-shoulder)/(1-shoulder)))
		}
		return x / m
	})
}

// Lifted returns the picture with the darks lifted by up to a, in L*: most at
// L* 25, nothing at black, little in the light. Cards have few colors below
// L* 15, so that dark fur would fall into one black.
func (l *Linear) Lifted(a float64) *Linear {
	if a == 0 {
		return l
	}
	return l.relit(func(_ int, v float64) float64 {
		return v + float64(a*v/liftPeak)*math.Exp(1-v/liftPeak)
	})
}

// LocalContrast returns the picture with texture made plainer: each cell moves
// away from its surroundings, by at most 6 in L*. The surroundings are a guided
// filter of the lightness itself (K. He, J. Sun, X. Tang, IEEE PAMI 35 (2013)
// 1397-1409), which does not reach over edges.
func (l *Linear) LocalContrast() *Linear {
	light := l.lightnesses(nil)
	radius := max(2, int(math.Round(localReach*float64(min(l.Cols, l.Rows)))))
	around := guided(light, l.Cols, l.Rows, radius, localEdge)
	return l.relit(func(i int, v float64) float64 {
		return v + mostLocal*math.Tanh(localShare*(v-around[i])/mostLocal)
	})
}

// Sharpened returns the picture with the luminance of each cell pushed away
// from that of its neighbors, but never more than 2 in L* beyond the lightest
// and the darkest of them and itself.
func (l *Linear) Sharpened() *Linear {
	y := make([]float64, len(l.Cells))
	for i, c := range l.Cells {
		y[i] = luminance(c)
	}
	soft := blurred(y, l.Cols, l.Rows, sharpBlur)
	return l.relit(func(i int, _ float64) float64 {
		least, most := y[i], y[i]
		cx, cy := i%l.Cols, i/l.Cols
		for ny := max(0, cy-1); ny <= min(l.Rows-1, cy+1); ny++ {
			for nx := max(0, cx-1); nx <= min(l.Cols-1, cx+1); nx++ {
				least, most = min(least, y[ny*l.Cols+nx]), max(most, y[ny*l.Cols+nx])
			}
		}
		v := lightness(y[i] + float64(sharpShare*(y[i]-soft[i])))
		return math.Min(lightness(most)+sharpSlack, math.Max(lightness(least)-sharpSlack, v))
	})
}

// Flat tells a drawing of few flat colors from a photo. It looks at what is
// left without the commonest color, which may well be a studio's wall: a drawing
// if most of those cells are the very color of the next one and a handful of
// colors makes up nearly all of them. Brightness is leveled first, so a photo
// taken in the dark is not one black.
func (l *Linear) Flat() bool {
	colors := leveled(l)
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

// relit gives each cell the L* that to returns for its place and its own L*.
// Red, green and blue share one factor, at most so large that none of them
// passes full light and that near-black does not become a color.
func (l *Linear) relit(to func(i int, lightness float64) float64) *Linear {
	const mostFactor = 8
	return l.scaled(func(i int, c [3]float64) float64 {
		y, m := luminance(c), max(c[0], c[1], c[2])
		if y <= 0 || m <= 0 {
			return 1
		}
		f := lit(max(0, to(i, lightness(y)))) / y
		return min(f, max(1, 1/m), mostFactor)
	})
}

// scaled multiplies each cell by a factor. The light is rounded to
// 1/lab.LinearOne, which hides the last bit of a processor's exponentials.
func (l *Linear) scaled(factor func(i int, c [3]float64) float64) *Linear {
	out := &Linear{Cols: l.Cols, Rows: l.Rows, Cells: make([][3]float64, len(l.Cells))}
	for i, c := range l.Cells {
		f := factor(i, c)
		for k, v := range c {
			out.Cells[i][k] = math.Round(v*f*lab.LinearOne) / lab.LinearOne
		}
	}
	return out
}
