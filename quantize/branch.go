package quantize

import (
	"context"
	"math"
	"slices"
)

// node is a part of the problem: the sets that agree with all that is settled
// above it.
type node struct {
	s    *solver
	t    *table
	plan plan
	base int64   // cost settled above
	open []int32 // facilities of root that are open in all of this part
	name []int32 // facility of t -> facility of root; nil for root itself

	// The bound works on a smaller table: see compact.
	of   []int32 // client of t -> client of that table; nil: they are the same
	lam  []int64 // client of t -> its offer when the table was made
	mark []int64 // the offers of that table then

	known  *settled
	swaps  *swapper
	tries  int     // swap searches so far
	last   []int32 // the pick last looked at
	branch bool
}

const (
	slice = 10    // steps between looks at what is settled
	small = 20000 // list entries up to which picks are improved by swaps
)

// run bounds the part, leaves out what cannot be better than the best, and
// cuts what remains in two.
func (n *node) run(ctx context.Context, w *volume, steps int) {
	s := n.s
	n.begin()
	mark, at := w.bound+n.base, 0 // the bound, and the step, of the last progress
	for done := 0; ; {
		if n.plan.k <= len(n.plan.must) || n.plan.k >= n.t.m {
			n.single()
			return
		}
		if done == 0 {
			n.better(w)
		}
		did := w.run(ctx, min(slice, steps-done), s.target()-n.base, n)
		done += did
		s.work += int64(did) * int64(w.t.clients()+len(w.t.fac))
		bound := w.bound + n.base
		if !n.branch {
			s.bound = max(s.bound, min(bound, s.cost))
			s.tell()
		}
		if bound >= s.target() {
			return
		}
		if ctx.Err() != nil {
			s.loose = min(s.loose, bound)
			return
		}
		if n.known.count*6 >= n.t.m {
			if w = n.shrink(w); w == nil {
				return
			}
			continue
		}
		if float64(bound-mark) >= float64(0.02*float64(s.cost-bound)) {
			mark, at = bound, done
		}
		if done >= steps || did == 0 || done > at && done >= 6*slice || s.work >= s.limits.work {
			break
		}
	}
	bound := w.bound + n.base
	if s.work >= s.limits.work {
		s.loose = min(s.loose, bound)
		return
	}
	if n.known.count > 0 {
		if w = n.shrink(w); w == nil {
			return
		}
	}
	if n.plan.k <= 0 || n.plan.k >= n.t.m {
		n.single()
		return
	}
	j := fork(w)
	first := int8(1)
	if w.y[j] < 0.5 {
		first = -1
	}
	for _, state := range []int8{first, -first} {
		c := &node{s: s, t: n.t, of: n.of, lam: n.lam, mark: n.mark, plan: n.plan, base: n.base, open: n.open, name: n.name, branch: true}
		c.begin()
		c.known.set(j, state)
		if cw := c.shrink(w); cw != nil {
			cw.f, cw.most = 0.1, 0.2 // it begins close to its best
			c.run(ctx, cw, s.limits.part)
		}
	}
}

func (n *node) begin() {
	n.known = newSettled(n.t.m)
	n.swaps, n.tries, n.last = nil, 0, nil
	for _, j := range n.plan.must {
		n.known.set(j, 1)
	}
}

// fork chooses the facility that a part is cut in two by: undecided after the
// averaged steps, and nearest of all to many clients, so that either half costs
// more. Ties go by index.
func fork(w *volume) int32 {
	t := w.t
	first := make([]float64, t.m) // how many clients have it first
	for i := range t.clients() {
		if p := t.start[i]; p < t.start[i+1] {
			first[t.fac[p]] += t.weight[i]
		}
	}
	best, at := -1.0, int32(0)
	for j, y := range w.y {
		if v := math.Min(y, 1-y) * first[j]; v > best {
			best, at = v, int32(j)
		}
	}
	return at
}

// better follows a bound that rose: it settles facilities, looks for a better
// set near the pick, and returns what the bound has to reach.
func (n *node) better(w *volume) int64 {
	s := n.s
	n.improve(w)
	target := s.target() - n.base
	n.known.settle(w, w.rho, w.order, w.bound, target)
	return target
}

// improve tries the pick, and what swaps make of it, as an answer.
func (n *node) improve(w *volume) {
	if n.name == nil && len(n.t.fac) > small {
		n.s.offer(w.pick)
		return
	}
	if slices.Equal(w.pick, n.last) {
		return
	}
	n.last = append(n.last[:0], w.pick...)
	if n.tries++; n.tries > n.s.limits.tries || n.branch && n.tries > 1 {
		return
	}
	if n.swaps == nil {
		n.swaps = newSwapper(w.t, n.plan)
	}
	set := w.t.serve(w.pick)
	n.swaps.descend(context.Background(), set)
	if set.cost+n.base < n.s.cost {
		n.s.offer(n.full(set.open))
	}
}

// full names the facilities of root behind an open set of this part.
func (n *node) full(open []int32) []int32 {
	all := slices.Clone(n.open)
	for _, j := range open {
		all = append(all, n.rootName(j))
	}
	return all
}

func (n *node) rootName(j int32) int32 {
	if n.name == nil {
		return j
	}
	return n.name[j]
}

// single offers the one set that this part consists of, if there is one.
func (n *node) single() {
	switch {
	case n.plan.k == n.t.m:
		all := make([]int32, n.t.m)
		for j := range all {
			all[j] = int32(j)
		}
		n.s.offer(n.full(all))
	case n.plan.k == len(n.plan.must):
		n.s.offer(n.full(n.plan.must))
	}
}

// shrink takes the settled facilities out of the part. It returns nil where
// that leaves nothing: no set of this part costs less than the best.
func (n *node) shrink(w *volume) *volume {
	s, open := n.s, n.known.open()
	lam, v := n.carried(w)
	c := n.t.reduce(n.known, w, lam, v, &s.room)
	for _, j := range open {
		n.open = append(slices.Clip(n.open), n.rootName(j))
	}
	for q, j := range c.name {
		c.name[q] = n.rootName(j)
	}
	n.t, n.name = c.t, c.name
	n.base += c.base
	n.plan = plan{k: n.plan.k - len(open)}
	n.begin()
	if n.plan.k < 0 || n.plan.k > n.t.m {
		return nil
	}
	return n.compact(c)
}
