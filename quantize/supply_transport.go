package quantize

import (
	"math"
	"slices"
)

// Unlimited is the room of a color that never runs out.
const Unlimited = int64(1) << 40

// goods says what it costs to serve a cell of each client in each color of a
// list. Clients that show the same color of the picture share a row.
type goods struct {
	cols   int
	cost   []int32 // row*cols + column: of one cell, before its factor
	row    []int32 // client -> row
	factor []int64 // client -> how much each of its cells counts
	count  []int64 // client -> cells
	cells  int64   // all of them
}

func (g *goods) clients() int { return len(g.row) }

// line returns a client's costs, a column each.
func (g *goods) line(i int32) []int32 {
	at := int(g.row[i]) * g.cols
	return g.cost[at : at+g.cols : at+g.cols]
}

func (g *goods) at(i, column int32) int64 {
	return g.factor[i] * int64(g.cost[int(g.row[i])*g.cols+int(column)])
}

// haul is a transportation problem and its solution: the cells of all clients
// are served by a few colors, each of which has room for so many, at the least
// cost.
//
// It is solved by successive shortest paths (R. Ahuja, T. Magnanti, J. Orlin,
// "Network Flows", 1993, chapter 9.7) on a graph that has no node for a client:
// a client is an arc between any two colors, and of all clients that one color
// serves only the cheapest to hand on to another matters. So there are as many
// nodes as colors and one more, the slack, into which every color's service
// flows. Prices of the colors are the dual solution, and with whole numbers
// both cost exactly the same: the answer carries its own proof.
type haul struct {
	*goods
	column []int32 // slot -> column of goods
	room   []int64 // slot -> cells it has room for
	price  []int64 // slot -> of room for one more cell; the last one is the slack's

	load   []int64   // slot -> cells it serves
	out    []int64   // slot -> cells it is thought to serve; differs from load only on the way
	hold   [][]share // client -> the slots that serve it
	serves [][]int32 // slot -> clients it serves
	best   []int64   // a*k + b: what handing a cell from a to b costs at least
	arg    []int32   // the client that can be handed on so, -1 for none

	steps int // paths that were found
}

// share is how many cells of a client a slot serves.
type share struct {
	slot  int32
	cells int64
}

const never = int64(math.MaxInt64 / 4)

// newHaul solves the problem for some colors, from prices that may be those of
// a problem much like it (nil: none). The rooms have to suffice.
func newHaul(g *goods, column []int32, room, price []int64) *haul {
	k := len(column)
	h := &haul{goods: g, column: column, room: room, price: make([]int64, k+1),
		load: make([]int64, k), out: make([]int64, k), hold: make([][]share, g.clients()), serves: make([][]int32, k),
		best: make([]int64, k*k), arg: make([]int32, k*k)}
	for a, p := range price {
		if room[a] < Unlimited {
			h.price[a] = max(0, p)
		}
	}
	h.start()
	for h.augment() {
		h.steps++
	}
	slack := h.price[k]
	for a := range k {
		h.price[a] = max(0, h.price[a]-slack)
	}
	h.price = h.price[:k]
	return h
}

// start serves every client where cost and price together are least; where
// several are, by one that has room left.
func (h *haul) start() {
	n, k := h.clients(), len(h.column)
	first := make([]int32, n)
	parallel(n, 2048, func(_, lo, hi int) {
		for i := lo; i < hi; i++ {
			first[i], _ = h.nearest(int32(i), -1)
		}
	})
	shares := make([]share, n)
	for i, a := range first {
		if h.load[a]+h.count[i] > h.room[a] {
			line, f := h.line(int32(i)), h.factor[i]
			least := f*int64(line[h.column[a]]) + h.price[a]
			for b := a + 1; int(b) < k; b++ {
				if f*int64(line[h.column[b]])+h.price[b] == least && h.load[b]+h.count[i] <= h.room[b] {
					a = b
					break
				}
			}
		}
		shares[i] = share{a, h.count[i]}
		h.hold[i] = shares[i : i+1 : i+1]
		h.load[a] += h.count[i]
		h.serves[a] = append(h.serves[a], int32(i))
	}
	for a := range k {
		h.out[a] = min(h.load[a], h.room[a])
		if h.price[a] > 0 {
			h.out[a] = h.room[a]
		}
		for b := range k {
			h.best[a*k+b], h.arg[a*k+b] = never, -1
		}
	}
	parallel(k, 1, func(_, lo, hi int) {
		for a := lo; a < hi; a++ {
			for _, i := range h.serves[a] {
				h.propose(int32(a), i)
			}
		}
	})
}

// nearest returns the slot, but for one, where cost and price of a client are
// least, and what they are.
func (h *haul) nearest(i, but int32) (slot int32, least int64) {
	line, f := h.line(i), h.factor[i]
	slot, least = -1, never
	for a, c := range h.column {
		if v := f*int64(line[c]) + h.price[a]; v < least && int32(a) != but {
			slot, least = int32(a), v
		}
	}
	return slot, least
}

// propose offers a client that a serves for handing on.
func (h *haul) propose(a, i int32) {
	k := len(h.column)
	line, f := h.line(i), h.factor[i]
	own := line[h.column[a]]
	best, arg := h.best[int(a)*k:][:k], h.arg[int(a)*k:][:k]
	for b, c := range h.column {
		if v := f * int64(line[c]-own); v < best[b] || v == best[b] && i < arg[b] {
			best[b], arg[b] = v, i
		}
	}
}

