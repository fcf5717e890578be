package gauge

import "slices"

// median returns the middle value, 0 of none.
func median(v []float64) float64 { return quantile(v, 0.5) }

// quantile returns the value below which a share of the values lies.
func quantile(v []float64, share float64) float64 {
	if len(v) == 0 {
		return 0
	}
	s := slices.Clone(v)
	slices.Sort(s)
	return s[min(int(share*float64(len(s))), len(s)-1)]
}

func mean(v []float64) float64 {
	if len(v) == 0 {
		return 0
	}
	sum := 0.0
	for _, x := range v {
		sum += x
	}
	return sum / float64(len(v))
}
