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
//	dE^2 >= (dL/SL)^2 + q ((1+G)^2 da^2 + db^2) / SC^2
//
// with the least dL, da, db and G and the largest SL and SC that the box
// allows. That holds, for SL <= 1 + 0.015 |mean L - 50|; G draws both a apart
// alike, and dC'^2 + dH'^2 is the square of what then lies between them;
// T < 1.94 makes SH <= SC; the mean C' is at most (1+G) times the mean C, which
// grows with C; and the rotation term takes away at most |RT|/2 of what it
// mixes, RT being nothing outside the blues.
func (b *Box) Beyond(p Point, d float64) bool {
	dl := max(0, b.loL-p.L, p.L-b.hiL)
	da := max(0, b.loA-p.A, p.A-b.hiA)
	db := max(0, b.loB-p.B, p.B-b.hiB)
	return beyond(dl, da, db, max(p.L+b.hiL-100, 100-p.L-b.loL), (b.chroma+p.C)*0.5, b.blue || bluish(p.A, p.B), d)
}

// Beyond tells that two colors surely differ by more than d, as [Box.Beyond]
// does.
func (p Point) Beyond(q Point, d float64) bool {
	return beyond(p.L-q.L, p.A-q.A, p.B-q.B, math.Abs(p.L+q.L-100), (p.C+q.C)*0.5, bluish(p.A, p.B) || bluish(q.A, q.B), d)
}

// beyond is told the differences, twice how far the mean L may lie from 50, the
// largest mean C, and whether there may be blues.
func beyond(dl, da, db, fromMiddle, chroma float64, blue bool, d float64) bool {
	l := 1 + float64(0.0075*fromMiddle)
	q := &boxScale[min(len(boxScale)-1, int(chroma*boxFine)+1)]
	k := q.plain
	if blue {
		k = q.blue
	}
	d += 1e-3 // far more than the error of DeltaE and of this
	return float64(dl*dl)+float64((float64(q.apart*da*da)+float64(db*db))*k*(l*l)) > d*d*(l*l)
}

// boxFine is the number of entries of boxScale to a unit of chroma.
const boxFine = 4

// boxScale holds q/SC^2 for mean chromas up to i/boxFine, and for any in its
// last entry, and (1+G)^2 for mean chromas no higher.
var boxScale = func() (t [400 * boxFine]struct{ plain, blue, apart float64 }) {
	for i := range t {
		c := float64(i) / boxFine
		g := 1.5 - float64(0.5*chroma7(c))
		c, t[i].apart = g*c, (1-1e-5)*g*g
		if i == len(t)-1 {
			c, t[i].apart = 1e6, 1
		}
		sc := 1 + float64(0.045*c)
		t[i].plain = (1 - 1e-5) / (sc * sc)
		t[i].blue = (1 - float64(0.8661*chroma7(c))) / (sc * sc)
	}
	return t
}()
