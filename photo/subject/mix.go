package subject

import (
	"math"

	"kitwright/lab"
)

// mixture is five Gaussians that together describe the colors of one side.
type mixture [5]gaussian

// gaussian is one of them: its mean, the inverse of its covariance (upper
// triangle by rows), and the logarithm of its share over the root of the
// determinant.
type gaussian struct {
	mean    [3]float64
	inverse [6]float64
	height  float64
}

// spread is added to each variance, in squared Lab units: colors of one flat
// area are still taken to vary by about one unit.
const spread = 1.0

// cost is how badly a color fits: the negative logarithm of the density of the
// Gaussian that it fits best, up to a constant.
func (m *mixture) cost(c lab.Color) float64 {
	best := math.Inf(-1)
	for k := range m {
		g := &m[k]
		u, v, w := c.L-g.mean[0], c.A-g.mean[1], c.B-g.mean[2]
		q := float64(g.inverse[0]*u*u) + float64(g.inverse[3]*v*v) + float64(g.inverse[5]*w*w) +
			float64(2*(float64(g.inverse[1]*u*v)+float64(g.inverse[2]*u*w)+float64(g.inverse[4]*v*w)))
		best = math.Max(best, g.height-float64(q/2))
	}
	return -best
}

// mix fits five Gaussians to colors, of which there is at least one: k-means
// from points that each lie farthest from those before, then one Gaussian for
// each group.
func mix(colors []lab.Color) (m mixture) {
	group := kmeans(colors)
	var sums [len(m)]struct{ n, l, a, b, ll, la, lb, aa, ab, bb float64 }
	for i, c := range colors {
		s := &sums[group[i]]
		s.n++
		s.l += c.L
		s.a += c.A
		s.b += c.B
		s.ll += float64(c.L * c.L)
		s.la += float64(c.L * c.A)
		s.lb += float64(c.L * c.B)
		s.aa += float64(c.A * c.A)
		s.ab += float64(c.A * c.B)
		s.bb += float64(c.B * c.B)
	}
	for k := range m {
		s := sums[k]
		if s.n == 0 {
			m[k].height = math.Inf(-1)
			continue
		}
		l, a, b := s.l/s.n, s.a/s.n, s.b/s.n
		m[k] = newGaussian(s.n/float64(len(colors)), [3]float64{l, a, b}, [6]float64{
			s.ll/s.n - float64(l*l) + spread, s.la/s.n - float64(l*a), s.lb/s.n - float64(l*b),
			s.aa/s.n - float64(a*a) + spread, s.ab/s.n - float64(a*b),
			s.bb/s.n - float64(b*b) + spread,
		})
	}
	return m
}

// newGaussian takes a share, a mean and a covariance (upper triangle by rows).
func newGaussian(share float64, mean [3]float64, v [6]float64) gaussian {
	minor := func(a, b, c, d float64) float64 { return float64(a*d) - float64(b*c) }
	m0 := minor(v[3], v[4], v[4], v[5])
	m1 := minor(v[2], v[1], v[5], v[4])
	m2 := minor(v[1], v[2], v[3], v[4])
	det := float64(v[0]*m0) + float64(v[1]*m1) + float64(v[2]*m2)
	return gaussian{mean, [6]float64{
		m0 / det, m1 / det, m2 / det,
		minor(v[0], v[2], v[2], v[5]) / det, minor(v[1], v[0], v[4], v[2]) / det,
		minor(v[0], v[1], v[1], v[3]) / det,
	}, math.Log(share / math.Sqrt(det))}
}

// kmeans returns the group, of five, that each color belongs to.
func kmeans(colors []lab.Color) []uint8 {
	const groups = len(mixture{})
	distance := func(p, q lab.Color) float64 {
		u, v, w := p.L-q.L, p.A-q.A, p.B-q.B
		return float64(u*u) + float64(v*v) + float64(w*w)
	}
	mean := func(in func(i int) bool) (c lab.Color, n int) {
		for i, p := range colors {
			if in(i) {
				c.L, c.A, c.B = c.L+p.L, c.A+p.A, c.B+p.B
				n++
			}
		}
		if n > 0 {
			c = lab.Color{L: c.L / float64(n), A: c.A / float64(n), B: c.B / float64(n)}
		}
		return c, n
	}
	var centers [groups]lab.Color
	far := make([]float64, len(colors))
	center, _ := mean(func(int) bool { return true })
	for k := range centers {
		next := 0
		for i, p := range colors {
			if d := distance(p, center); k <= 1 || d < far[i] {
				far[i] = d
			}
			if far[i] > far[next] {
				next = i
			}
		}
		center = colors[next]
		centers[k] = center
	}
	group := make([]uint8, len(colors))
	for round := 0; round < 8; round++ {
		moved := false
		for i, p := range colors {
			best := 0
			least := distance(p, centers[0])
			for k := 1; k < groups; k++ {
				if d := distance(p, centers[k]); d < least {
					best, least = k, d
				}
			}
			if group[i] != uint8(best) {
				group[i], moved = uint8(best), true
			}
		}
		if !moved && round > 0 {
			break
		}
		for k := range centers {
			if c, n := mean(func(i int) bool { return group[i] == uint8(k) }); n > 0 {
				centers[k] = c
			}
		}
	}
	return group
}
