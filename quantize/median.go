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
	Weight              []int64 // a client, not negative; nil = all 1
}

// check tells whether the numbers fit together and their sums into 50 bits.
func (c Costs) check() error {
	if c.Clients < 1 || c.Facilities < 1 || len(c.At) != c.Clients*c.Facilities || c.Weight != nil && len(c.Weight) != c.Clients {
		return say.Usage("give one cost for each client and facility", "costs and weights do not fit %d clients and %d facilities", c.Clients, c.Facilities)
	}
	if c.Facilities > math.MaxUint16 {
		return say.Usage("leave some out", "there are %d facilities to choose from, more than %d", c.Facilities, math.MaxUint16)
	}
	const most = 1 << 50
	sum := 0.0
	for i := range c.Clients {
		row, w := c.At[i*c.Facilities:(i+1)*c.Facilities], int64(1)
		if c.Weight != nil {
			w = c.Weight[i]
		}
		if slices.Min(row) < 0 || w < 0 {
			return say.Usage("add a constant to all", "client %d has a negative cost or weight", i)
		}
		if sum += float64(float64(w) * float64(slices.Max(row))); sum > most {
			return say.Usage("divide all by a constant", "costs add up to more than %d", int64(most))
		}
	}
	return nil
}

// Efforts. They are limits of iterations, never of seconds, so that the same
// effort gives the same answer on every machine. What a limit cuts off shows in
// the bound, which stays true.
const (
	Sketch = -1  // Select alone: the swap search on bins; nothing is proven (Bound 0)
	Quick  = 1   // little more than a bound; often proven all the same
	Normal = 10  // proves most photos
	Prove  = 100 // a hundred times the work of Normal before it gives up
)

// limits are the iterations that a solver may spend. Only the work depends on
// the effort: so what a lower effort proves is to the last color what a higher
// one finds, and more effort never ends later with less.
type limits struct {
	kicks int   // random restarts of the swap search
	steps int   // bounding steps of the whole problem
	work  int64 // list entries that bounding steps may look at before parts are given up
	part  int   // bounding steps of a part
	tries int   // picks of a part that are improved by swaps
}

func limitsOf(effort int) limits {
	const kicks = 5
	if effort == Sketch {
		return limits{kicks: kicks}
	}
	if effort <= 0 {
		effort = Normal
	}
	n := int64(min(effort, 1000))
	return limits{kicks: kicks, steps: 400, work: (n*n + 4) * 10_000_000, part: 40, tries: 3}
}

// on gives a large table more work: as many steps as one of a usual picture of
// 30 x 40 cm gets, which take longer there.
func (l limits) on(t *table) limits {
	const usual = 150_000 // list entries
	if n := int64(len(t.fac)); n > usual {
		l.work = l.work / usual * n
	}
	return l
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
	if err := c.check(); err != nil {
		return nil, err
	}
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
	t := &table{m: m, start: make([]int32, c.Clients+1), fac: make([]uint16, c.Clients*m), cost: make([]int64, c.Clients*m),
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
				t.fac[i*m+q], t.cost[i*m+q] = uint16(p), fine*w*int64(p>>32)
			}
			t.start[i+1] = int32((i + 1) * m)
			t.end[i], t.weight[i] = t.cost[i*m+m-1], float64(max(w, 1))
		}
	})
	return t
}
