package symbols

import (
	"math"

	"kitwright/lab"
)

// How easily two symbols are mistaken for each other is measured on what the
// eye gets of them: the ink of a 2.5 mm cell, blurred by printing and by an
// eye of 6/9, compared at the best of small shifts. The distance is
//
//	1 - the largest normalized cross-correlation
//
// 0 for the same shape, about 1 for two that have nothing in common, more
// when ink stands where the other is blank. On Noto Sans Bold it puts E and F
// at .08, O and Q at .08, P and R at .09: below .10 people do confuse, from
// .20 on they hardly do. Template correlation is the ideal observer's measure
// for a known signal in white noise (Green and Swets, Signal Detection Theory
// and Psychophysics, 1966, chapter 6). It is a screen, not a forecast of
// error rates.
const (
	grid   = 30 // pixels in the side of a cell: 1/12 mm each
	fine   = 8  // points in the side of a pixel
	border = 6  // empty pixels around the cell, for the blur to run into
	span   = grid + 2*border
	blurMM = 0.13 // standard deviation of ink spread and eye together
	cellMM = 2.5
)

// shifts are the moves, in pixels, over which the best match counts: up to
// .18 mm, what people do not notice in a printed cell.
var shifts = [][2]int{
	{0, 0}, {0, 1}, {1, 0}, {0, -1}, {-1, 0}, {1, 1}, {1, -1}, {-1, 1}, {-1, -1},
	{0, 2}, {2, 0}, {0, -2}, {-2, 0},
}

// View is what the eye gets of a symbol: the blurred ink of its cell and a
// border, with mean 0 and length 1.
type View [span * span]float64

// View returns the symbol as seen at the usual size.
func (s Symbol) View() *View { return s.ViewAt(Box, blurMM) }

// ViewAt returns the symbol as seen when it may fill box of the side of its
// cell and the blur has a standard deviation of blur millimeters.
func (s Symbol) ViewAt(box, blur float64) *View {
	v := new(View)
	for i, n := range s.ink(grid, fine, box) {
		v[(i/grid+border)*span+i%grid+border] = float64(n) / (fine * fine)
	}
	v.blur(blur * grid / cellMM)
	v.normalize()
	return v
}

// blur spreads the ink by a Gaussian of sigma pixels, cut off at 4 sigma, with
// nothing coming in from outside.
func (v *View) blur(sigma float64) {
	radius := int(float64(4*sigma) + 0.5)
	kernel := lab.Gaussian(sigma, radius)
	for range 2 { // along the rows, turned over; again, turned back
		var out View
		for y := range span {
			for x := range span {
				if v[y*span+x] == 0 {
					continue
				}
				for to := max(0, x-radius); to <= min(span-1, x+radius); to++ {
					out[to*span+y] += float64(v[y*span+x] * kernel[abs(to-x)])
				}
			}
		}
		*v = out
	}
}

func (v *View) normalize() {
	mean := 0.0
	for _, a := range v {
		mean += a
	}
	mean /= span * span
	length := 0.0
	for i := range v {
		v[i] -= mean
		length += float64(v[i] * v[i])
	}
	length = math.Sqrt(length)
	for i := range v {
		v[i] /= length
	}
}

// turn returns the view turned by a quarter.
func (v *View) turn() *View {
	out := new(View)
	for y := range span {
		for x := range span {
			out[x*span+span-1-y] = v[y*span+x]
		}
	}
	return out
}

// Mirror returns the view as in a mirror.
func (v *View) Mirror() *View {
	out := new(View)
	for y := range span {
		for x := range span {
			out[y*span+span-1-x] = v[y*span+x]
		}
	}
	return out
}

// Distance tells how far a is from b, both held upright.
func (v *View) Distance(b *View) float64 {
	best := -1.0
	for _, s := range shifts {
		best = max(best, v.match(b, s[0], s[1]))
	}
	return 1 - best
}

// Turned tells how far a is from b at the most alike of four quarter turns.
func (v *View) Turned(b *View) float64 {
	d := v.Distance(b)
	for range 3 {
		b = b.turn()
		d = min(d, v.Distance(b))
	}
	return d
}

// Mirrored tells how far a is from b, turned and mirrored at will.
func (v *View) Mirrored(b *View) float64 { return min(v.Turned(b), v.Turned(b.Mirror())) }

// match is the correlation of v with b moved by dx and dy. What leaves on one
// side comes back on the other; there is only border there.
func (v *View) match(b *View, dx, dy int) float64 {
	sum := 0.0
	for y := range span {
		from := (y - dy + span) % span * span
		line := v[y*span : (y+1)*span]
		other := b[from : from+span]
		if dx >= 0 {
			sum += dot(line[dx:], other[:span-dx]) + dot(line[:dx], other[span-dx:])
		} else {
			sum += dot(line[:span+dx], other[-dx:]) + dot(line[span+dx:], other[:-dx])
		}
	}
	return sum
}

func dot(a, b []float64) float64 {
	sum := 0.0
	for i, x := range a {
		sum += float64(x * b[i])
	}
	return sum
}

func abs(i int) int { return max(i, -i) }
