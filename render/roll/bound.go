package roll

import (
	"math/bits"
	"slices"
)

// A length is refuted where two functions show it. A function f on lengths up
// to C is dual feasible if parts that together fit into C have values that
// together fit into f(C). For such an f of the roll's width and g of its
// length, the sum of f(w)·g(h) over all items cannot be over f(W)·g(H) (Fekete,
// Schepers: A general framework for bounds for higher-dimensional orthogonal
// packing problems, Math. Meth. Oper. Res. 60, 2004). An item that may be turned
// counts by the lesser of its two ways.
//
// The functions are those of that paper and of Carlier, Clautiaux, Moukrim: New
// reduction procedures and lower bounds for the two-dimensional bin packing
// problem with fixed orientation, Comput. Oper. Res. 34 (2007), all as whole
// numbers and from memory; a test tries each against its definition.

// dual is a dual feasible function: its values for sizes that were given, and
// for the whole.
type dual struct {
	of    []int64
	whole int64
}

// mostSteps is up to how many steps a size is rounded to.
const mostSteps = 12

// duals returns functions for parts of the given sizes, ascending and distinct,
// of which there are number[i] at most, and a whole that none is over.
func duals(sizes []int64, number []int64, whole int64) []dual {
	var out []dual
	add := func(all int64, f func(x int64) int64) {
		if all <= 0 {
			return
		}
		d := dual{make([]int64, len(sizes)), all}
		for i, x := range sizes {
			d.of[i] = f(x)
		}
		out = append(out, d)
	}
	add(whole, func(x int64) int64 { return x })
	for k := int64(1); k <= mostSteps; k++ { // x rounded to multiples of 1/(k+1)
		add(k*whole, func(x int64) int64 {
			if (k+1)*x%whole == 0 {
				return k * x
			}
			return (k + 1) * x / whole * whole
		})
	}
	var limits []int64
	for _, x := range sizes {
		if 2*x > whole {
			x = whole - x + 1
		}
		if 2*x <= whole {
			limits = append(limits, x)
		}
	}
	slices.Sort(limits)
	for _, p := range slices.Compact(limits) {
		add(whole, func(x int64) int64 { // small ones are nothing, large ones all
			switch {
			case x > whole-p:
				return whole
			case x < p:
				return 0
			}
			return x
		})
		add(2*(whole/p), func(x int64) int64 { // counted in steps of p
			switch {
			case 2*x > whole:
				return 2 * (whole/p - (whole-x)/p)
			case 2*x == whole:
				return whole / p
			}
			return 2 * (x / p)
		})
		most := func(room int64) (n int64) { // how many from p to a half fit
			for i, x := range sizes {
				if x < p || 2*x > whole {
					continue
				}
				take := min(number[i], room/x)
				n, room = n+take, room-take*x
			}
			return n
		}
		add(most(whole), func(x int64) int64 {
			switch {
			case 2*x > whole:
				return most(whole) - most(whole-x)
			case x >= p:
				return 1
			}
			return 0
		})
	}
	return out
}

// kind is items that are alike.
type kind struct {
	ways  []way
	items []int
}

func (k kind) count() int64 { return int64(len(k.items)) }

// kinds gathers the items that are alike, in the order of their first.
func (p *packing) kinds() []kind {
	var out []kind
	at := map[Item]int{}
	for n, it := range p.items {
		if it.Turn && it.W > it.H {
			it.W, it.H = it.H, it.W
		}
		i, ok := at[it]
		if !ok {
			i = len(out)
			at[it] = i
			out = append(out, kind{ways: p.ways(it)})
		}
		out[i].items = append(out[i].items, n)
	}
	return out
}

// sides returns the distinct sides up to most that items can have in one
// direction, how many items can have each, and which side each way of each kind
// has: -1 for one that is longer.
func sides(kinds []kind, most int64, side func(way) int64) (sizes, number []int64, of []int) {
	count := map[int64]int64{}
	for _, k := range kinds {
		for _, w := range k.ways {
			if s := side(w); s <= most {
				count[s] += k.count()
			}
		}
	}
	for s := range count {
		sizes = append(sizes, s)
	}
	slices.Sort(sizes)
	for _, s := range sizes {
		number = append(number, count[s])
	}
	for _, k := range kinds {
		for _, w := range k.ways {
			at, ok := slices.BinarySearch(sizes, side(w))
			if !ok {
				at = -1
			}
			of = append(of, at)
		}
	}
	return sizes, number, of
}

