package quantize

import (
	"cmp"
	"context"
	"slices"
)

// Help is what more room for one color would bring.
type Help struct {
	Color int   // index into from
	Cost  int64 // of all cells with it
}

// Helps returns the n colors of which more room would bring the cost of
// [Problem.Assign] down most, the best first, ties by color, and the cost
// without. more tells the room a color would have, 0 where it is out of the
// question; it is asked for the chosen ones and for all others.
//
// The answer is exact, on all cells: colors are tried in the order of a bound of
// what they save (see additions), until no other can save as much.
func (p *Problem) Helps(ctx context.Context, chosen []int, room []int64, more func(color int) int64, n int, opt Options) ([]Help, int64, error) {
	want := Supply{Options: opt, Room: make([]int64, len(p.from))}
	want.Rare, want.K = 0, len(chosen)
	for k, j := range chosen {
		want.Room[j] = room[k]
	}
	s, err := p.supplier(want)
	if err != nil {
		return nil, 0, err
	}
	var column []int32
	var free, price []int64
	for c := range s.color {
		column = append(column, int32(c))
		free = append(free, max(0, s.roomOf(int32(c), 0)))
	}
	if set, err := s.whole(); err != nil {
		return nil, 0, err
	} else {
		price = set.haul.price
	}
	fine := p.goods(2, s)
	base := newHaul(fine, column, free, price)
	cost := base.total()

	t := &helper{p: p, s: s, base: base}
	all := t.bounds(ctx, more)
	var found []Help
	for _, a := range all {
		if len(found) >= n && cost-found[n-1].Cost >= a.gain || ctx.Err() != nil {
			break
		}
		h := Help{a.color, t.with(a)}
		if h.Cost >= cost {
			continue
		}
		at, _ := slices.BinarySearchFunc(found, h, func(x, y Help) int { return cmp.Or(cmp.Compare(x.Cost, y.Cost), cmp.Compare(x.Color, y.Color)) })
		found = slices.Insert(found, at, h)
	}
	return found[:min(n, len(found))], cost, ctx.Err()
}

// helper tries more room for one color after the other.
type helper struct {
	p    *Problem
	s    *supplier
	base *haul
}

// helping is more room for a color, and what it saves at most.
type helping struct {
	color int
	slot  int // of base, -1 for a color that is not there
	room  int64
	gain  int64
	price int64
}

// bounds lists what could help, the highest bound first.
func (t *helper) bounds(ctx context.Context, more func(color int) int64) []helping {
	var all []helping
	slot := make([]int, len(t.p.from))
	for j := range slot {
		slot[j] = -1
	}
	for c, j := range t.s.color {
		slot[j] = c
	}
	value := t.base.values()
	type gain struct{ each, cells int64 }
	gains := make([][]gain, len(t.p.from))
	// Colors nearer than what a cell is worth stand on its list.
	l := t.p.levels[2]
	t.p.lists.Lock()
	reach := make([]int32, len(l.points))
	for i, v := range value {
		at := t.s.cells.point[i]
		reach[at] = max(reach[at], int32(min(v/t.base.factor[i]+1, everything-1)))
	}
	if !l.extend(ctx, reach) {
		t.p.lists.Unlock()
		return nil
	}
	for i, v := range value {
		f, count := t.base.factor[i], t.base.count[i]
		for _, near := range l.near[t.s.cells.point[i]] {
			d := v - f*int64(near.units())
			if d <= 0 {
				break
			}
			if j := near.color(); slot[j] < 0 {
				gains[j] = append(gains[j], gain{d, count})
			}
		}
	}
	t.p.lists.Unlock()
	for j := range t.p.from {
		room := more(j)
		if c := slot[j]; c >= 0 {
			if grown := room - t.s.fixed[c] - t.base.room[c]; grown > 0 && t.base.price[c] > 0 {
				all = append(all, helping{j, c, grown + t.base.room[c], grown * t.base.price[c], t.base.price[c]})
			}
			continue
		}
		if room <= 0 || len(gains[j]) == 0 {
			continue
		}
		h := helping{color: j, slot: -1, room: room}
		slices.SortFunc(gains[j], func(a, b gain) int { return cmp.Compare(b.each, a.each) })
		for left, at := room, 0; left > 0 && at < len(gains[j]); at++ {
			take := min(left, gains[j][at].cells)
			h.gain += take * gains[j][at].each
			if left -= take; left == 0 {
				h.price = gains[j][at].each
			}
		}
		all = append(all, h)
	}
	slices.SortStableFunc(all, func(a, b helping) int { return cmp.Compare(b.gain, a.gain) })
	return all
}

// with is what all cells cost with more room for a color.
func (t *helper) with(a helping) int64 {
	b := t.base
	column, room, price := slices.Clone(b.column), slices.Clone(b.room), slices.Clone(b.price)
	if a.slot >= 0 {
		room[a.slot] = a.room
		return newHaul(b.goods, column, room, price).total()
	}
	// The column of no color, which is not needed here, becomes the color's.
	last := b.cols - 1
	l := t.p.levels[2]
	parallel(b.clients(), 1024, func(_, lo, hi int) {
		for i := lo; i < hi; i++ {
			b.cost[int(b.row[i])*b.cols+last] = units(l.points[t.s.cells.point[i]], l.from[a.color])
		}
	})
	column, room, price = append(column, int32(last)), append(room, a.room), append(price, a.price)
	return newHaul(b.goods, column, room, price).total()
}
