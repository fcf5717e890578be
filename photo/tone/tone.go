// Package tone brings a photo's light to what drills can show. Begin with
// [Apply].
package tone

import (
	"fmt"
	"math"
	"strings"

	"kitwright/internal/par"
	"kitwright/internal/plane"
	"kitwright/lab"
	"kitwright/photo"
)

// Changes is what [Apply] did to a picture, in the order it was done. The zero
// Changes is none.
type Changes struct {
	Stops float64 // exposure, in doublings of light; 0 = left as it was
	Lift  float64 // L* added to the darks, most at L* 25
	Local bool    // local contrast
	Sharp bool    // sharpening on the grid
}

// Words says what was done, in the words that are used everywhere: "made 4.0
// times as bright, darks lifted".
func (t Changes) Words() string {
	var words []string
	if t.Stops != 0 {
		words = append(words, t.Brightened())
	}
	if t.Lift != 0 {
		words = append(words, "darks lifted")
	}
	if t.Local {
		words = append(words, "fur made plainer")
	}
	if t.Sharp {
		words = append(words, "sharpened")
	}
	return strings.Join(words, ", ")
}

// Brightened says how much brighter the picture was made: "made 4.0 times as
// bright"; nothing where it was not.
func (t Changes) Brightened() string {
	if t.Stops == 0 {
		return ""
	}
	return fmt.Sprintf("made %.1f times as bright", math.Exp2(t.Stops))
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
	ownRange   = 20   // L*: what differs more lies across an edge
	localSlack = 0.5  // L* that a cell may be moved further than it differs from its own kind

	detailBelow = 0.2 // share of its own kind around a cell below which it is a detail: an eye
	detailFree  = 40  // L* that the rarest may be moved further
	sharpShare  = 0.5
	sharpBlur   = 0.7 // standard deviation, cells
	sharpSlack  = 2   // beyond the neighbors' lightest and darkest
	deepest     = 8   // neither local contrast nor sharpening darkens below: drills tell nothing there
)

// Apply returns the picture as it should be painted: exposure, then the lift of
// the darks, then local contrast, then sharpening, each measured inside the
// subject and within narrow limits. Where no subject is known (nil) exposure goes by
// all of the picture, and nothing is lifted: what is dark may be water or night. A drawing of flat colors
// ([photo.Linear.Flat]) comes back as it is.
//
// easy leaves out the sharpening, which costs 1 to 2.5 percent more lone
// drills.
func Apply(l *photo.Linear, subject *photo.Mask, easy bool) (*photo.Linear, Changes) {
	var t Changes
	if l.Flat() {
		return l, t
	}
	gain := exposure(lightnesses(l, subject))
	out := exposed(l, gain)
	t.Stops = math.Round(math.Log2(gain)*1000) / 1000
	lift := 0.0
	if subject != nil {
		lift = lifting(lightnesses(out, subject))
	}
	out = lifted(out, lift)
	t.Lift = math.Round(lift*1000) / 1000
	out = localContrast(out)
	t.Local = true
	if !easy {
		out = sharpened(out)
		t.Sharp = true
	}
	return out, t
}

// lightnesses returns the L* of the subject's cells.
func lightnesses(l *photo.Linear, subject *photo.Mask) []float64 {
	var all []float64
	for i, c := range l.Cells {
		if subject == nil || subject.In[i] {
			all = append(all, lab.Lightness(lab.Luminance(c)))
		}
	}
	return all
}

// exposure returns the gain that a subject needs: 1 unless it is dim.
func exposure(subject []float64) float64 {
	p98 := plane.Quantile(subject, 0.98)
	if !(p98 < dimBelow) { // no subject at all counts as bright
		return 1
	}
	return math.Min(mostGain, lab.Lit(bright)/lab.Lit(p98))
}

// lifting returns the lift that a subject needs.
func lifting(subject []float64) float64 {
	q25 := plane.Quantile(subject, 0.25)
	if !(q25 < liftBelow) {
		return 0
	}
	return math.Min(mostLift, liftShare*(liftBelow-q25))
}

// exposed returns the picture with gain times the light. Red, green and blue
// share one factor, so hue and saturation stay; the strongest of them bends
// away from full light instead of being cut.
func exposed(l *photo.Linear, gain float64) *photo.Linear {
	if gain == 1 {
		return l
	}
	return scaled(l, func(_ int, c [3]float64) float64 {
		m := max(c[0], c[1], c[2])
		if m <= 0 {
			return 1
		}
		x := float64(gain * m)
		if x > shoulder {
			x = shoulder + float64((1-shoulder)*(1-math.Exp(-(x-shoulder)/(1-shoulder))))
		}
		return x / m
	})
}

// lifted returns the picture with the darks lifted by up to a, in L*: most at
// L* 25, nothing at black, little in the light. Cards have few colors below
// L* 15, so that dark fur would fall into one black.
func lifted(l *photo.Linear, a float64) *photo.Linear {
	if a == 0 {
		return l
	}
	return relit(l, func(_ int, v float64) float64 {
		return v + float64(float64(a*v/liftPeak)*math.Exp(1-v/liftPeak))
	})
}

