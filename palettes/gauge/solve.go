package gauge

import "math"

// solve solves linear equations, the right side in the last column, by
// elimination with the largest pivot; false where there is no single answer.
// The rows are used up.
func solve(a [][]float64) ([]float64, bool) {
	n := len(a)
	for col := range n {
		best := col
		for r := col + 1; r < n; r++ {
			if math.Abs(a[r][col]) > math.Abs(a[best][col]) {
				best = r
			}
		}
		if !(math.Abs(a[best][col]) > 1e-12) {
			return nil, false
		}
		a[col], a[best] = a[best], a[col]
		for r := range n {
			if r == col {
				continue
			}
			f := a[r][col] / a[col][col]
			for c := col; c <= n; c++ {
				a[r][c] -= float64(f * a[col][c])
			}
		}
	}
	x := make([]float64, n)
	for i := range x {
		x[i] = a[i][n] / a[i][i]
	}
	return x, true
}

// normal gathers weighted equations of n unknowns into normal equations.
type normal struct{ rows [][]float64 }

func newNormal(n int) *normal {
	m := &normal{rows: make([][]float64, n)}
	for i := range m.rows {
		m.rows[i] = make([]float64, n+1)
	}
	return m
}

func (m *normal) add(row []float64, right, weight float64) {
	for i, a := range row {
		for j, b := range row {
			m.rows[i][j] += float64(weight * float64(a*b))
		}
		m.rows[i][len(row)] += float64(weight * float64(a*right))
	}
}

// fit finds the parameters at which the sum of squares of a residual is least,
// from a beginning, by Levenberg and Marquardt with differences for slopes.
func fit(p []float64, residual func(p []float64) []float64) []float64 {
	sum := func(r []float64) (s float64) {
		for _, v := range r {
			s += float64(v * v)
		}
		return s
	}
	p = append([]float64(nil), p...)
	r := residual(p)
	cost, damp := sum(r), 1e-3
	for range 60 {
		slope := make([][]float64, len(p)) // by parameter
		for i := range p {
			step := float64(1e-6 * math.Max(1, math.Abs(p[i])))
			q := append([]float64(nil), p...)
			q[i] += step
			s := residual(q)
			for k := range s {
				s[k] = (s[k] - r[k]) / step
			}
			slope[i] = s
		}
		moved := false
		for range 12 {
			m := newNormal(len(p))
			row := make([]float64, len(p))
			for k := range r {
				for i := range p {
					row[i] = slope[i][k]
				}
				m.add(row, -r[k], 1)
			}
			for i := range p {
				m.rows[i][i] += float64(damp*m.rows[i][i]) + 1e-12
			}
			d, ok := solve(m.rows)
			if !ok {
				break
			}
			q := append([]float64(nil), p...)
			for i := range q {
				q[i] += d[i]
			}
			s := residual(q)
			if c := sum(s); c < cost {
				moved = cost-c > 1e-9*cost
				p, r, cost = q, s, c
				damp = math.Max(damp/5, 1e-9)
				break
			}
			damp *= 4
		}
		if !moved {
			break
		}
	}
	return p
}
