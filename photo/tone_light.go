package photo

import (
	"math"
	"slices"
)

// quantile returns the value below which a share q of the values lies (the
// nearest of them, none for no values); it sorts them.
func quantile(values []float64, q float64) float64 {
	if len(values) == 0 {
		return math.NaN()
	}
	slices.Sort(values)
	return values[min(len(values)-1, int(math.Floor(q*float64(len(values)-1)+0.5)))]
}

// guided is the guided filter of a plane by itself.
func guided(p []float64, cols, rows, radius int, eps float64) []float64 {
	square := make([]float64, len(p))
	for i, v := range p {
		square[i] = v * v
	}
	mean, mean2 := boxed(p, cols, rows, radius), boxed(square, cols, rows, radius)
	a, b := make([]float64, len(p)), make([]float64, len(p))
	for i, m := range mean {
		variance := math.Max(0, mean2[i]-float64(m*m))
		a[i] = variance / (variance + eps)
		b[i] = m - float64(a[i]*m)
	}
	a, b = boxed(a, cols, rows, radius), boxed(b, cols, rows, radius)
	out := make([]float64, len(p))
	for i, v := range p {
		out[i] = float64(a[i]*v) + b[i]
	}
	return out
}

// boxed returns the mean over the square of 2 radius + 1 cells around each, as
// far as it lies inside.
func boxed(p []float64, cols, rows, radius int) []float64 {
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

// blurred is a Gaussian blur; the edge cells stand for what is beyond them.
func blurred(p []float64, cols, rows int, sigma float64) []float64 {
	reach := int(math.Ceil(4 * sigma))
	kernel := make([]float64, reach+1)
	sum := 0.0
	for i := range kernel {
		kernel[i] = math.Exp(-float64(i*i) / (2 * sigma * sigma))
		sum += kernel[i]
		if i > 0 {
			sum += kernel[i]
		}
	}
	line := func(p []float64, n, lines, step, next int) []float64 {
		out := make([]float64, len(p))
		for k := 0; k < lines; k++ {
			for i := 0; i < n; i++ {
				v := float64(kernel[0] * p[k*next+i*step])
				for j := 1; j <= reach; j++ {
					v += float64(kernel[j] * (p[k*next+max(0, i-j)*step] + p[k*next+min(n-1, i+j)*step]))
				}
				out[k*next+i*step] = v / sum
			}
		}
		return out
	}
	return line(line(p, cols, rows, 1, cols), rows, cols, cols, 1)
}

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