// localContrast returns the picture with texture made plainer: each cell moves
// away from its surroundings, by at most 6 in L*. The surroundings are a guided
// filter of the lightness itself (K. He, J. Sun, X. Tang, IEEE PAMI 35 (2013)
// 1397-1409), which hardly reaches over edges; what still reaches over them is
// held to how far a cell differs from its own kind, but for small details (eyes).
func localContrast(l *photo.Linear) *photo.Linear {
	light := lightnesses(l, nil)
	radius := max(2, int(math.Round(localReach*float64(min(l.Cols, l.Rows)))))
	around := plane.Guided(light, l.Cols, l.Rows, radius, localEdge)
	like, share := ownKind(light, l.Cols, l.Rows, radius)
	return relit(l, func(i int, v float64) float64 {
		most := math.Abs(v-like[i]) + localSlack + float64(detailFree*math.Max(0, 1-share[i]/detailBelow))
		off := math.Max(-most, math.Min(most, v-around[i]))
		return notDeeper(v, v+float64(mostLocal*math.Tanh(localShare*off/mostLocal)))
	})
}

// ownKind returns the mean lightness of those around each cell that are of its
// own kind, on its side of any edge. What differs from its surroundings but not
// from its own kind is no texture: it lies beside something lighter or darker,
// and would get a halo. The less alike, the less one counts (by Tukey's
// biweight, so that nothing jumps); of a large neighborhood every so many cells
// are looked at. Beside it the share of its own kind among them.
func ownKind(light []float64, cols, rows, radius int) (mean, share []float64) {
	const looks = 4 // to either side
	step := (radius + looks - 1) / looks
	reach := radius / step * step
	mean, share = make([]float64, len(light)), make([]float64, len(light))
	par.Bands(rows, func(from, to int) {
		for i := from * cols; i < to*cols; i++ {
			x, y, v := i%cols, i/cols, light[i]
			sum, all, looked := 0.0, 0.0, 0.0
			for ny := y - reach; ny <= y+reach; ny += step {
				for nx := x - reach; nx <= x+reach; nx += step {
					if nx < 0 || ny < 0 || nx >= cols || ny >= rows {
						continue
					}
					looked++
					u := light[ny*cols+nx]
					d := (u - v) / ownRange
					if w := 1 - float64(d*d); w > 0 {
						w = float64(w * w)
						sum += float64(w * u)
						all += w
					}
				}
			}
			mean[i], share[i] = sum/all, all/looked
		}
	})
	return mean, share
}

// sharpened returns the picture with the luminance of each cell pushed away
// from that of its neighbors, but never more than 2 in L* beyond the lightest
// and the darkest of them and itself.
func sharpened(l *photo.Linear) *photo.Linear {
	y := make([]float64, len(l.Cells))
	for i, c := range l.Cells {
		y[i] = lab.Luminance(c)
	}
	soft := plane.Blurred(y, l.Cols, l.Rows, sharpBlur)
	return relit(l, func(i int, was float64) float64 {
		least, most := y[i], y[i]
		cx, cy := i%l.Cols, i/l.Cols
		for ny := max(0, cy-1); ny <= min(l.Rows-1, cy+1); ny++ {
			for nx := max(0, cx-1); nx <= min(l.Cols-1, cx+1); nx++ {
				least, most = min(least, y[ny*l.Cols+nx]), max(most, y[ny*l.Cols+nx])
			}
		}
		v := lab.Lightness(y[i] + float64(sharpShare*(y[i]-soft[i])))
		return notDeeper(was, math.Min(lab.Lightness(most)+sharpSlack, math.Max(lab.Lightness(least)-sharpSlack, v)))
	})
}

// notDeeper returns the new L* of a cell, but not one below deepest that is
// darker than it was.
func notDeeper(was, now float64) float64 { return math.Max(now, math.Min(was, deepest)) }

// relit gives each cell the L* that to returns for its place and its own L*.
// Red, green and blue share one factor, at most so large that none of them
// passes full light and that near-black does not become a color.
func relit(l *photo.Linear, to func(i int, lightness float64) float64) *photo.Linear {
	const mostFactor = 8
	return scaled(l, func(i int, c [3]float64) float64 {
		y, m := lab.Luminance(c), max(c[0], c[1], c[2])
		if y <= 0 || m <= 0 {
			return 1
		}
		f := lab.Lit(max(0, to(i, lab.Lightness(y)))) / y
		return min(f, max(1, 1/m), mostFactor)
	})
}

// scaled multiplies each cell by a factor. The light is rounded to
// 1/lab.LinearOne, which hides the last bit of a processor's exponentials.
func scaled(l *photo.Linear, factor func(i int, c [3]float64) float64) *photo.Linear {
	out := &photo.Linear{Cols: l.Cols, Rows: l.Rows, Cells: make([][3]float64, len(l.Cells))}
	for i, c := range l.Cells {
		f := factor(i, c)
		for k, v := range c {
			out.Cells[i][k] = math.Round(v*f*lab.LinearOne) / lab.LinearOne
		}
	}
	return out
}
