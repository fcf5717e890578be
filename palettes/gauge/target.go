package gauge

import (
	_ "embed"
	"encoding/csv"
	"math"
	"strconv"
	"strings"

	"kitwright/lab"
)

//go:embed target.csv
var targetCSV string

// Target is the edition of a 24-patch target: the reference values differ.
type Target int

// The editions, by the year from which targets are made by them.
const (
	NoTarget   Target = 0
	Target2005 Target = 2005
	Target2014 Target = 2014 // from November 2014 on
)

// reference returns the 24 colors, row by row from dark skin, D65.
func (t Target) reference() (out [24]lab.Color) {
	r := csv.NewReader(strings.NewReader(targetCSV))
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		panic(err) // the table is carried along and tested
	}
	at := 2
	if t == Target2014 {
		at = 5
	}
	for i := range out {
		var v [3]float64
		for c := range v {
			v[c], _ = strconv.ParseFloat(rows[i+1][at+c], 64)
		}
		out[i] = lab.Relative(v[0], v[1], v[2], lab.D50)
	}
	return out
}

// targetPatches are the middles of the patches, a unit apart, and the corners
// that the four patches at the ends make: dark skin, bluish green, black,
// white.
func targetPatches() (patches [24]Rect, corners [4]Point) {
	for i := range patches {
		patches[i] = Rect{float64(i%6) - 0.25, float64(i/6) - 0.25, 0.5, 0.5}
	}
	return patches, [4]Point{{0, 0}, {5, 0}, {5, 3}, {0, 3}}
}

// sample is a target's patch: what the picture shows, and the white there.
type sample struct {
	v   [3]float64 // encoded
	at  Point      // on the sheet, for the field
	ref lab.Color
}

// curve undoes a camera's tone curve before the one of sRGB is undone:
// u(v) = v + (1-v)(c + v(a + b(2v-1))).
type curve [3]float64

func (q curve) of(v float64) float64 {
	return v + float64((1-v)*(q[0]+float64(v*(q[1]+float64(q[2]*(2*v-1))))))
}

func (q curve) light(v [3]float64) (l [3]float64) {
	for c := range v {
		l[c] = lab.Decode(q.of(v[c]))
	}
	return l
}

// rises says whether the curve is a curve: never falling from black to white.
func (q curve) rises() bool {
	before := q.of(0)
	for i := 1; i <= 100; i++ {
		now := q.of(float64(i) / 100)
		if now <= before {
			return false
		}
		before = now
	}
	return true
}

// model turns what a picture shows into color.
type model struct {
	q    curve
	m    [9]float64   // linear light relative to white paper -> XYZ
	root *[18]float64 // instead of m where it is better: of r, g, b, √rg, √rb, √gb
}

// srgbMatrix is m for a picture that is right as it is.
var srgbMatrix = func() (m [9]float64) {
	for c := range 3 {
		var unit [3]float64
		unit[c] = 1
		x, y, z := lab.FromLinear(unit[0], unit[1], unit[2]).XYZ()
		m[c], m[3+c], m[6+c] = x, y, z
	}
	return m
}()

// xyz returns the color of light relative to white paper.
func (m *model) xyz(x [3]float64) (out [3]float64) {
	if m.root != nil {
		t := roots(x)
		for i := range out {
			for j := range t {
				out[i] += float64(m.root[6*i+j] * t[j])
			}
		}
		return out
	}
	for i := range out {
		for j := range x {
			out[i] += float64(m.m[3*i+j] * x[j])
		}
	}
	return out
}

func (m *model) color(x [3]float64) lab.Color {
	v := m.xyz(x)
	return lab.FromXYZ(max(v[0], 0), max(v[1], 0), max(v[2], 0))
}

// roots are the terms of a root polynomial of degree 2 (G. D. Finlayson, M.
// Mackiewicz, A. Hurlbert 2015): they scale with the light, as plain
// polynomials do not.
func roots(x [3]float64) [6]float64 {
	r, g, b := max(x[0], 0), max(x[1], 0), max(x[2], 0)
	return [6]float64{x[0], x[1], x[2], math.Sqrt(float64(r * g)), math.Sqrt(float64(r * b)), math.Sqrt(float64(g * b))}
}

// weights makes up for CIELab's too large steps in strong colors.
func weights(ref lab.Color) [3]float64 {
	c := 1 / (1 + float64(0.045*math.Hypot(ref.A, ref.B)))
	return [3]float64{1, c, c}
}
