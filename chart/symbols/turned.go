package symbols

import (
	"math"
	"slices"
)

// AssignTurned is Assign for a canvas that is turned while it is worked on: from
// the named symbols it takes those that are farthest apart whichever way each is
// held, and what it makes small is the risk of mixing them up so.
func AssignTurned(n int, weight func(i, j int) float64) []Symbol {
	return assign(n, turnProof(n), turned, weight)
}

// ExtendTurned is Extend for symbols of AssignTurned.
func ExtendTurned(have []Symbol, avoid map[rune]bool, weight func(i, j int) float64) []Symbol {
	return extend(have, avoid, turned, weight)
}

// turnProof returns n of the named symbols, by their indices, that stay apart
// when they are turned: of the two most alike, the one that is also more like
// others goes, until n are left. More than are named are the first n.
func turnProof(n int) []int {
	if n >= Named {
		return first(n)
	}
	in := first(Named)
	for len(in) > n {
		a, b, least := 0, 0, math.MaxInt
		for i, s := range in {
			for k, t := range in[:i] {
				if d := int(turned[s][t]); d < least {
					a, b, least = k, i, d
				}
			}
		}
		if second(in, b) <= second(in, a) { // ties keep the earlier symbol
			a = b
		}
		in = slices.Delete(in, a, a+1)
	}
	return in
}

// second returns the second least distance of one of some symbols, turned, to
// the others.
func second(in []int, of int) int {
	low, next := math.MaxInt, math.MaxInt
	for i, s := range in {
		d := int(turned[in[of]][s])
		switch {
		case i == of:
		case d < low:
			low, next = d, low
		case d < next:
			next = d
		}
	}
	return next
}
