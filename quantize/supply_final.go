package quantize

import (
	"context"
	"slices"
)

// supplied serves all cells by the set that was found on the bins.
func (p *Problem) supplied(_ context.Context, s *supplier, set *supplySet, bound int64) *Supplied {
	// Columns that serve nothing and need not be in are left out.
	var color []int32
	var room, price, fixed []int64
	out := &Supplied{BinCost: set.cost, BinBound: min(bound, set.cost)}
	for a, c := range set.column {
		if set.haul.load[a] == 0 && !s.keep[c] {
			continue
		}
		color = append(color, s.color[c])
		room = append(room, max(0, s.roomOf(c, set.bought[a])))
		price = append(price, set.haul.price[a])
		fixed = append(fixed, s.fixed[c])
		out.Chosen = append(out.Chosen, int(s.color[c]))
		out.Bags = append(out.Bags, max(0, set.bought[a]))
		out.New = append(out.New, s.isNew(c))
	}
	fine := p.goods(2, &supplier{color: color, cells: s.cells, objective: s.objective})
	column := make([]int32, len(color))
	for c := range column {
		column[c] = int32(c)
	}
	h := newHaul(fine, column, room, price)
	out.Cost, out.Dual = h.total(), h.dual()
	if bound == set.cost && s.buy+s.bags == 0 {
		out.Bound = out.Cost // nothing was to be chosen
	}
	for i, f := range fine.factor {
		out.Weight += f * fine.count[i]
	}
	out.Price = h.price
	out.Room = room
	for a := range room {
		if room[a] < Unlimited {
			out.Room[a] += fixed[a]
		}
	}
	out.Cells = p.dealt(s.cells, h)
	for c, j := range s.fix {
		if j >= 0 {
			at, _ := slices.BinarySearch(color, j)
			out.Cells[c] = uint16(at)
		}
	}
	return out
}

// dealt gives each free cell its color: a client's cells in their order, its
// slots ascending.
func (p *Problem) dealt(cells *clients, h *haul) []uint16 {
	left := make([][]share, len(h.hold))
	for i, shares := range h.hold {
		left[i] = slices.Clone(shares)
		slices.SortFunc(left[i], func(a, b share) int { return int(a.slot) - int(b.slot) })
	}
	out := make([]uint16, len(cells.of))
	for c, i := range cells.of {
		if i < 0 {
			continue
		}
		s := &left[i][0]
		out[c] = uint16(s.slot)
		if s.cells--; s.cells == 0 {
			left[i] = left[i][1:]
		}
	}
	return out
}
