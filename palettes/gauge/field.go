package gauge

import "math"

// field is how the white of the sheet looks over the sheet: for each channel
// the logarithm of linear light as a polynomial of degree 2.
type field struct {
	x, y, sx, sy float64 // the middle and half size of what it was fitted to
	k            [3][6]float64
}

func (f *field) terms(p Point) [6]float64 {
	x, y := (p.X-f.x)/f.sx, (p.Y-f.y)/f.sy
	return [6]float64{1, x, y, float64(x * x), float64(x * y), float64(y * y)}
}

// at returns the white at a place, linear light.
func (f *field) at(p Point) (v [3]float64) {
	t := f.terms(p)
	for c := range v {
		sum := 0.0
		for i := range t {
			sum += float64(f.k[c][i] * t[i])
		}
		v[c] = math.Exp(sum)
	}
	return v
}

// fitField fits the field to white spots in linear light, again and again with
// less weight for what lies off (Tukey's biweight), so that a shadow's edge or
// a stray drill does not bend it.
func fitField(at []Point, light [][3]float64) (f field, ok bool) {
	if len(at) < 8 {
		return f, false
	}
	lo, hi := at[0], at[0]
	for _, p := range at {
		lo, hi = Point{min(lo.X, p.X), min(lo.Y, p.Y)}, Point{max(hi.X, p.X), max(hi.Y, p.Y)}
	}
	f.x, f.y = (lo.X+hi.X)/2, (lo.Y+hi.Y)/2
	f.sx, f.sy = max((hi.X-lo.X)/2, 1e-9), max((hi.Y-lo.Y)/2, 1e-9)
	weight := make([]float64, len(at))
	for i := range weight {
		weight[i] = 1
	}
	for range 8 {
		for c := range 3 {
			m := newNormal(6)
			for i, p := range at {
				t := f.terms(p)
				m.add(t[:], math.Log(max(light[i][c], 1e-4)), weight[i])
			}
			for i := range m.rows {
				m.rows[i][i] += 1e-6
			}
			k, solved := solve(m.rows)
			if !solved {
				return f, false
			}
			copy(f.k[c][:], k)
		}
		off := make([]float64, len(at))
		for i, p := range at {
			off[i] = f.off(p, light[i])
		}
		scale := max(median(off)*1.4826*4.685, 0.01)
		for i := range weight {
			u := off[i] / scale
			weight[i] = 0
			if u < 1 {
				weight[i] = float64((1 - float64(u*u)) * (1 - float64(u*u)))
			}
		}
	}
	return f, true
}

// off returns how far a spot lies from the field, as the largest difference of
// logarithms.
func (f *field) off(p Point, light [3]float64) (worst float64) {
	v := f.at(p)
	for c := range v {
		worst = max(worst, math.Abs(math.Log(max(light[c], 1e-4)/v[c])))
	}
	return worst
}
