package lab

import "math"

// Luminance is the Y of linear light in the sRGB primaries, 1 for white (the
// middle row of [RGBToXYZ]).
func Luminance(c [3]float64) float64 {
	m := &RGBToXYZ[1]
	return float64(m[0]*c[0]) + float64(m[1]*c[1]) + float64(m[2]*c[2])
}

// Lightness is L* of a luminance (CIE 15).
func Lightness(y float64) float64 {
	if y <= 216.0/24389 {
		return y * 24389 / 27
	}
	return float64(116*math.Cbrt(y)) - 16
}

// Lit is the way back: the luminance of an L*.
func Lit(l float64) float64 {
	if l <= 8 {
		return l * 27 / 24389
	}
	f := (float64(l) + 16) / 116 // l may be a product
	return float64(float64(f*f) * f)
}
