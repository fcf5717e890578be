package quantize

import (
	"context"
	"math/rand/v2"
	"slices"
)

// plan says which open sets of a table are allowed: exactly k facilities, the
// ones in must among them.
type plan struct {
	k    int
	must []int32
}

// greedy opens the facilities that must be open, and then, one by one, the one
// that saves most: the greedy start of G. Cornuejols, M. L. Fisher and G. L.
// Nemhauser, "Location of bank accounts to optimize float", Management Science
// 23 (1977) 789-810 (cited from memory).
//
// The savings of all facilities are kept up to date: when a client comes to be
// served at less, only what it lists below its old cost changes.
func (t *table) greedy(p plan) []int32 {
	n := t.clients()
	now := make([]int64, n)
	gain := make([]int64, t.m)
	for i := range n {
		fac, cost := t.list(i)
		now[i] = t.end[i]
		for q, j := range fac {
			gain[j] += now[i] - cost[q]
		}
	}
	used := make([]bool, t.m)
	open := make([]int32, 0, p.k)
	for len(open) < p.k {
		var add int32
		if len(open) < len(p.must) {
			add = p.must[len(open)]
		} else {
			add = -1
			for j := range gain {
				if !used[j] && (add < 0 || gain[j] > gain[add]) {
					add = int32(j)
				}
			}
		}
		open = append(open, add)
		used[add] = true
		for i := range n {
			t.lower(i, add, now, gain)
		}
	}
	slices.Sort(open)
	return open
}

// lower lets client i use facility add, if that is nearer than what it has.
func (t *table) lower(i int, add int32, now, gain []int64) {
	lo, old := t.start[i], now[i]
	hi, at := lo, int64(-1)
	for ; hi < t.start[i+1] && t.cost[hi] < old; hi++ {
		if int32(t.fac[hi]) == add {
			at = t.cost[hi]
		}
	}
	if at < 0 {
		return
	}
	now[i] = at
	for q := lo; q < hi; q++ {
		gain[t.fac[q]] -= old - max(at, t.cost[q])
	}
}

// swapper holds what the search for the best swap needs, to be used again.
type swapper struct {
	t     *table
	fixed []bool // facility that must stay open

	of     *served // that the sums below are of
	leave  []int64 // slot -> what closing it costs
	common []int64 // facility -> what opening it saves, whoever closes (negative)
	delta  []int64 // slot*m + facility -> correction for that pair
}

func newSwapper(t *table, p plan) *swapper {
	w := &swapper{t: t, fixed: make([]bool, t.m), leave: make([]int64, p.k), common: make([]int64, t.m), delta: make([]int64, t.m*p.k)}
	for _, j := range p.must {
		w.fixed[j] = true
	}
	return w
}

// descend swaps an open facility for a closed one, always the pair that saves
// most, until no pair saves anything.
//
// One sweep over the clients prices all pairs at once: E. Schubert and P. J.
// Rousseeuw, "Fast and eager k-medoids clustering", Information Systems 101
// (2021) 101804, with clients and facilities kept apart. A client looks only
// at what it lists below its second nearest open facility. After a swap only
// the clients that it touched are counted anew.
func (w *swapper) descend(ctx context.Context, s *served) {
	for ctx.Err() == nil {
		in, out, value := w.best(s)
		if value >= 0 {
			return
		}
		old, cost := s.open[out], s.cost
		w.swap(s, in, out)
		if s.cost >= cost { // lists too short to price the swap: take it back
			w.swap(s, old, out)
			return
		}
	}
}

// best returns the swap of least value, ties by facility and then slot.
func (w *swapper) best(s *served) (in int32, out int, value int64) {
	if w.of != s {
		w.of = s
		clear(w.leave)
		clear(w.common)
		clear(w.delta)
		for i := range s.d1 {
			w.count(s, i, 1)
		}
	}
	m := w.t.m
	in = -1
	for k, j := range s.open {
		if w.fixed[j] {
			continue
		}
		leave, common := w.leave[k], w.common[:m]
		for j, v := range w.delta[k*m : k*m+m] {
			if v += leave + common[j]; v <= value && (v < value || int32(j) < in) && s.slot[j] < 0 {
				in, out, value = int32(j), k, v
			}
		}
	}
	return in, out, value
}

