package icc

import (
	"encoding/binary"
	"math"
)

// Fixed16 reads an s15Fixed16Number.
func Fixed16(b []byte) float64 { return float64(int32(binary.BigEndian.Uint32(b))) / 65536 }

// ParseCurve reads a curve (ICC.1:2022, 10.6 curveType, 10.18
// parametricCurveType) as a function from 0..1 to 0..1, and its length in
// bytes without filling.
func ParseCurve(tag []byte) (f func(float64) float64, length int, err error) {
	if len(tag) < 12 {
		return nil, 0, ErrBroken
	}
	switch string(tag[:4]) {
	case "curv":
		n := int64(binary.BigEndian.Uint32(tag[8:]))
		if 12+2*n > int64(len(tag)) {
			return nil, 0, ErrBroken
		}
		length = 12 + 2*int(n)
		switch n {
		case 0:
			return func(v float64) float64 { return Clamp01(v) }, length, nil
		case 1:
			bend := power(float64(binary.BigEndian.Uint16(tag[12:])) / 256)
			return func(v float64) float64 { return Clamp01(bend(Clamp01(v))) }, length, nil
		}
		table := make([]float64, n)
		for i := range table {
			table[i] = float64(binary.BigEndian.Uint16(tag[12+2*i:])) / 65535
		}
		return Tabled(table), length, nil
	case "para":
		kind := int(binary.BigEndian.Uint16(tag[8:]))
		counts := []int{1, 3, 4, 5, 7}
		if kind >= len(counts) || len(tag) < 12+4*counts[kind] {
			return nil, 0, ErrBroken
		}
		var v [7]float64
		for i := range counts[kind] {
			v[i] = Fixed16(tag[12+4*i:])
		}
		return parametric(kind, v), 12 + 4*counts[kind], nil
	}
	return nil, 0, ErrBroken
}

// Tabled is a curve through equally spaced values, straight between them.
func Tabled(table []float64) func(float64) float64 {
	last := len(table) - 1
	return func(v float64) float64 {
		at := float64(Clamp01(v) * float64(last))
		i := min(int(at), last)
		if i == last {
			return table[last]
		}
		return table[i] + float64((at-float64(i))*(table[i+1]-table[i]))
	}
}

// parametric returns the curves of ICC.1:2022, table 68, in its letters.
func parametric(kind int, v [7]float64) func(float64) float64 {
	g, a, b, c, d, e, f := v[0], v[1], v[2], v[3], v[4], v[5], v[6]
	bend := func(x float64) float64 { return math.Pow(math.Max(float64(a*x)+b, 0), g) }
	var y func(float64) float64
	switch kind {
	case 0:
		y = power(g)
	case 1:
		y = func(x float64) float64 {
			if float64(a*x)+b >= 0 {
				return bend(x)
			}
			return 0
		}
	case 2:
		y = func(x float64) float64 {
			if float64(a*x)+b >= 0 {
				return bend(x) + c
			}
			return c
		}
	case 3:
		y = func(x float64) float64 {
			if x >= d {
				return bend(x)
			}
			return c * x
		}
	default:
		y = func(x float64) float64 {
			if x >= d {
				return bend(x) + e
			}
			return float64(c*x) + f
		}
	}
	return func(x float64) float64 { return Clamp01(y(Clamp01(x))) }
}

// Clamp01 cuts a number to 0..1; what is no number becomes 0.
func Clamp01(v float64) float64 {
	if !(v > 0) {
		return 0
	}
	return math.Min(v, 1)
}

// power is the curve of an exponent.
func power(g float64) func(float64) float64 {
	return func(v float64) float64 { return math.Pow(v, g) }
}
