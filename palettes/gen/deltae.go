package main

import (
	"math"

	"kitwright/lab"
)

// deltaE is CIEDE2000 as G. Sharma, W. Wu and E. N. Dalal write it (Color
// Research and Application 30 (2005) 21), all weights 1.
func deltaE(p, q lab.Color) float64 {
	const rad = math.Pi / 180
	c1, c2 := math.Hypot(p.A, p.B), math.Hypot(q.A, q.B)
	c7 := math.Pow((c1+c2)/2, 7)
	g := 0.5 * (1 - math.Sqrt(c7/(c7+6103515625)))
	a1, a2 := (1+g)*p.A, (1+g)*q.A
	c1, c2 = math.Hypot(a1, p.B), math.Hypot(a2, q.B)
	hue := func(b, a float64) float64 {
		if a == 0 && b == 0 {
			return 0
		}
		h := math.Atan2(b, a) / rad
		if h < 0 {
			h += 360
		}
		return h
	}
	h1, h2 := hue(p.B, a1), hue(q.B, a2)
	dh := h2 - h1
	hm := h1 + h2
	switch {
	case c1*c2 == 0:
		dh = 0
	case math.Abs(dh) <= 180:
		hm /= 2
	case hm < 360:
		hm = (hm + 360) / 2
	default:
		hm = (hm - 360) / 2
	}
	if c1*c2 != 0 {
		if dh > 180 {
			dh -= 360
		} else if dh < -180 {
			dh += 360
		}
	}
	dH := 2 * math.Sqrt(c1*c2) * math.Sin(dh/2*rad)
	lm, cm := (p.L+q.L)/2, (c1+c2)/2
	t := 1 - 0.17*math.Cos((hm-30)*rad) + 0.24*math.Cos(2*hm*rad) + 0.32*math.Cos((3*hm+6)*rad) - 0.2*math.Cos((4*hm-63)*rad)
	l50 := (lm - 50) * (lm - 50)
	sl := 1 + 0.015*l50/math.Sqrt(20+l50)
	sc := 1 + 0.045*cm
	sh := 1 + 0.015*cm*t
	cm7 := math.Pow(cm, 7)
	rt := -2 * math.Sqrt(cm7/(cm7+6103515625)) * math.Sin(60*rad*math.Exp(-((hm-275)/25)*((hm-275)/25)))
	x, y, z := (q.L-p.L)/sl, (c2-c1)/sc, dH/sh
	return math.Sqrt(x*x + y*y + z*z + rt*y*z)
}