// count adds what client i makes of all swaps, or takes it away again (by -1).
func (w *swapper) count(s *served, i int, by int64) {
	t := w.t
	lo, e1, e2 := t.start[i], s.e1[i], s.e2[i]
	n1, d1, d2 := s.n1[i], s.d1[i], s.d2[i]
	if n1 < 0 {
		common := w.common
		for q, j := range t.fac[lo:e1] {
			common[j] += by * (t.cost[lo+int32(q)] - d1)
		}
		return
	}
	w.leave[n1] += by * (d2 - d1)
	delta := w.delta[int(n1)*t.m:][:t.m]
	both, common := by*(d1-d2), w.common
	for q, c := range t.cost[lo:e1] {
		j := t.fac[int(lo)+q]
		common[j] += by * (c - d1)
		delta[j] += both
	}
	for q, c := range t.cost[e1:max(e1, e2)] {
		delta[t.fac[int(e1)+q]] += by * (c - d2)
	}
}

// swap closes the facility in slot out, opens in, and updates the clients that
// this touches.
func (w *swapper) swap(s *served, in int32, out int) {
	t := w.t
	s.slot[s.open[out]] = -1
	s.open[out] = in
	s.slot[in] = int32(out)
	counted := w.of == s
	n1s, n2s, e2s, start, fac := s.n1, s.n2[:len(s.n1)], s.e2[:len(s.n1)], t.start[:len(s.n1)], t.fac
	for i, n1 := range n1s {
		if n2 := n2s[i]; n1 == int32(out) || n2 == int32(out) || n1 < 0 || n2 < 0 {
			if counted {
				w.count(s, i, -1)
			}
			s.cost -= s.d1[i]
			t.nearest(s, i)
			s.cost += s.d1[i]
			if counted {
				w.count(s, i, 1)
			}
			continue
		}
		lo := start[i]
		for q, j := range fac[lo:e2s[i]] {
			if j != uint16(in) {
				continue
			}
			p := lo + int32(q)
			d := t.cost[p]
			if d >= s.d2[i] {
				break
			}
			if counted {
				w.count(s, i, -1)
			}
			if d < s.d1[i] {
				s.cost += d - s.d1[i]
				s.n2[i], s.e2[i], s.d2[i] = s.n1[i], s.e1[i], s.d1[i]
				s.n1[i], s.e1[i], s.d1[i] = int32(out), p, d
			} else {
				s.n2[i], s.e2[i], s.d2[i] = int32(out), p, d
			}
			if counted {
				w.count(s, i, 1)
			}
			break
		}
	}
}

// kicks improves an open set by kicking it out of its local optimum with one
// to three random swaps and descending again, keeping what is not worse.
func (w *swapper) kicks(ctx context.Context, p plan, open []int32, n int, seed uint64) []int32 {
	s := w.t.serve(open)
	w.descend(ctx, s)
	best, bestCost := slices.Clone(s.open), s.cost
	if p.k == w.t.m || len(p.must) == p.k {
		return sorted(best)
	}
	rng := rand.New(rand.NewPCG(seed, 1))
	for i := 0; i < n && ctx.Err() == nil; i++ {
		for range 1 + rng.IntN(3) {
			in, out := int32(rng.IntN(w.t.m)), rng.IntN(p.k)
			if s.slot[in] < 0 && !w.fixed[s.open[out]] {
				w.swap(s, in, out)
			}
		}
		w.descend(ctx, s)
		switch {
		case s.cost < bestCost:
			best, bestCost = append(best[:0], s.open...), s.cost
		case s.cost > bestCost:
			copy(s.open, best)
			w.t.again(s)
			w.of = nil
		}
	}
	return sorted(best)
}

func sorted(open []int32) []int32 {
	slices.Sort(open)
	return open
}
