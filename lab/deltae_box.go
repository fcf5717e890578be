package lab

import "math"

// Box is a part of L*a*b* space with sides along the axes, made by [Box.Add].
// It tells cheaply and surely that none of its colors can be near another one:
// CIEDE2000 is no metric, so no triangle inequality would do that.
type Box struct {
	loL, hiL, loA, hiA, loB, hiB float64
	chroma                       float64 // largest
	blue                         bool    // may hold hues within 90 degrees of 275
	full                         bool
}

// Add makes the box large enough for p.
func (b *Box) Add(p Point) {
	if !b.full {
		*b = Box{loL: p.L, hiL: p.L, loA: p.A, hiA: p.A, loB: p.B, hiB: p.B, full: true}
	}
	b.loL, b.hiL = min(b.loL, p.L), max(b.hiL, p.L)
	b.loA, b.hiA = min(b.loA, p.A), max(b.hiA, p.A)
	b.loB, b.hiB = min(b.loB, p.B), max(b.hiB, p.B)
	a, c := max(-b.loA, b.hiA), max(-b.loB, b.hiB)
	b.chroma = math.Sqrt(float64(a*a) + float64(c*c))
	b.blue = bluish(b.hiA, b.loB)
}

// bluish tells whether a hue can lie within 90 degrees of 275, whatever G is.
func bluish(a, b float64) bool {
	return float64(max(a, 1.5*a)*cos275)+float64(b*sin275) > -1e-9
}

// Beyond tells that every color of the box surely differs from p by more than
// d: DeltaE, as computed here, is above d. False means that it may not.
//
// Of the formula it keeps
//
//	dE^2 >= (dL/SL)^2 + q (da^2 + db^2) / SC^2
//
// with the least dL, da, db and the largest SL and SC that the box allows.
// That holds, for SL <= 1 + 0.015 |mean L - 50|; G only draws a apart, so
// dC'^2 + dH'^2 >= da^2 + db^2; T < 1.94 makes SH <= SC; the mean C' is at most
// (1+G) times the mean C, which grows with C; and the rotation term takes away
// at most |RT|/2 of what it mixes, RT being nothing outside the blues.
func (b *Box) Beyond(p Point, d float64) bool {
	dl := max(0, b.loL-p.L, p.L-b.hiL)
	da := max(0, b.loA-p.A, p.A-b.hiA)
	db := max(0, b.loB-p.B, p.B-b.hiB)
	l := 1 + float64(0.0075*max(p.L+b.hiL-100, 100-p.L-b.loL))
	q := boxScale[min(len(boxScale)-1, int((b.chroma+p.C)*0.5)+1)]
	k := q.plain
	if b.blue || bluish(p.A, p.B) {
		k = q.blue
	}
	d += 1e-3 // far more than the error of DeltaE and of this
	return float64(dl*dl)+float64((float64(da*da)+float64(db*db))*k*(l*l)) > d*d*(l*l)
}

// boxScale holds q/SC^2 for mean chromas up to i, and for any in its last entry.
var boxScale = func() (t [400]struct{ plain, blue float64 }) {
	for i := range t {
		c := float64(i)
		c = (1.5 - float64(0.5*chroma7(c))) * c
		if i == len(t)-1 {
			c = 1e6
		}
		sc := 1 + float64(0.045*c)
		t[i].plain = (1 - 1e-5) / (sc * sc)
		t[i].blue = (1 - float64(0.8661*chroma7(c))) / (sc * sc)
	}
	return t
}()
