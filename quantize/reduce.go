package quantize

// settled says what is known of each facility of a table in every open set
// that costs less than the best one found so far.
type settled struct {
	state []int8 // 0 unknown, +1 open, -1 closed
	count int    // of those not 0
}

func newSettled(m int) *settled { return &settled{state: make([]int8, m)} }

// settle draws conclusions from a bound: where opening (or closing) a
// facility would lift the bound to the target, nothing below the target does so.
// The idea is that of N. Christofides and J. E. Beasley, "A tree search
// algorithm for the p-median problem", European Journal of Operational Research
// 10 (1982) 196-204 (cited from memory).
//
// To open j beside the pick, one of the pick has to make room: at the least
// the one of largest rho that need not stay. To close a picked j, the closed
// one of smallest rho comes in. Either keeps lam, so the changed sum is a
// lower bound for all sets of that kind.
func (s *settled) settle(w *volume, rho []int64, order []int32, bound, target int64) {
	k := w.p.k
	if k == 0 || k == len(order) {
		return
	}
	room := order[k-1]
	best := order[k]
	for _, j := range order[k:] {
		if !w.must[room] && bound-rho[room]+rho[j] >= target {
			s.set(j, -1)
		}
	}
	for _, j := range order[:k] {
		if w.must[j] || bound-rho[j]+rho[best] >= target {
			s.set(j, 1)
		}
	}
}

func (s *settled) set(j int32, state int8) {
	if s.state[j] == 0 {
		s.state[j] = state
		s.count++
	}
}

// open returns the facilities known to be open, closed the number of those
// known to be closed.
func (s *settled) open() (open []int32) {
	for j, v := range s.state {
		if v > 0 {
			open = append(open, int32(j))
		}
	}
	return open
}

// core is what is left of a table when some facilities are settled: the others,
// and the clients that still have a choice.
type core struct {
	t    *table
	base int64   // the cost of the clients without a choice
	name []int32 // facility of the core -> facility of the table it came from

	// The state of the bound, taken along.
	lam     []int64
	v, y    []float64
	f, most float64
}

// reduce takes the settled facilities out of a table. A client's list ends at
// the first facility known to be open; clients that then list the same
// facilities in the same order become one, costs and offers added up. Both
// steps are exact: for every set that agrees with what is settled, the core's
// cost plus base is the table's.
func (t *table) reduce(s *settled, w *volume, lam []int64, v []float64, r *room) *core {
	c := &core{t: &table{}, f: w.f, most: w.most}
	index := make([]int32, t.m)
	for j, v := range s.state {
		index[j] = -1
		if v == 0 {
			index[j] = int32(len(c.name))
			c.name = append(c.name, int32(j))
			c.y = append(c.y, w.y[j])
		}
	}
	c.t.m = len(c.name)

	gather := r.gatherer(c, t.clients())
	var fac []uint16
	var cost []int64
	for i := range t.clients() {
		fac, cost = fac[:0], cost[:0]
		end := t.end[i]
		lf, lc := t.list(i)
		for q, j := range lf {
			if s.state[j] > 0 {
				end = lc[q]
				break
			}
			if s.state[j] == 0 {
				fac, cost = append(fac, uint16(index[j])), append(cost, lc[q])
			}
		}
		if len(fac) == 0 {
			c.base += end
			continue
		}
		gather.add(fac, cost, client{end, min(max(lam[i], cost[0]), end), t.weight[i], v[i]})
	}
	gather.done()
	return c
}

// volume goes on from where the bound of the larger table stood.
func (c *core) volume(p plan) *volume {
	w := newVolume(c.t, p, c.lam)
	copy(w.v, c.v)
	w.vv = 0
	for i, v := range w.v {
		w.vv += float64(float64(v*v) * c.t.weight[i])
	}
	copy(w.y, c.y)
	w.f, w.most = c.f, c.most
	return w
}
