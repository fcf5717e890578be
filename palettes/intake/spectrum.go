package intake

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

// observer is the CIE 1931 observer with two illuminants, every 5 nm.
type observer struct {
	from, step float64
	xyz        [][3]float64
	d50, d65   []float64
}

var cie1931 = func() (o observer) {
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
		o.xyz = append(o.xyz, [3]float64{v[1], v[2], v[3]})
		o.d50, o.d65 = append(o.d50, v[4]), append(o.d65, v[5])
	}
	first, _ := strconv.ParseFloat(rows[1][0], 64)
	second, _ := strconv.ParseFloat(rows[2][0], 64)
	o.from, o.step = first, second-first
	return o
}()

// spectrum is the reflectance of a color at even steps of wavelength, 1 being
// all light.
type spectrum struct {
	from, step float64
	value      []float64
}

// usable says whether it reaches over what the eye sees well enough: 400 to
// 700 nm in steps of at most 20 nm.
func (s spectrum) usable() bool {
	if len(s.value) < 2 || s.step <= 0 || s.step > 20 {
		return false
	}
	for _, v := range s.value {
		if !(v > -0.1 && v < 3) { // CxF's own range; fluorescent colors pass 1
			return false
		}
	}
	return s.from <= 410 && s.from+s.step*float64(len(s.value)-1) >= 690
}

// at interpolates by Lagrange's cubic, as ASTM E2022 does; beyond its ends the
// spectrum stays as it is there (ASTM E308).
func (s spectrum) at(nm float64) float64 {
	n := len(s.value)
	x := (nm - s.from) / s.step
	switch {
	case x <= 0:
		return s.value[0]
	case x >= float64(n-1):
		return s.value[n-1]
	case n < 4:
		i := int(x)
		t := x - float64(i)
		return s.value[i] + float64(t*(s.value[i+1]-s.value[i]))
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
		sum += float64(w * s.value[i+j])
	}
	return sum
}

// under returns XYZ under an illuminant given every 5 nm, Y of the perfect
// white being 1, and the illuminant's own XYZ.
func (o observer) under(light []float64, reflect func(nm float64) float64) (xyz, white [3]float64) {
	for i, bar := range o.xyz {
		v := reflect(o.from + o.step*float64(i))
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

// color returns the color under D65 for the CIE 1931 observer. No adaptation
// is needed: the light is the one that our colors are relative to. The white
// of the 5 nm table is brought to the standard's (a change of .0002 at most).
func (s spectrum) color() lab.Color {
	xyz, white := cie1931.under(cie1931.d65, s.at)
	return lab.FromXYZ(xyz[0]*lab.White[0]/white[0], xyz[1], xyz[2]*lab.White[2]/white[2])
}
