package place

import "container/heap"

// hand is a cell that could be handed on from its color to another, and what
// the priced energy changed by when that was looked up.
type hand struct {
	change int64
	cell   int32
}

// hands is a heap of them, the least first, ties by cell.
type hands []hand

func (h hands) Len() int { return len(h) }
func (h hands) Less(i, j int) bool {
	return h[i].change < h[j].change || h[i].change == h[j].change && h[i].cell < h[j].cell
}
func (h hands) Swap(i, j int) { h[i], h[j] = h[j], h[i] }
func (h *hands) Push(x any)   { *h = append(*h, x.(hand)) }
func (h *hands) Pop() any {
	last := len(*h) - 1
	x := (*h)[last]
	*h = (*h)[:last]
	return x
}

// exchange knows, for any two colors, which cell is handed on from one to the
// other at the least energy. What it knows of a cell is looked up again when it
// matters; the neighbors of a cell that was handed on are looked up at once.
type exchange struct {
	*supplied
	arcs []hands // from*colors + to
}

const unreachable = int64(1) << 60

func (s *supplied) newExchange() *exchange {
	e := &exchange{supplied: s, arcs: make([]hands, s.colors*s.colors)}
	per := max(2, min(s.kept, scarceMany/len(s.at)))
	for y := range s.rows {
		for x := range s.cols {
			e.look(s.place(x, y), per, false)
		}
	}
	for i := range e.arcs {
		heap.Init(&e.arcs[i])
	}
	return e
}

// look looks up what handing on a cell changes, for its first few candidates.
func (e *exchange) look(q, most int, into bool) {
	if !e.free[q] {
		return
	}
	choice, cost := e.choicesOf(q)
	from, at := int(e.at[q])*e.colors, e.lookAt(q)
	for j, c := range choice {
		if cost[j] == none || most == 0 {
			break
		}
		if c == e.at[q] {
			continue
		}
		most--
		arc, h := &e.arcs[from+int(c)], hand{e.changeFrom(at, q, c), int32(q)}
		if into {
			heap.Push(arc, h)
		} else {
			*arc = append(*arc, h)
		}
	}
}

// first returns the cheapest cell to hand on, as far as is known.
func (e *exchange) first(from, to int) (hand, bool) {
	arc := &e.arcs[from*e.colors+to]
	for len(*arc) > 0 && int(e.at[(*arc)[0].cell]) != from {
		heap.Pop(arc)
	}
	if len(*arc) == 0 {
		return hand{}, false
	}
	return (*arc)[0], true
}

// sure returns the cheapest cell to hand on, looked up again.
func (e *exchange) sure(from, to int) (hand, bool) {
	arc := &e.arcs[from*e.colors+to]
	for {
		h, ok := e.first(from, to)
		if !ok {
			return h, false
		}
		now := e.change(int(h.cell), uint16(to))
		if now <= h.change {
			return hand{now, h.cell}, true
		}
		(*arc)[0].change = now
		heap.Fix(arc, 0)
		if next := (*arc)[0]; next.cell == h.cell && next.change == now {
			return next, true
		}
	}
}

// hand hands a cell on and looks up its neighbors again.
func (e *exchange) hand(q int, to uint16) {
	e.give(q, to)
	e.look(q, e.kept, true)
	for _, n := range [8]int{q - 1, q + 1, q - e.stride, q + e.stride, q - e.stride - 1, q - e.stride + 1, q + e.stride - 1, q + e.stride + 1} {
		e.look(n, e.kept, true)
	}
}

// repair hands cells on from colors that are above their room, along the
// cheapest chain to a color that has room, until none is above.
func (s *supplied) repair() {
	over := false
	for c, n := range s.load {
		over = over || n > s.room[c]
	}
	if !over {
		return
	}
	e := s.newExchange()
	for c := range s.load {
		for s.load[c] > s.room[c] {
			if !e.chain(c) {
				e.anywhere(c)
			}
		}
	}
}