// simpleBound is the area by the width, or the longest item.
func (p *packing) simpleBound() int64 {
	var area, tall int64
	for _, k := range p.kinds() {
		least := k.ways[0].h
		for _, w := range k.ways {
			least = min(least, w.h)
		}
		area += k.count() * k.ways[0].w * k.ways[0].h
		tall = max(tall, least)
	}
	return max(tall, (area+p.width-1)/p.width)
}

// refutation looks for functions that show that a length is too short.
type refutation struct {
	kinds  []kind
	width  int64
	across []dual
	wide   []int // which width each way of each kind has
}

func (p *packing) refutation() *refutation {
	r := &refutation{kinds: p.kinds(), width: p.width}
	sizes, number, of := sides(r.kinds, p.width, func(w way) int64 { return w.w })
	r.across, r.wide = duals(sizes, number, p.width), of
	return r
}

// shows says whether no laying is as short as length.
func (r *refutation) shows(length int64) bool {
	sizes, number, high := sides(r.kinds, length, func(w way) int64 { return w.h })
	for _, g := range duals(sizes, number, length) {
		for _, f := range r.across {
			if r.exceeds(f, g, high) {
				return true
			}
		}
	}
	return false
}

// exceeds says whether the values of all items are over that of the whole, or
// an item has no way left.
func (r *refutation) exceeds(f, g dual, high []int) bool {
	roomHi, roomLo := bits.Mul64(uint64(f.whole), uint64(g.whole))
	var hi, lo, carry uint64
	at := 0
	for _, k := range r.kinds {
		least := int64(-1)
		for range k.ways {
			if h := high[at]; h >= 0 {
				if v := f.of[r.wide[at]] * g.of[h]; least < 0 || v < least {
					least = v
				}
			}
			at++
		}
		if least < 0 {
			return true
		}
		h, l := bits.Mul64(uint64(least), uint64(k.count()))
		lo, carry = bits.Add64(lo, l, 0)
		hi, _ = bits.Add64(hi, h, carry)
	}
	return hi > roomHi || hi == roomHi && lo > roomLo
}

// bound returns a length that no laying is below, at most known, which is one
// that there is.
func (p *packing) bound(known int64) int64 {
	r := p.refutation()
	low := p.simpleBound()
	// Items can be pushed down until they touch: then the length is a sum of
	// sides.
	sums := subsetSums(r.kinds, known, func(w way) int64 { return w.h })
	if sums == nil { // too many: try every length
		for high := known; low < high; {
			if mid := low + (high-low)/2; r.shows(mid) {
				low = mid + 1
			} else {
				high = mid
			}
		}
		return min(low, known)
	}
	at, _ := slices.BinarySearch(sums, low)
	for end := len(sums) - 1; at < end; {
		if mid := (at + end) / 2; r.shows(sums[mid]) {
			at = mid + 1
		} else {
			end = mid
		}
	}
	return min(sums[min(at, len(sums)-1)], known)
}

// mostSums is how many sums of sides are looked at.
const mostSums = 20_000

// subsetSums returns the sums of sides of items, each item once at most and in
// one of its ways, ascending from 0 to most; nil if there are too many.
func subsetSums(kinds []kind, most int64, side func(way) int64) []int64 {
	sums := []int64{0}
	for _, k := range kinds {
		for range k.items {
			var more []int64
			for _, w := range k.ways {
				for _, s := range sums {
					if s+side(w) <= most {
						more = append(more, s+side(w))
					}
				}
			}
			before := len(sums)
			sums = append(sums, more...)
			slices.Sort(sums)
			if sums = slices.Compact(sums); len(sums) > mostSums {
				return nil
			} else if len(sums) == before {
				break
			}
		}
	}
	return sums
}
