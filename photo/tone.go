package photo

import "math"

// luminance is the Y of linear light, 1 for white (IEC 61966-2-1).
func luminance(c [3]float64) float64 {
	return float64(0.2126729*c[0]) + float64(0.7151522*c[1]) + float64(0.0721750*c[2])
}

// lightness is L* of a luminance, and lit the way back (CIE 15).
func lightness(y float64) float64 {
	if y <= 216.0/24389 {
		return y * 24389 / 27
	}
	return float64(116*math.Cbrt(y)) - 16
}

func lit(l float64) float64 {
	if l <= 8 {
		return l * 27 / 24389
	}
	f := (l + 16) / 116
	return float64(f*f) * f
}
