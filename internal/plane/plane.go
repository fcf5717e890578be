// Package plane works on planes of numbers, row by row from the top left: box
// means, Gaussian blur, the guided filter, quantiles.
package plane

import (
	"math"
	"slices"

	"kitwright/lab"
)

// Quantile returns the value below which a share q of the values lies (the
// nearest of them, none for no values); it sorts them.
func Quantile(values []float64, q float64) float64 {
	if len(values) == 0 {
		return math.NaN()
	}
	slices.Sort(values)
	return values[min(len(values)-1, int(math.Floor(float64(q*float64(len(values)-1))+0.5)))]
}

// Guided is the guided filter of a plane by itself.
func Guided(p []float64, cols, rows, radius int, eps float64) []float64 {
	square := make([]float64, len(p))
	for i, v := range p {
		square[i] = v * v
	}
	mean, mean2 := Boxed(p, cols, rows, radius), Boxed(square, cols, rows, radius)
	a, b := make([]float64, len(p)), make([]float64, len(p))
	for i, m := range mean {
		variance := math.Max(0, mean2[i]-float64(m*m))
		a[i] = variance / (variance + eps)
		b[i] = m - float64(a[i]*m)
	}
	a, b = Boxed(a, cols, rows, radius), Boxed(b, cols, rows, radius)
	out := make([]float64, len(p))
	for i, v := range p {
		out[i] = float64(a[i]*v) + b[i]
	}
	return out
}

// Boxed returns the mean over the square of 2 radius + 1 cells around each, as
// far as it lies inside.
func Boxed(p []float64, cols, rows, radius int) []float64 {
	line := func(p []float64, n, lines, step, next int) []float64 {
		out := make([]float64, len(p))
		for k := 0; k < lines; k++ {
			for i := 0; i < n; i++ {
				lo, hi := max(0, i-radius), min(n-1, i+radius)
				sum := 0.0
				for j := lo; j <= hi; j++ {
					sum += p[k*next+j*step]
				}
				out[k*next+i*step] = sum / float64(hi-lo+1)
			}
		}
		return out
	}
	return line(line(p, cols, rows, 1, cols), rows, cols, cols, 1)
}

// Blurred is a Gaussian blur; the edge cells stand for what is beyond them.
func Blurred(p []float64, cols, rows int, sigma float64) []float64 {
	reach := int(math.Ceil(4 * sigma))
	kernel := lab.Gaussian(sigma, reach)
	line := func(p []float64, n, lines, step, next int) []float64 {
		out := make([]float64, len(p))
		for k := 0; k < lines; k++ {
			for i := 0; i < n; i++ {
				v := float64(kernel[0] * p[k*next+i*step])
				for j := 1; j <= reach; j++ {
					v += float64(kernel[j] * (p[k*next+max(0, i-j)*step] + p[k*next+min(n-1, i+j)*step]))
				}
				out[k*next+i*step] = v
			}
		}
		return out
	}
	return line(line(p, cols, rows, 1, cols), rows, cols, cols, 1)
}