// augment finds the cheapest way from slots that serve more than they should to
// the nearest that serves less, and hands on as much as can be. It returns false
// once there is nothing to do.
func (h *haul) augment() bool {
	k := len(h.column)
	excess := make([]int64, k+1)
	excess[k] = -h.cells
	any := false
	for a := range k {
		excess[a] = h.load[a] - h.out[a]
		excess[k] += h.out[a]
	}
	dist, from, done := make([]int64, k+1), make([]int32, k+1), make([]bool, k+1)
	for v := range dist {
		dist[v], from[v] = never, -1
		if excess[v] > 0 {
			dist[v], any = 0, true
		}
	}
	if !any {
		return false
	}
	sink := -1
	for sink < 0 {
		v, least := -1, never
		for u, d := range dist {
			if !done[u] && d < least {
				v, least = u, d
			}
		}
		if v < 0 {
			panic("quantize: a transportation problem without enough room")
		}
		done[v] = true
		if excess[v] < 0 {
			sink = v
			break
		}
		h.relax(v, dist, from, done)
	}
	for v := range dist {
		if done[v] {
			h.price[v] += dist[sink] - dist[v]
		}
	}
	h.push(sink, excess, from)
	return true
}

// relax follows the arcs out of a node.
func (h *haul) relax(v int, dist []int64, from []int32, done []bool) {
	k := len(h.column)
	reach := func(u int, d int64) {
		if !done[u] && d < dist[u] {
			dist[u], from[u] = d, int32(v)
		}
	}
	if v == k { // service that is taken back
		for a := range k {
			if h.out[a] > 0 {
				reach(a, dist[k]+h.price[a]-h.price[k])
			}
		}
		return
	}
	base := dist[v] - h.price[v]
	best := h.best[v*k:][:k]
	for b, c := range best {
		if c < never {
			reach(b, base+c+h.price[b])
		}
	}
	if h.out[v] < h.room[v] {
		reach(k, base+h.price[k])
	}
}

// push sends as much as can be along the path that ends at sink.
func (h *haul) push(sink int, excess []int64, from []int32) {
	k := len(h.column)
	amount := -excess[sink]
	v := sink
	for from[v] >= 0 {
		u := int(from[v])
		switch {
		case v == k:
			amount = min(amount, h.room[u]-h.out[u])
		case u == k:
			amount = min(amount, h.out[v])
		default:
			amount = min(amount, h.held(h.arg[u*k+v], int32(u)))
		}
		v = u
	}
	amount = min(amount, excess[v])
	for v := sink; from[v] >= 0; {
		u := int(from[v])
		switch {
		case v == k:
			h.out[u] += amount
		case u == k:
			h.out[v] -= amount
		default:
			h.move(h.arg[u*k+v], int32(u), int32(v), amount)
		}
		v = u
	}
}

// held is how many cells of a client a slot serves.
func (h *haul) held(i, a int32) int64 {
	for _, s := range h.hold[i] {
		if s.slot == a {
			return s.cells
		}
	}
	return 0
}

// move hands cells of a client from one slot to another.
func (h *haul) move(i, from, to int32, cells int64) {
	k := len(h.column)
	h.load[from] -= cells
	h.load[to] += cells
	has := false
	for at := range h.hold[i] {
		if s := &h.hold[i][at]; s.slot == to {
			s.cells += cells
			has = true
		}
	}
	if !has {
		h.hold[i] = append(h.hold[i], share{to, cells})
		h.serves[to] = append(h.serves[to], i)
		h.propose(to, i)
	}
	at := slices.IndexFunc(h.hold[i], func(s share) bool { return s.slot == from })
	if h.hold[i][at].cells -= cells; h.hold[i][at].cells > 0 {
		return
	}
	h.hold[i] = slices.Delete(h.hold[i], at, at+1)
	at = slices.Index(h.serves[from], i)
	last := len(h.serves[from]) - 1
	h.serves[from][at] = h.serves[from][last]
	h.serves[from] = h.serves[from][:last]
	// Others may be the cheapest now to hand on from there.
	var lost []int32
	best, arg := h.best[int(from)*k:][:k], h.arg[int(from)*k:][:k]
	for b := range k {
		if arg[b] == i {
			best[b], arg[b] = never, -1
			lost = append(lost, int32(b))
		}
	}
	if len(lost) == 0 {
		return
	}
	for _, c := range h.serves[from] {
		line, f := h.line(c), h.factor[c]
		own := line[h.column[from]]
		for _, b := range lost {
			if v := f * int64(line[h.column[b]]-own); v < best[b] || v == best[b] && c < arg[b] {
				best[b], arg[b] = v, c
			}
		}
	}
}

// total is what all cells cost as they are served.
func (h *haul) total() (sum int64) {
	for i, shares := range h.hold {
		for _, s := range shares {
			sum += s.cells * h.at(int32(i), h.column[s.slot])
		}
	}
	return sum
}

// dual is the bound that the prices prove: nothing costs less. It equals total.
func (h *haul) dual() int64 {
	n := h.clients()
	var part [chunks]int64
	parallel(n, 2048, func(p, lo, hi int) {
		for i := lo; i < hi; i++ {
			_, v := h.nearest(int32(i), -1)
			part[p] += h.count[i] * v
		}
	})
	var sum int64
	for _, s := range part {
		sum += s
	}
	for a, p := range h.price {
		if p > 0 {
			sum -= p * h.room[a]
		}
	}
	return sum
}

// values returns what each client's cell is worth at the prices: its cost where
// cost and price together are least.
func (h *haul) values() []int64 {
	out := make([]int64, h.clients())
	parallel(len(out), 2048, func(_, lo, hi int) {
		for i := lo; i < hi; i++ {
			_, out[i] = h.nearest(int32(i), -1)
		}
	})
	return out
}
