// Package spectral turns reflectance into color: the CIE 1931 observer and the
// illuminants D50 and D65, every 5 nm, as observer.csv cites them.
//
// Begin with [Spectrum.Color].
package spectral

import (
	_ "embed"
	"encoding/csv"
	"math"
	"strconv"
	"strings"

	"kitwright/lab"
)

//go:embed observer.csv
var observerCSV string

// Observer is a standard observer with two illuminants, at even steps of
// wavelength.
type Observer struct {
	From, Step float64 // nm
	XYZ        [][3]float64
	D50, D65   []float64
}

// CIE1931 is the 2 degree observer, 360 to 830 nm.
var CIE1931 = func() (o Observer) {
	r := csv.NewReader(strings.NewReader(observerCSV))
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		panic(err) // the table is carried along and tested
	}
	for _, row := range rows[1:] {
		var v [6]float64
		for i := range v {
			v[i], _ = strconv.ParseFloat(row[i], 64)
		}
		o.XYZ = append(o.XYZ, [3]float64{v[1], v[2], v[3]})
		o.D50, o.D65 = append(o.D50, v[4]), append(o.D65, v[5])
	}
	first, _ := strconv.ParseFloat(rows[1][0], 64)
	second, _ := strconv.ParseFloat(rows[2][0], 64)
	o.From, o.Step = first, second-first
	return o
}()

// Spectrum is the reflectance of a color at even steps of wavelength, 1 being
// all light.
type Spectrum struct {
	From, Step float64 // nm
	Value      []float64
}

// Usable says whether it reaches over what the eye sees well enough: 400 to
// 700 nm in steps of at most 20 nm.
func (s Spectrum) Usable() bool {
	if len(s.Value) < 2 || s.Step <= 0 || s.Step > 20 {
		return false
	}
	for _, v := range s.Value {
		if !(v > -0.1 && v < 3) { // CxF's own range; fluorescent colors pass 1
			return false
		}
	}
	return s.From <= 410 && s.From+float64(s.Step*float64(len(s.Value)-1)) >= 690
}

// At interpolates by Lagrange's cubic, as ASTM E2022 does; beyond its ends the
// spectrum stays as it is there (ASTM E308).
func (s Spectrum) At(nm float64) float64 {
	n := len(s.Value)
	x := (nm - s.From) / s.Step
	switch {
	case x <= 0:
		return s.Value[0]
	case x >= float64(n-1):
		return s.Value[n-1]
	case n < 4:
		i := int(x)
		t := x - float64(i)
		return s.Value[i] + float64(t*(s.Value[i+1]-s.Value[i]))
	}
	i := min(max(int(math.Floor(x))-1, 0), n-4)
	sum := 0.0
	for j := range 4 {
		w := 1.0
		for k := range 4 {
			if k != j {
				w *= (x - float64(i+k)) / float64(j-k)
			}
		}
		sum += float64(w * s.Value[i+j])
	}
	return sum
}

// Under returns XYZ under an illuminant given every 5 nm, Y of the perfect
// white being 1, and the illuminant's own XYZ.
func (o Observer) Under(light []float64, reflect func(nm float64) float64) (xyz, white [3]float64) {
	for i, bar := range o.XYZ {
		v := reflect(o.From + float64(o.Step*float64(i)))
		for c := range 3 {
			w := float64(bar[c] * light[i])
			white[c] += w
			xyz[c] += float64(w * v)
		}
	}
	for c := range 3 {
		xyz[c] /= white[1]
	}
	white[0], white[1], white[2] = white[0]/white[1], 1, white[2]/white[1]
	return xyz, white
}

// Color returns the color under D65 for the CIE 1931 observer. No adaptation
// is needed: the light is the one that our colors are relative to. The white
// of the 5 nm table is brought to the standard's (a change of .0002 at most).
func (s Spectrum) Color() lab.Color {
	xyz, white := CIE1931.Under(CIE1931.D65, s.At)
	return lab.FromXYZ(xyz[0]*lab.White[0]/white[0], xyz[1], xyz[2]*lab.White[2]/white[2])
}
