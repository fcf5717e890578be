package lab

import "math"

// Gaussian returns the weights of a Gaussian of standard deviation sigma for
// the distances 0 to reach, made to sum to 1 over -reach..reach.
func Gaussian(sigma float64, reach int) []float64 {
	kernel := make([]float64, reach+1)
	sum := 0.0
	for i := range kernel {
		kernel[i] = math.Exp(-float64(i*i) / (2 * sigma * sigma))
		sum += kernel[i]
		if i > 0 {
			sum += kernel[i]
		}
	}
	for i := range kernel {
		kernel[i] /= sum
	}
	return kernel
}
