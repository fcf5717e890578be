package gauge

import (
	"math"
	"slices"

	"kitwright/lab"
)

// clipped is where a channel counts as burnt out or drowned, of 255.
const (
	burnt   = 251
	drowned = 3.5
	dim     = 15 // below this a channel is less certain: the camera's own saturation may have cut it
)

// spotColor is what a window of the picture shows.
type spotColor struct {
	v       [3]float64 // the commonest color, encoded sRGB, 0 to 1
	support float64    // share of the window within .06 of it
	burnt   float64    // share of the window with a channel at 252 or more
}

// mode returns the commonest color of a window: the half-sample mode of its
// luminance as a start, then a Gaussian mean shift of width .03 in encoded
// sRGB. Of the statistics tried, this told the tables of drills from their
// bevels, gaps and glints best, by half against the median.
func mode(window [][3]float64) (s spotColor) {
	used := make([][3]float64, 0, len(window))
	for _, v := range window {
		if max(v[0], v[1], v[2])*255 >= 252 {
			s.burnt++
			continue
		}
		used = append(used, v)
	}
	s.burnt /= float64(len(window))
	if len(used)*5 < len(window)*2 { // mostly burnt out: better a wrong color, flagged, than that of the gaps
		used = append(used[:0], window...)
	}
	s.v = halfSample(used)
	const h = 0.03
	for range 15 {
		var sum [3]float64
		all := 0.0
		for _, v := range used {
			w := math.Exp(-far2(v, s.v) / (2 * h * h))
			all += w
			for c := range sum {
				sum[c] += float64(w * v[c])
			}
		}
		if all == 0 {
			break
		}
		before := s.v
		for c := range sum {
			s.v[c] = sum[c] / all
		}
		if far2(before, s.v) < 1e-12 {
			break
		}
	}
	n := 0
	for _, v := range window {
		if far2(v, s.v) < 0.06*0.06 {
			n++
		}
	}
	s.support = float64(n) / float64(len(window))
	return s
}

func far2(a, b [3]float64) float64 {
	d0, d1, d2 := a[0]-b[0], a[1]-b[1], a[2]-b[2]
	return float64(d0*d0) + float64(d1*d1) + float64(d2*d2)
}

// halfSample halves the range of luminance around its densest part until few
// samples are left, and returns their mean.
func halfSample(px [][3]float64) (v [3]float64) {
	type lit struct {
		y float64
		i int
	}
	order := make([]lit, len(px))
	for i, p := range px {
		order[i] = lit{float64(0.2126*p[0]) + float64(0.7152*p[1]) + float64(0.0722*p[2]), i}
	}
	slices.SortFunc(order, func(a, b lit) int {
		switch {
		case a.y < b.y:
			return -1
		case a.y > b.y:
			return 1
		}
		return a.i - b.i
	})
	for len(order) > 5 {
		half := (len(order) + 1) / 2
		best := 0
		for i := 0; i+half <= len(order); i++ {
			if order[i+half-1].y-order[i].y < order[best+half-1].y-order[best].y {
				best = i
			}
		}
		order = order[best : best+half]
	}
	for _, o := range order {
		for c := range v {
			v[c] += px[o.i][c] / float64(len(order))
		}
	}
	return v
}

func decodeAll(v [3]float64) (l [3]float64) {
	for c := range v {
		l[c] = lab.Decode(v[c])
	}
	return l
}

// colorOf returns the color of linear light.
func colorOf(l [3]float64) lab.Color { return lab.FromLinear(l[0], l[1], l[2]) }
