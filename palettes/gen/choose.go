package main

import (
	"math"
	"slices"

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

// far is where distances stop to count: a target with no chip within it costs
// as if one stood there.
const far = 15

// reach is what a chip costs the targets within far of it, and no others.
type reach []struct {
	target int
	cost   int64
}

func reaches(chips []chip, to []lab.Color) []reach {
	all := make([]reach, len(chips))
	for j, c := range chips {
		for i, p := range to {
			// CIEDE2000 divides a difference of L by 1.75 at most.
			if math.Abs(p.L-c.lab.L) >= far*1.75 {
				continue
			}
			if d := lab.DeltaE(p, c.lab); d < far {
				all[j] = append(all[j], struct {
					target int
					cost   int64
				}{i, cost(d)})
			}
		}
	}
	return all
}

// cover is a choice of chips and what it costs each target.
type cover struct {
	reach  []reach
	chosen []int
	in     []bool
	first  []int64 // target -> cost of its nearest chosen chip
	second []int64 // and of the next
	which  []int   // place in chosen of the nearest, -1 for none within far
	loss   []int64 // place in chosen -> what its leaving costs
}

// settle finds the nearest two chosen chips of every target.
func (c *cover) settle() {
	for i := range c.first {
		c.first[i], c.second[i], c.which[i] = cost(far), cost(far), -1
	}
	for s, j := range c.chosen {
		for _, r := range c.reach[j] {
			if i := r.target; r.cost < c.first[i] {
				c.first[i], c.second[i], c.which[i] = r.cost, c.first[i], s
			} else if r.cost < c.second[i] {
				c.second[i] = r.cost
			}
		}
	}
	c.loss = make([]int64, len(c.chosen))
	for i, s := range c.which {
		if s >= 0 {
			c.loss[s] += c.second[i] - c.first[i]
		}
	}
}

// add takes the chip that relieves the targets most.
func (c *cover) add() {
	best, most := -1, int64(-1)
	for j := range c.reach {
		if c.in[j] {
			continue
		}
		var gain int64
		for _, r := range c.reach[j] {
			gain += max(0, c.first[r.target]-r.cost)
		}
		if gain > most {
			best, most = j, gain
		}
	}
	c.chosen, c.in[best] = append(c.chosen, best), true
	for _, r := range c.reach[best] {
		c.first[r.target] = min(c.first[r.target], r.cost)
	}
}

// exchange lets chip j in for the chosen one, none of the first fixed, whose
// leaving costs least, if that pays. (All leavings are weighed at once, as in
// FasterPAM: E. Schubert, P. J. Rousseeuw, Information Systems 101 (2021)
// 101804.)
func (c *cover) exchange(j, fixed int) bool {
	shift := append([]int64(nil), c.loss...)
	var gain int64
	for _, r := range c.reach[j] {
		i := r.target
		if r.cost < c.first[i] {
			gain += c.first[i] - r.cost
		}
		if s := c.which[i]; s >= 0 && r.cost < c.second[i] {
			shift[s] -= c.second[i] - max(r.cost, c.first[i])
		}
	}
	out := fixed
	for s := fixed; s < len(shift); s++ {
		if shift[s] < shift[out] {
			out = s
		}
	}
	if shift[out] >= gain {
		return false
	}
	c.in[c.chosen[out]], c.in[j] = false, true
	c.chosen[out] = j
	c.settle()
	return true
}

// choose returns the k of the chips, the first fixed ones always among them,
// that leave the least sum of cost from each target to its nearest chip, as
// far as a greedy start and exchanges of one chip for another can find. The
// indices ascend.
func choose(chips []chip, fixed, k int, to []lab.Color) []int {
	c := &cover{reach: reaches(chips, to), in: make([]bool, len(chips)),
		first: make([]int64, len(to)), second: make([]int64, len(to)), which: make([]int, len(to))}
	for j := 0; j < fixed; j++ {
		c.chosen, c.in[j] = append(c.chosen, j), true
	}
	c.settle()
	for len(c.chosen) < k {
		c.add()
	}
	c.settle()
	for tried, j := 0, 0; tried < len(chips); j = (j + 1) % len(chips) {
		tried++
		if !c.in[j] && c.exchange(j, fixed) {
			tried = 0
		}
	}
	slices.Sort(c.chosen)
	return c.chosen
}