// chain hands one cell on from a color to one with room, or along a chain of
// colors. It returns false where no candidates lead there.
func (e *exchange) chain(source int) bool {
	for {
		path := e.path(source)
		if path == nil {
			return false
		}
		// What was known of the chain may be out of date.
		same := true
		cells := make([]hand, len(path)-1)
		for i := range cells {
			before, _ := e.first(path[i], path[i+1])
			now, ok := e.sure(path[i], path[i+1])
			cells[i] = now
			same = same && ok && now.change <= before.change
		}
		if !same {
			continue
		}
		for i, h := range cells {
			e.hand(int(h.cell), uint16(path[i+1]))
		}
		return true
	}
}

// path is the cheapest chain of colors from one to any with room: Dijkstra on
// priced changes, which after a descent are hardly ever below zero; what is
// counts as zero.
func (e *exchange) path(source int) []int {
	k := e.colors
	dist, from, done := make([]int64, k), make([]int, k), make([]bool, k)
	for v := range dist {
		dist[v], from[v] = unreachable, -1
	}
	dist[source] = 0
	end, least := -1, unreachable
	for {
		v := -1
		for u, d := range dist {
			if !done[u] && d < unreachable && (v < 0 || d < dist[v]) {
				v = u
			}
		}
		if v < 0 {
			break
		}
		done[v] = true
		// The price of the last color is not paid: it has room.
		if e.load[v] < e.room[v] && dist[v]-e.price[v] < least {
			end, least = v, dist[v]-e.price[v]
		}
		for u := range k {
			if done[u] {
				continue
			}
			if h, ok := e.first(v, u); ok {
				if d := dist[v] + max(0, h.change); d < dist[u] {
					dist[u], from[u] = d, v
				}
			}
		}
	}
	if end < 0 {
		return nil
	}
	var path []int
	for v := end; v >= 0; v = from[v] {
		path = append([]int{v}, path...)
	}
	return path
}

// anywhere gives a cell of a color one that has room and that was no candidate:
// the last cell that has the color.
func (e *exchange) anywhere(source int) {
	for q := len(e.at) - 1; q >= 0; q-- {
		if int(e.at[q]) != source || !e.free[q] {
			continue
		}
		for c := range e.room {
			if e.load[c] < e.room[c] {
				// It takes the place of the last candidate.
				choice, cost := e.choicesOf(q)
				last := len(cost) - 1
				for last > 0 && choice[last] == e.at[q] {
					last--
				}
				choice[last], cost[last] = uint16(c), none/2
				e.give(q, uint16(c))
				return
			}
		}
	}
}

// clearly is what an exchange of two has to save, in costs: changes are cut to
// whole units, so that a round of exchanges that saves nothing could seem to, for
// ever.
const clearly = 16

// polish lowers the energy within the rooms: single cells into colors that have
// room, for which no price is paid, and pairs of cells that change colors.
func (s *supplied) polish() {
	const rounds = 3
	for range rounds {
		moved := false
		for y := range s.rows {
			for x := range s.cols {
				if q := s.place(x, y); s.free[q] {
					moved = s.settle(q) || moved
				}
			}
		}
		if !moved {
			break
		}
	}
	e := s.newExchange()
	for a := range s.colors {
		for b := range a {
			for {
				there, ok1 := e.sure(a, b)
				back, ok2 := e.sure(b, a)
				if !ok1 || !ok2 || there.change+back.change > -clearly {
					break
				}
				e.hand(int(there.cell), uint16(b))
				if now := e.change(int(back.cell), uint16(a)); there.change+now > -clearly {
					e.hand(int(there.cell), uint16(a)) // they were neighbors, and it does not help
					break
				}
				e.hand(int(back.cell), uint16(a))
			}
		}
	}
}

// settle gives a cell the color with room that lowers the true energy most.
func (s *supplied) settle(q int) bool {
	choice, cost := s.choicesOf(q)
	old := s.at[q]
	best, least, at := old, int64(-1), s.lookAt(q)
	for j, c := range choice {
		if cost[j] == none {
			break
		}
		if c == old || s.load[c] >= s.room[c] {
			continue
		}
		if d := s.changeFrom(at, q, c) - s.price[c] + s.price[old]; d < least {
			best, least = c, d
		}
	}
	if best == old {
		return false
	}
	s.give(q, best)
	return true
}
