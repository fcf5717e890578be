package quantize

import (
	"math"
	"slices"

	"kitwright/internal/par"
)

// table is a p-median problem in sparse form: clients that each want a near
// facility, facilities of which k may be open. Client i lists facilities with
// what they cost it, nearest first, ties by index. Costs carry the client's
// weight already, so clients that list the same facilities in the same order
// can be added up.
type table struct {
	m     int     // facilities are 0..m-1
	start []int32 // the list of client i is entries start[i] to start[i+1]
	fac   []uint16
	cost  []int64

	// end[i] is a lower bound of the cost of client i when no listed
	// facility is open: not below its last listed cost, not above the cost
	// of any facility that it does not list. Where it lists all, it is its
	// largest cost.
	end []int64
	// weight[i] is the size of the client, for the scale of steps only.
	weight []float64

	// row gives the exact cost of any client at any facility, and how far off it
	// is; or the largest numbers there are, where the cost surely is above that
	// of a facility that is off by within. nil where end is exact, or good
	// enough.
	row func(i, j, within int32) (cost int64, off int32)

	name  []int32 // facility j is called name[j] by whoever asked
	point []int32 // client i is point[i] of a level
}

func (t *table) clients() int { return len(t.end) }

// names returns what facilities are called, indices what is called so.
func (t *table) names(open []int32) []int32 {
	names := make([]int32, len(open))
	for k, j := range open {
		names[k] = t.name[j]
	}
	return names
}

func (t *table) indices(names []int32) []int32 {
	open := make([]int32, len(names))
	for k, name := range names {
		j, _ := slices.BinarySearch(t.name, name)
		open[k] = int32(j)
	}
	return open
}

// list returns the facilities that client i lists and their costs.
func (t *table) list(i int) ([]uint16, []int64) {
	lo, hi := t.start[i], t.start[i+1]
	return t.fac[lo:hi], t.cost[lo:hi:hi]
}

// served is what an open set does for the clients: each one's nearest and
// second nearest open facility (as a slot in the set) and their costs.
type served struct {
	open   []int32 // slot -> facility
	slot   []int32 // facility -> slot, or -1
	n1, n2 []int32 // client -> slot, or -1 for none listed
	e1, e2 []int32 // client -> entry of its list, or where the list ends: what costs less is listed before it, what costs more is not
	d1, d2 []int64
	cost   int64
}

// serve works out who serves whom when exactly the given facilities are open.
func (t *table) serve(open []int32) *served {
	n := t.clients()
	s := &served{
		open: append([]int32(nil), open...), slot: make([]int32, t.m),
		n1: make([]int32, n), n2: make([]int32, n), e1: make([]int32, n), e2: make([]int32, n), d1: make([]int64, n), d2: make([]int64, n),
	}
	t.again(s)
	return s
}

// again brings s up to date after a change of s.open.
func (t *table) again(s *served) {
	for j := range s.slot {
		s.slot[j] = -1
	}
	for k, j := range s.open {
		s.slot[j] = int32(k)
	}
	s.cost = t.sum(func(_, lo, hi int) (sum int64) {
		for i := lo; i < hi; i++ {
			t.nearest(s, i)
			sum += s.d1[i]
		}
		return sum
	})
}

// nearest finds the two nearest open facilities of client i.
func (t *table) nearest(s *served, i int) {
	lo, hi := t.start[i], t.start[i+1]
	n1, e1, d1 := int32(-1), hi, t.end[i]
	slot := s.slot
	for q, j := range t.fac[lo:hi] {
		k := slot[j]
		if k < 0 {
			continue
		}
		p := lo + int32(q)
		if n1 < 0 {
			n1, e1, d1 = k, p, t.cost[p]
			continue
		}
		s.n1[i], s.e1[i], s.d1[i] = n1, e1, d1
		s.n2[i], s.e2[i], s.d2[i] = k, p, t.cost[p]
		return
	}
	n2, d2 := int32(-1), t.end[i]
	if t.row != nil {
		n1, d1, n2, d2 = t.search(s, i)
	}
	s.n1[i], s.e1[i], s.d1[i] = n1, e1, d1
	s.n2[i], s.e2[i], s.d2[i] = n2, hi, d2
}

// search is nearest for a client whose list is too short.
func (t *table) search(s *served, i int) (n1 int32, d1 int64, n2 int32, d2 int64) {
	n1, n2, d1, d2 = -1, -1, math.MaxInt64, math.MaxInt64
	u1, u2 := int32(math.MaxInt32), int32(math.MaxInt32)
	for k, j := range s.open {
		switch d, u := t.row(int32(i), j, u2); {
		case d < d1 || d == d1 && n1 >= 0 && j < s.open[n1]:
			n2, d2, u2 = n1, d1, u1
			n1, d1, u1 = int32(k), d, u
		case d < d2 || d == d2 && n2 >= 0 && j < s.open[n2]:
			n2, d2, u2 = int32(k), d, u
		}
	}
	if n2 < 0 {
		d2 = max(d1, t.end[i])
	}
	return n1, d1, n2, d2
}

// price returns the cost of an open set, exact where the table is.
func (t *table) price(open []int32) int64 {
	is := make([]bool, t.m)
	for _, j := range open {
		is[j] = true
	}
	return t.sum(func(_, lo, hi int) (sum int64) {
		for i := lo; i < hi; i++ {
			sum += t.first(i, is, open)
		}
		return sum
	})
}

// first returns the cost of client i at the nearest open facility.
func (t *table) first(i int, is []bool, open []int32) int64 {
	lo := t.start[i]
	for q, j := range t.fac[lo:t.start[i+1]] {
		if is[j] {
			return t.cost[lo+int32(q)]
		}
	}
	if t.row == nil {
		return t.end[i]
	}
	d, within := int64(math.MaxInt64), int32(math.MaxInt32)
	for _, j := range open {
		if at, u := t.row(int32(i), j, within); at < d {
			d, within = at, u
		}
	}
	return d
}

// chunks is how many parts long loops are cut into: a fixed number, so that
// sums of floats are added in the same order on any number of cores.
const chunks = 16

// parallel runs f on fixed parts of 0..n-1, on several cores where n is worth
// it. f may write only what belongs to its part.
func parallel(n, worth int, f func(part, lo, hi int)) {
	if n < worth {
		for p := range chunks {
			f(p, n*p/chunks, n*(p+1)/chunks)
		}
		return
	}
	par.Rows(chunks, func(p int) { f(p, n*p/chunks, n*(p+1)/chunks) })
}

// split runs f on fixed parts of the clients, on several cores where there is
// enough to do.
func (t *table) split(f func(part, lo, hi int)) {
	const enough = 20000 // list entries and clients
	if n := t.clients(); n+len(t.fac) < enough {
		parallel(n, n+1, f)
	} else {
		parallel(n, 0, f)
	}
}

// sum adds up what f returns for the parts of the clients.
func (t *table) sum(f func(part, lo, hi int) int64) int64 {
	var part [chunks]int64
	t.split(func(p, lo, hi int) { part[p] = f(p, lo, hi) })
	sum := int64(0)
	for _, s := range part {
		sum += s
	}
	return sum
}

// whole cuts off the fraction and keeps within what int64 can add up.
func whole(v float64) int64 {
	const most = 1 << 50
	switch {
	case v > most:
		return most
	case v > -most:
		return int64(v)
	}
	return -most
}
