package main

import (
	"math"

	"kitwright/lab"
)

// targets returns the colors that a card should come near to: the points of a
// cubic lattice in CIE L*a*b* that sRGB can show, and 6 x 6 x 6 sRGB values, so
// that its corners and faces are among them.
func targets(step int) []lab.Color {
	var all []lab.Color
	for l := 0; l <= 100; l += step {
		for a := -100; a <= 100; a += step {
			for b := -120; b <= 100; b += step {
				c := lab.Color{L: float64(l), A: float64(a), B: float64(b)}
				red, green, blue := c.LinearRGB()
				if math.Min(red, math.Min(green, blue)) >= -1e-6 && math.Max(red, math.Max(green, blue)) <= 1+1e-6 {
					all = append(all, c)
				}
			}
		}
	}
	for i := 0; i < 216; i++ {
		all = append(all, lab.FromSRGB([3]uint8{uint8(i / 36 * 51), uint8(i / 6 % 6 * 51), uint8(i % 6 * 51)}))
	}
	return all
}

// cost makes large distances dear: the sum of eighth powers is led by the
// largest hole and still cares for the others. Whole numbers, so that every
// machine chooses the same.
func cost(d float64) int64 {
	d2 := d * d
	d4 := d2 * d2
	return int64(math.Round(d4 * d4))
}

// choose returns the k of the chips, the first fixed ones always among them,
// that leave the least sum of cost from each target to its nearest chip, as
// far as a greedy start and exchanges of one chip for another can find. The
// indices ascend.
func choose(chips []chip, fixed, k int, to []lab.Color) []int {
	// costs[j][i]: from target i to chip j
	costs := make([][]int64, len(chips))
	for j, c := range chips {
		costs[j] = make([]int64, len(to))
		for i, p := range to {
			d := 40.0
			if math.Abs(p.L-c.lab.L) < 60 {
				d = math.Min(d, deltaE(p, c.lab))
			}
			costs[j][i] = cost(d)
		}
	}
	var chosen []int
	in := make([]bool, len(chips))
	first := make([]int64, len(to))  // cost to the nearest chosen chip
	second := make([]int64, len(to)) // and to the next
	which := make([]int, len(to))    // place in chosen of the nearest
	settle := func() {
		for i := range to {
			first[i], second[i] = math.MaxInt64, math.MaxInt64
			for s, j := range chosen {
				if c := costs[j][i]; c < first[i] {
					first[i], second[i], which[i] = c, first[i], s
				} else if c < second[i] {
					second[i] = c
				}
			}
		}
	}
	for j := 0; j < fixed; j++ {
		chosen, in[j] = append(chosen, j), true
	}
	settle()
	for len(chosen) < k {
		best, gain := -1, int64(-1)
		for j := range chips {
			if in[j] {
				continue
			}
			var g int64
			for i, c := range costs[j] {
				if c < first[i] {
					g += first[i] - c
				}
			}
			if g > gain {
				best, gain = j, g
			}
		}
		chosen, in[best] = append(chosen, best), true
		for i, c := range costs[best] {
			first[i] = min(first[i], c)
		}
	}
	settle()
	// Exchange: chip j comes in for the chosen one whose leaving costs least
	// (the removal loss shared by all candidates, as in FasterPAM: E. Schubert,
	// P. J. Rousseeuw, Information Systems 101 (2021) 101804).
	loss := make([]int64, k)
	shift := make([]int64, k)
	leave := func() {
		clear(loss)
		for i := range to {
			loss[which[i]] += second[i] - first[i]
		}
	}
	leave()
	for since, j := 0, 0; since < len(chips); j = (j + 1) % len(chips) {
		since++
		if in[j] {
			continue
		}
		copy(shift, loss)
		var gain int64
		for i, c := range costs[j] {
			if c < first[i] {
				gain += first[i] - c
				shift[which[i]] -= second[i] - first[i]
			} else if c < second[i] {
				shift[which[i]] -= second[i] - c
			}
		}
		out := -1
		for s := fixed; s < k; s++ {
			if out < 0 || shift[s] < shift[out] {
				out = s
			}
		}
		if shift[out] < gain {
			in[chosen[out]], in[j] = false, true
			chosen[out] = j
			settle()
			leave()
			since = 0
		}
	}
	return ascending(in)
}

func ascending(in []bool) []int {
	var all []int
	for j, is := range in {
		if is {
			all = append(all, j)
		}
	}
	return all
}
