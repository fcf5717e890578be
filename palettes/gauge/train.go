package gauge

import (
	"math"

	"kitwright/lab"
)

// trained is a model with how well it does on patches it has not seen.
type trained struct {
	model
	field  field
	used   int     // patches
	mean   float64 // of the left-out patches, CIEDE2000
	p95    float64
	rooted bool
}

// whites is what the light's field is fitted to.
type whites struct {
	at []Point
	v  [][3]float64 // encoded
}

func (w whites) field(q curve) (field, bool) {
	light := make([][3]float64, len(w.v))
	for i, v := range w.v {
		light[i] = q.light(v)
	}
	return fitField(w.at, light)
}

// train fits tone curve and matrix to a target's patches, then tries a root
// polynomial, and keeps what does better on patches left out. The field of the
// light is fitted anew with each curve.
func train(patches []sample, w whites, paper [3]float64) (t trained, ok bool) {
	base, f, ok := fitJoint(patches, w, paper, 3)
	if !ok {
		return t, false
	}
	best := trained{model: base, field: f, used: len(patches), mean: math.Inf(1)}
	models := make([]model, len(patches)) // without patch i
	fields := make([]field, len(patches))
	for i := range patches {
		models[i], fields[i], ok = fitJoint(without(patches, i), w, paper, 1)
		if !ok {
			return t, false
		}
	}
	for _, ridge := range []float64{-1, 1e-4, 1e-3, 1e-2, 1e-1} {
		miss := make([]float64, len(patches))
		for i, p := range patches {
			m := models[i]
			if ridge > 0 {
				m.root = fitRoots(without(patches, i), m, fields[i], paper, ridge)
			}
			miss[i] = lab.DeltaE(m.color(relative(m.q, fields[i], paper, p.v, p.at)), p.ref)
		}
		// A more bendable model has to earn it.
		if e := mean(miss); e < best.mean-0.02 {
			best.mean, best.p95 = e, quantile(miss, 0.95)
			best.root = nil
			if ridge > 0 {
				best.root = fitRoots(patches, base, f, paper, ridge)
			}
			best.rooted = ridge > 0
		}
	}
	return best, true
}

func without(p []sample, i int) []sample {
	out := make([]sample, 0, len(p)-1)
	return append(append(out, p[:i]...), p[i+1:]...)
}

// relative returns linear light relative to white paper.
func relative(q curve, f field, paper, v [3]float64, at Point) (x [3]float64) {
	white := f.at(at)
	l := q.light(v)
	for c := range x {
		x[c] = l[c] / white[c] * paper[c]
	}
	return x
}

// fitJoint fits curve and matrix together. A curve that would fall somewhere
// is fitted again without its bend, and then not at all.
func fitJoint(patches []sample, w whites, paper [3]float64, rounds int) (m model, f field, ok bool) {
	for _, free := range []int{3, 2, 0} {
		m = model{m: srgbMatrix}
		for range rounds + 1 {
			if f, ok = w.field(m.q); !ok {
				return m, f, false
			}
			m = fitOnce(patches, m, f, paper, free)
		}
		if f, ok = w.field(m.q); !ok {
			return m, f, false
		}
		if m.q.rises() {
			break
		}
	}
	return m, f, true
}

// fitOnce fits free parameters of the curve and the matrix under a field.
func fitOnce(patches []sample, from model, f field, paper [3]float64, free int) model {
	unpack := func(p []float64) (m model) {
		copy(m.q[:free], p)
		copy(m.m[:], p[free:])
		return m
	}
	begin := append(append([]float64(nil), from.q[:free]...), from.m[:]...)
	soft := [3]float64{0.03, 0.3, 0.3} // how large the curve's parameters usually are
	p := fit(begin, func(p []float64) []float64 {
		m := unpack(p)
		r := make([]float64, 0, 3*len(patches)+len(p))
		for _, s := range patches {
			c := m.color(relative(m.q, f, paper, s.v, s.at))
			w := weights(s.ref)
			r = append(r, w[0]*(c.L-s.ref.L), w[1]*(c.A-s.ref.A), w[2]*(c.B-s.ref.B))
		}
		for i := range free {
			r = append(r, 0.5*m.q[i]/soft[i])
		}
		for i := range m.m {
			r = append(r, 2*(m.m[i]-srgbMatrix[i]))
		}
		return r
	})
	return unpack(p)
}

// fitRoots fits a root polynomial to differences of Lab made straight at the
// reference, with a ridge toward the matrix of sRGB.
func fitRoots(patches []sample, m model, f field, paper [3]float64, ridge float64) *[18]float64 {
	n := newNormal(18)
	var scale [6]float64
	for _, s := range patches {
		t := roots(relative(m.q, f, paper, s.v, s.at))
		for j := range t {
			scale[j] += float64(t[j]*t[j]) / float64(len(patches))
		}
		x, y, z := s.ref.XYZ()
		xyz := [3]float64{x, y, z}
		w := weights(s.ref)
		slope := labSlope(xyz)
		for k := range 3 {
			row := make([]float64, 18)
			right := 0.0
			for i := range 3 {
				a := w[k] * slope[k][i]
				for j := range t {
					row[6*i+j] = a * t[j]
				}
				right += float64(a * xyz[i])
			}
			n.add(row, right, 1)
		}
	}
	for i := range 3 {
		for j := range 6 {
			prior := 0.0
			if j < 3 {
				prior = srgbMatrix[3*i+j]
			}
			// Lab moves by some hundreds as XYZ moves by 1.
			a := float64(ridge * 1e4 * float64(len(patches)) * max(scale[j], 1e-6))
			n.rows[6*i+j][6*i+j] += a
			n.rows[6*i+j][18] += float64(a * prior)
		}
	}
	x, ok := solve(n.rows)
	if !ok {
		return nil
	}
	var out [18]float64
	copy(out[:], x)
	return &out
}

// labSlope returns how L, a and b change with X, Y and Z.
func labSlope(xyz [3]float64) (s [3][3]float64) {
	const step = 1e-5
	at := lab.FromXYZ(xyz[0], xyz[1], xyz[2])
	for i := range 3 {
		v := xyz
		v[i] += step
		c := lab.FromXYZ(v[0], v[1], v[2])
		s[0][i], s[1][i], s[2][i] = (c.L-at.L)/step, (c.A-at.A)/step, (c.B-at.B)/step
	}
	return s
}
