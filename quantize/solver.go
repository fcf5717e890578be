package quantize

import (
	"context"
	"math"
	"slices"
)

// solver looks for the best open set of a table and a proof that it is one.
type solver struct {
	root   *table
	plan   plan
	limits limits
	report func(cost, bound int64)
	unit   int64 // every cost of an open set is a multiple of it

	best  []int32 // facilities of root, ascending
	cost  int64   // what best costs, exact
	bound int64   // proven for the whole problem so far
	loose int64   // least bound of the parts given up
	work  int64   // list entries that bounding steps have looked at
	seen  map[string]bool
	room  room
}

// offer considers an open set of root.
func (s *solver) offer(open []int32) {
	open = sorted(slices.Clone(open))
	key := make([]byte, 0, 4*len(open))
	for _, j := range open {
		key = append(key, byte(j), byte(j>>8), byte(j>>16), byte(j>>24))
	}
	if s.seen[string(key)] {
		return
	}
	if s.seen == nil {
		s.seen = make(map[string]bool)
	}
	s.seen[string(key)] = true
	if cost := s.root.price(open); s.best == nil || cost < s.cost {
		s.best, s.cost = open, cost
		s.tell()
	}
}

// target is what a bound has to reach to show that no set of a part costs less
// than the best.
func (s *solver) target() int64 { return s.cost - s.unit + 1 }

// proven is the bound for the whole problem, lifted to the next possible cost.
func (s *solver) proven() int64 {
	return min(s.cost, (s.bound+s.unit-1)/s.unit*s.unit)
}

func (s *solver) tell() {
	if s.report != nil {
		s.report(s.cost/s.unit, s.proven()/s.unit)
	}
}

// solve proves the best set found, or a better one, as far as the limits go.
// lam are the offers to start from.
func (s *solver) solve(ctx context.Context, lam []int64) {
	s.loose = math.MaxInt64
	n := &node{s: s, t: s.root, plan: s.plan}
	n.run(ctx, newVolume(s.root, s.plan, lam), s.limits.steps)
	s.bound = max(s.bound, min(s.cost, s.loose))
	s.tell()
}
