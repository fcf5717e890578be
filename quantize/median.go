package quantize

import (
	"context"
	"math"
	"slices"

	"kitwright/internal/say"
)

// Costs is a p-median problem: what it costs to serve each client at each
// facility.
type Costs struct {
	Clients, Facilities int
	At                  []int32 // At[i*Facilities+j]: client i at facility j, not negative
	Weight              []int64 // a client, not negative; nil = all 1. Weight times cost stays below 2^31
}

// Limits of an effort, counted in iterations so that the same effort gives the
// same answer on every machine.
const (
	Quick  = 1   // the swap search and a bound, no cutting into parts
	Normal = 10  // proves most photos
	Prove  = 100 // for the stubborn ones; takes as long as it takes, within reason
)

func limitsOf(effort int) limits {
	if effort <= 0 {
		effort = Normal
	}
	if effort == Quick {
		return limits{kicks: 10, steps: 100, nodes: 0}
	}
	return limits{kicks: min(3*effort, 300), steps: min(40*effort, 2000), nodes: 200 * effort}
}

// MedianOptions say what is wanted of Median; only K has to be set.
type MedianOptions struct {
	K           int
	Keep, Avoid []int // facilities that must be open, must be closed
	Effort      int   // Quick, Normal (also 0), Prove or a number between
	Report      func(cost, bound int64)
}

// Solution is a set of open facilities, what it costs, and the proof of how
// good it is.
type Solution struct {
	Open  []int // ascending
	Cost  int64 // sum over clients of weight * cost at the nearest open facility
	Bound int64 // no allowed set costs less; equal to Cost: Open is proven best
}

// Median opens K facilities so that the clients are served at the least cost,
// each at its nearest: the discrete p-median problem. It is the code that
// chooses drill colors, open to any other integer costs.
//
// When ctx ends it returns the best so far, a valid bound, and ctx.Err().
func Median(ctx context.Context, c Costs, opt MedianOptions) (*Solution, error) {
	allowed, must, err := facilities(c.Facilities, opt.K, opt.Keep, opt.Avoid)
	if err != nil {
		return nil, err
	}
	t := c.table(allowed)
	s := &solver{root: t, plan: plan{k: opt.K, must: must}, limits: limitsOf(opt.Effort), report: opt.Report, unit: fine}
	s.search(ctx)
	s.solve(ctx, s.startOffers())
	sol := &Solution{Cost: s.cost / fine, Bound: s.proven() / fine}
	for _, j := range s.best {
		sol.Open = append(sol.Open, int(t.name[j]))
	}
	return sol, ctx.Err()
}

// search fills best by the swap search alone.
func (s *solver) search(ctx context.Context) {
	start := s.root.greedy(s.plan)
	s.offer(start)
	s.offer(newSwapper(s.root, s.plan).kicks(ctx, s.plan, start, s.limits.kicks, 1))
}

// startOffers are offers that lie between the nearest and the second nearest
// open facility: close to the best where the set is.
func (s *solver) startOffers() []int64 {
	set := s.root.serve(s.best)
	lam := make([]int64, len(set.d1))
	for i := range lam {
		lam[i] = set.d1[i] + (min(set.d2[i], s.root.end[i], 4*set.d1[i])-set.d1[i])/2
	}
	return lam
}

// facilities returns those that may be open, ascending, and where among them
// those are that must be; or says why there is no such set.
func facilities(m, k int, keep, avoid []int) (allowed, must []int32, err error) {
	state := make([]int8, m)
	for _, list := range [][]int{keep, avoid} {
		for _, j := range list {
			if j < 0 || j >= m {
				return nil, nil, say.Usage("colors are counted from 0", "there is no color %d among %d", j, m)
			}
		}
	}
	for _, j := range avoid {
		state[j] = -1
	}
	kept := 0
	for _, j := range keep {
		if state[j] < 0 {
			return nil, nil, say.Usage("take it off one of the two lists", "color %d is both to keep and to avoid", j)
		}
		if state[j] == 0 {
			state[j], kept = 1, kept+1
		}
	}
	for j, s := range state {
		if s > 0 {
			must = append(must, int32(len(allowed)))
		}
		if s >= 0 {
			allowed = append(allowed, int32(j))
		}
	}
	switch {
	case k < 1:
		return nil, nil, say.Usage("ask for 1 color or more", "%d colors cannot make a picture", k)
	case kept > k:
		return nil, nil, say.Usage("ask for more colors or keep fewer", "%d colors are to be kept, but only %d are wanted", kept, k)
	case k > len(allowed):
		return nil, nil, say.Usage("ask for fewer colors or avoid fewer", "%d colors are wanted, but there are only %d to choose from", k, len(allowed))
	}
	return allowed, must, nil
}

// fine is the number of parts that a unit of Costs is cut into, so that offers
// in whole numbers come close enough to the best bound.
const fine = 1 << 10

// table lists every allowed facility for every client.
func (c Costs) table(allowed []int32) *table {
	m := len(allowed)
	t := &table{m: m, start: make([]int32, c.Clients+1), fac: make([]int32, c.Clients*m), cost: make([]int64, c.Clients*m),
		end: make([]int64, c.Clients), weight: make([]float64, c.Clients), name: allowed}
	parallel(c.Clients, 64, func(_, lo, hi int) {
		pairs := make([]uint64, m)
		for i := lo; i < hi; i++ {
			w := int64(1)
			if c.Weight != nil {
				w = c.Weight[i]
			}
			for q, j := range allowed {
				pairs[q] = uint64(c.At[i*c.Facilities+int(j)])<<32 | uint64(q)
			}
			slices.Sort(pairs)
			for q, p := range pairs {
				t.fac[i*m+q], t.cost[i*m+q] = int32(p&math.MaxUint32), fine*w*int64(p>>32)
			}
			t.start[i+1] = int32((i + 1) * m)
			t.end[i], t.weight[i] = never, float64(max(w, 1))
		}
	})
	return t
}
