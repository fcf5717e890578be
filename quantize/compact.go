package quantize

import "slices"

// twice is the most list entries that are kept a second time, in a compact
// table: some hundred megabytes.
const twice = 1 << 24

// spare is how many facilities a client of a compact table lists beyond those
// that serve it in the averaged steps.
const spare = 1

// compact makes the table that a part is bounded with. A list ends a little
// after the facilities that serve its client in the averaged steps, and clients
// whose lists are then the same become one. Sets may only come to cost less by
// that, so the bound holds for the part; and as offers lie below where lists
// end, it hardly falls behind, on a table of half the size.
func (n *node) compact(c *core) *volume {
	t := c.t
	if len(t.fac) > twice {
		n.of, n.lam, n.mark = nil, nil, nil
		return c.volume(n.plan)
	}
	small := &core{t: &table{m: t.m}, y: c.y, f: c.f, most: c.most}
	gather := n.s.room.gatherer(small, t.clients())
	n.of, n.lam = make([]int32, t.clients()), c.lam
	for i := range t.clients() {
		fac, cost := t.list(i)
		p := 0
		for y := 0.0; p < len(fac) && y < 0.999; p++ {
			y += c.y[fac[p]]
		}
		for more := 0; p < len(fac) && (more < spare || cost[p-1] < c.lam[i]); p++ {
			more++
		}
		end := t.end[i]
		if p < len(fac) {
			end = cost[p]
		}
		c.lam[i] = min(c.lam[i], end)
		n.of[i] = gather.add(fac[:p], cost[:p], client{end, c.lam[i], t.weight[i], c.v[i]})
	}
	gather.done()
	n.mark = slices.Clone(small.lam)
	return small.volume(n.plan)
}

// carried returns the offers and averages of the clients of the part's own
// table, after what the bound made of those of the compact one.
func (n *node) carried(w *volume) (lam []int64, v []float64) {
	w.settleV()
	if n.of == nil {
		return w.lam, w.v
	}
	lam, v = make([]int64, len(n.of)), make([]float64, len(n.of))
	for i, c := range n.of {
		lam[i] = n.lam[i] + whole(float64(w.lam[c]-n.mark[c])*(n.t.weight[i]/w.t.weight[c]))
		v[i] = w.v[c]
	}
	return lam, v
}

// client is what a client brings along beside its list.
type client struct {
	end, lam  int64
	weight, v float64
}

// gatherer fills the table of a core, and makes one client of those that list
// the same facilities in the same order: all that they cost and offer is added
// up.
type gatherer struct {
	*core
	room *room
	head []int32 // hash of a list -> client + 1
	next []int32 // client -> the one before it with that hash, + 1
}

// room is what tables are gathered in, one after another, before they get
// arrays of just their size. The zero value is ready.
type room struct {
	head, next, start []int32
	fac               []uint16
	cost, end, lam    []int64
	weight, v         []float64
}

// gatherer begins the table of c, of that many clients at most.
func (r *room) gatherer(c *core, clients int) *gatherer {
	size := 64
	for size < clients {
		size *= 2
	}
	if len(r.head) < size {
		r.head = make([]int32, size)
	}
	g := &gatherer{core: c, room: r, head: r.head[:size], next: r.next[:0]}
	clear(g.head)
	c.t.start, c.t.fac, c.t.cost = append(r.start[:0], 0), r.fac[:0], r.cost[:0]
	c.t.end, c.t.weight, c.lam, c.v = r.end[:0], r.weight[:0], r.lam[:0], r.v[:0]
	return g
}

// add returns the client of the table that a client has become.
func (g *gatherer) add(fac []uint16, cost []int64, c client) int32 {
	hash := uint32(2166136261) // FNV-1a, of whole numbers
	for _, j := range fac {
		hash = (hash ^ uint32(j)) * 16777619
	}
	slot := &g.head[(hash^hash>>15)&uint32(len(g.head)-1)]
	t := g.t
	for at := *slot; at > 0; at = g.next[at-1] {
		f, sum := t.list(int(at - 1))
		if !slices.Equal(f, fac) {
			continue
		}
		for q, v := range cost {
			sum[q] += v
		}
		t.end[at-1] += c.end
		g.lam[at-1] += c.lam
		t.weight[at-1] += c.weight
		g.v[at-1] += float64(c.weight * c.v)
		return at - 1
	}
	g.next = append(g.next, *slot)
	*slot = int32(len(g.next))
	t.fac, t.cost = append(t.fac, fac...), append(t.cost, cost...)
	t.start = append(t.start, int32(len(t.fac)))
	t.end, t.weight = append(t.end, c.end), append(t.weight, c.weight)
	g.lam, g.v = append(g.lam, c.lam), append(g.v, float64(c.weight*c.v))
	return *slot - 1
}

// done turns sums of averages into averages, and leaves the room to the next
// table, unless this one fills much of it.
func (g *gatherer) done() {
	for i, k := range g.t.weight {
		g.v[i] /= k
	}
	const much = 1 << 20 // list entries
	c, t := g.core, g.t
	if len(t.fac) > much {
		*g.room = room{}
		return
	}
	*g.room = room{head: g.room.head, next: g.next, start: t.start, fac: t.fac, cost: t.cost, end: t.end, lam: c.lam, weight: t.weight, v: c.v}
	t.start, t.fac, t.cost = exact(t.start), exact(t.fac), exact(t.cost)
	t.end, t.weight, c.lam, c.v = exact(t.end), exact(t.weight), exact(c.lam), exact(c.v)
}

// exact copies a slice into an array of its size.
func exact[T any](s []T) []T {
	to := make([]T, len(s))
	copy(to, s)
	return to
}
