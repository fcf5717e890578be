package lab

import "math"

// DeltaE returns the visible difference of two colors, CIEDE2000 with
// kL = kC = kH = 1: about 1 is the least a trained eye sees side by side.
//
// Source: G. Sharma, W. Wu, E. N. Dalal, "The CIEDE2000 color-difference
// formula: implementation notes, supplementary test data, and mathematical
// observations", Color Research and Application 30 (2005) 21-30, whose reading
// of the mean hue is followed. It is symmetric, but not a metric: the triangle
// inequality fails now and then, and it jumps where hues lie 180 degrees apart.
func DeltaE(a, b Color) float64 { return PointOf(a).DeltaE(PointOf(b)) }

// Point is a Color with its chroma beside it: the form for loops that compare
// many pairs.
type Point struct{ L, A, B, C float64 }

// PointOf returns the color with its chroma.
func PointOf(c Color) Point {
	return Point{c.L, c.A, c.B, math.Sqrt(float64(c.A*c.A) + float64(c.B*c.B))}
}

// Cosines and sines of the fixed angles in the formula, degrees in the names.
const (
	cos30, sin30   = 0.86602540378443864676, 0.5
	cos6, sin6     = 0.99452189536827333692, 0.10452846326765347140
	cos63, sin63   = 0.45399049973954679156, 0.89100652418836786236
	cos275, sin275 = 0.08715574274765817356, -0.99619469809174553230

	pow25to7 = 6103515625.0 // 25^7
)

// DeltaE is [DeltaE] for colors whose chroma is known. It gives the same bits
// for either order of the two.
func (p Point) DeltaE(q Point) float64 { return p.Within(q, math.Inf(1)) }

// Within is [Point.DeltaE], or infinite where that surely is above d: most of
// what is above d is told with half the work.
//
// No angle is ever computed. The mean hue is the direction of the bisector of
// the two hues, its multiples follow from the addition theorems, the sign of
// the hue difference is that of the cross product, and the exponential in the
// rotation term comes from a table. Products are wrapped in float64 so that no
// processor fuses them into the sums.
//
// long: one formula, step by step as it is published
func (p Point) Within(q Point, d float64) float64 {
	// a' = (1+G) a draws grays apart.
	g := 1.5 - float64(0.5*chroma7((p.C+q.C)*0.5))
	a1, a2 := float64(g*p.A), float64(g*q.A)
	b1, b2 := p.B, q.B
	c1 := math.Sqrt(float64(a1*a1) + float64(b1*b1))
	c2 := math.Sqrt(float64(a2*a2) + float64(b2*b2))

	l := float64((p.L+q.L)*0.5) - 50
	l = float64(l * l)
	x := (p.L - q.L) / (1 + float64(0.015*l)/math.Sqrt(20+l))
	cm := (c1 + c2) * 0.5
	dc := c2 - c1
	y := dc / (1 + float64(0.045*cm))
	e := float64(x*x) + float64(y*y)

	area := float64(c1 * c2)
	if area == 0 {
		return math.Sqrt(e) // a gray has no hue to differ in
	}
	da, db := a2-a1, b2-b1
	dh := float64(da*da) + float64(db*db) - float64(dc*dc)
	if dh <= 0 {
		return math.Sqrt(e) // one hue; below zero by rounding only
	}
	if !math.IsInf(d, 1) {
		// T < 1.94, so no S_H is larger, and what the rotation term takes away in
		// the blues is known, too: see Box.Beyond.
		rest := 1.
		if bluish(p.A, p.B) || bluish(q.A, q.B) {
			rest = 1 - float64(0.8661*chroma7(cm))
		}
		d += 1e-3 // far more than the error of this
		most := 1 + float64(0.0292*cm)
		if float64((float64(x*x)+float64(rest*y*y)-float64(d*d))*most*most)+float64(rest*dh) > 0 {
			return math.Inf(1)
		}
	}
	cross := float64(a1*b2) - float64(a2*b1)
	dot := float64(a1*a2) + float64(b1*b2)

	// cos and sin of the mean hue.
	var cos, sin float64
	switch {
	case dot >= 0:
		n := 1 / math.Sqrt(2*area*(area+dot))
		cos = (float64(a1*c2) + float64(a2*c1)) * n
		sin = (float64(b1*c2) + float64(b2*c1)) * n
	case cross != 0:
		// Far apart the sum of the two directions cancels; their difference,
		// turned by 90 degrees, does not.
		n := 1 / math.Sqrt(2*area*(area-dot))
		if cross < 0 {
			n = -n
		}
		cos = (float64(b2*c1) - float64(b1*c2)) * n
		sin = (float64(a1*c2) - float64(a2*c1)) * n
	default:
		// Exactly 180 degrees apart the paper takes the mean of the two
		// angles in [0, 360): 90 degrees past the one below 180.
		n := 1 / c1
		cross = 1
		if b1 < 0 || (b1 == 0 && a1 < 0) {
			n, cross = -n, -1
		}
		cos, sin = -b1*n, a1*n
	}

	cos2, sin2 := 2*float64(cos*cos)-1, 2*cos*sin
	cos3, sin3 := float64(cos2*cos)-float64(sin2*sin), float64(sin2*cos)+float64(cos2*sin)
	cos4, sin4 := 2*float64(cos2*cos2)-1, 2*cos2*sin2
	t := 1 - float64(0.17*(float64(cos*cos30)+float64(sin*sin30))) +
		float64(0.24*cos2) +
		float64(0.32*(float64(cos3*cos6)-float64(sin3*sin6))) -
		float64(0.20*(float64(cos4*cos63)+float64(sin4*sin63)))
	sh := 1 + float64(0.015*cm*t)
	e += dh / float64(sh*sh)

	// The rotation term counts in the blues only. The paper does not wrap
	// the angle, so hues just above 0 degrees stay out.
	if sin < 0 {
		if near := float64(cos*cos275) + float64(sin*sin275); near > 0 {
			z := math.Sqrt(dh) / sh
			if cross < 0 {
				z = -z
			}
			e -= float64(2 * chroma7(cm) * rotation(near) * y * z)
		}
	}
	if e <= 0 {
		return 0
	}
	return math.Sqrt(e)
}

// chroma7 is sqrt(c^7 / (c^7 + 25^7)): 0 for grays, near 1 for vivid colors.
func chroma7(c float64) float64 {
	c2 := c * c
	c7 := float64(c2 * c2 * c2 * c)
	return math.Sqrt(c7 / (c7 + pow25to7))
}

// rotationSteps is chosen so that straight lines between the entries stay
// within 1e-6 of the curve, which moves no DeltaE by 1e-4 (tested).
const rotationSteps = 4096

// rotationTable holds sin(60 degrees * exp(-(d/25)^2)) for cos(d) = i/rotationSteps,
// rounded to 1/2^24 so that every machine has the same entries.
var rotationTable = func() (t [rotationSteps + 2]float32) {
	for i := range t {
		d := math.Acos(math.Min(1, float64(i)/rotationSteps)) * 180 / math.Pi / 25
		v := math.Sin(math.Pi / 3 * math.Exp(-float64(d*d)))
		t[i] = float32(math.Round(v*(1<<24)) / (1 << 24))
	}
	return t
}()

// rotation returns sin(2 dTheta) of the paper for the cosine of the angle
// between the mean hue and 275 degrees, which lies in (0, 1].
func rotation(cos float64) float64 {
	v := float64(cos * rotationSteps)
	i := min(int(v), rotationSteps)
	lo, hi := float64(rotationTable[i]), float64(rotationTable[i+1])
	return lo + float64((hi-lo)*(v-float64(i)))
}
