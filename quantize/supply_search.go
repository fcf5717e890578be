package quantize

import (
	"cmp"
	"context"
	"slices"

	"kitwright/internal/say"
)

// supplier looks for the colors, and the purchase, that serve the bins at the
// least cost. Colors are columns here; the last column stands for no color at
// all and takes what the others have no room for.
type supplier struct {
	objective *objective
	cells     *clients
	g         *goods

	color     []int32 // column -> color of the problem
	keep      []bool  // column: has to be in
	fix       []int32 // cell -> color that it has to have, -1 for none; nil = none has
	fixed     []int64 // column: cells that have to have it
	owned     []int64 // column: room without any purchase
	bagged    func(column int32, bags int) int64
	k         int
	buy, bags int
	limits    limits
	quick     bool

	price []int64 // column -> last price it had, to start from
	work  int64   // costs that bounding steps have looked at
}

// bought of a column: none, so many bags, or without end.
const endless = -1

// supplySet is a choice of columns with what is bought of each, and how it
// serves the bins.
type supplySet struct {
	column []int32 // ascending
	bought []int
	haul   *haul
	cost   int64
	short  int64 // cells that there is no room for
}

func (s *supplier) bare() int32 { return int32(len(s.color)) }

// isNew says whether none of a column is owned.
func (s *supplier) isNew(c int32) bool { return s.owned[c] == 0 }

// roomOf is the room of a column for free cells, with what is bought.
func (s *supplier) roomOf(c int32, bought int) int64 {
	switch {
	case bought == endless:
		return Unlimited
	case bought > 0:
		return s.bagged(c, bought) - s.fixed[c]
	}
	return s.owned[c] - s.fixed[c]
}

// solve serves the bins by some columns.
func (s *supplier) solve(column []int32, bought []int) *supplySet {
	return s.solveFrom(column, bought, s.price)
}

func (s *supplier) solveFrom(column []int32, bought []int, price []int64) *supplySet {
	set := &supplySet{column: column, bought: bought, short: s.g.cells}
	k := len(column)
	cols, room, start := slices.Clone(column), make([]int64, k, k+1), make([]int64, k, k+1)
	for a, c := range column {
		room[a], start[a] = max(0, s.roomOf(c, bought[a])), price[c]
		set.short -= room[a]
	}
	if set.short > 0 {
		cols, room, start = append(cols, s.bare()), append(room, Unlimited), append(start, 0)
	}
	set.haul = newHaul(s.g, cols, room, start)
	set.cost = set.haul.total()
	return set
}

// remember keeps the prices of a set to start others from.
func (s *supplier) remember(set *supplySet) *supplySet {
	for a, c := range set.haul.column {
		s.price[c] = set.haul.price[a]
	}
	return set
}

// whole is the set of all columns as they are.
func (s *supplier) whole() (*supplySet, error) {
	column := make([]int32, len(s.color))
	for c := range column {
		column[c] = int32(c)
	}
	set := s.solve(column, make([]int, len(column)))
	if set.short > 0 {
		return nil, &Short{Cells: s.g.cells, Room: s.g.cells - set.short, Color: -1}
	}
	return s.remember(set), nil
}

// choose looks for the best set: what is owned, then one purchase after the
// other where it saves most, then without what is missed least where that is too
// many; then exchanges of one for another until none helps.
func (s *supplier) choose(ctx context.Context) (*supplySet, error) {
	if err := s.enough(); err != nil {
		return nil, err
	}
	var column []int32
	var bought []int
	newKept, kept := 0, 0
	for c := range s.color {
		switch {
		case s.keep[c]:
			kept++
			buy := 0
			if s.owned[c] < max(1, s.fixed[c]) {
				if newKept++; s.bags > 0 {
					for buy = 1; s.roomOf(int32(c), buy) < 0; buy++ {
					}
					newKept += buy - 1
				} else {
					buy = endless
				}
			}
			column, bought = append(column, int32(c)), append(bought, buy)
		case s.owned[c] > 0:
			column, bought = append(column, int32(c)), append(bought, 0)
		}
	}
	if kept > s.k {
		return nil, say.Usage("ask for more colors or keep fewer", "%d colors are to be kept, but only %d are wanted", kept, s.k)
	}
	if newKept > s.buy+s.bags {
		return nil, say.Usage("buy more, or keep fewer", "what is to be kept takes %d more to buy than may be bought", newKept-s.buy-s.bags)
	}
	set := s.remember(s.solve(column, bought))
	left := s.buy + s.bags - newKept
	if left > 0 {
		set = s.drop(ctx, set, s.k-min(left, s.k-kept, max(1, s.k/4)))
	}
	set = s.exchange(ctx, s.fill(ctx, s.drop(ctx, s.fill(ctx, set), s.k)))
	if len(column)+left > s.k { // once more from the other end: one color after the other
		var first []int32
		var with []int
		for at, c := range column {
			if s.keep[c] {
				first, with = append(first, c), append(with, bought[at])
			}
		}
		other := s.exchange(ctx, s.fill(ctx, s.solve(first, with)))
		if (other.short > 0) == (set.short > 0) && other.cost < set.cost || other.short <= 0 && set.short > 0 {
			set = other
		}
	}
	s.remember(set)
	switch {
	case set.short > 0 && ctx.Err() != nil:
		return nil, ctx.Err()
	case set.short > 0:
		return nil, &Short{Cells: s.g.cells, Room: s.g.cells - set.short, Color: -1}
	}
	return set, nil
}

// tries is how many candidates are solved in full before the best is taken.
func (s *supplier) tries(set *supplySet) int {
	switch {
	case s.quick:
		return 2
	case set.short > 0:
		return 8
	}
	return 4
}

// enough says whether any choice of so many colors has room for all cells.
func (s *supplier) enough() error {
	if s.buy > 0 {
		return nil // one new color has room for all
	}
	var rooms []int64
	most := int64(0)
	for c := range s.color {
		room := max(0, s.owned[c]-s.fixed[c])
		if s.keep[c] {
			most += room
		} else {
			rooms = append(rooms, room)
		}
	}
	if s.bags > 0 {
		return nil // told by the search
	}
	slices.SortFunc(rooms, func(a, b int64) int { return cmp.Compare(b, a) })
	kept := len(s.color) - len(rooms)
	for i := 0; i < min(len(rooms), s.k-kept); i++ {
		most += rooms[i]
	}
	if most < s.g.cells {
		return &Short{Cells: s.g.cells, Room: most, Color: -1}
	}
	return nil
}

// addition is one more color, or one more bag, and what it saves at most.
type addition struct {
	column int32
	bought int // with it
	gain   int64
	price  int64 // to start from
}

// additions lists what could be bought or taken next, the one with the highest
// bound of its saving first. By duality nothing saves more than its bound
// (an unlimited color: what every cell would save at the prices; a bag: its
// largest savings; a refill: its drills at the color's price).
func (s *supplier) additions(set *supplySet) []addition {
	value := set.haul.values()
	at := make([]int, len(s.color))
	for c := range at {
		at[c] = -1
	}
	news, bags := 0, 0
	for a, c := range set.column {
		at[c] = a
		if set.bought[a] == endless {
			news++
		} else {
			bags += set.bought[a]
		}
	}
	var all []addition
	for c := range s.color {
		c := int32(c)
		a := at[c]
		switch {
		case a >= 0:
			if now := set.bought[a]; bags < s.bags {
				more := s.roomOf(c, now+1) - max(0, s.roomOf(c, now))
				all = append(all, addition{c, now + 1, more * set.haul.price[a], set.haul.price[a]})
			}
		case len(set.column) >= s.k: // no color more
		case s.owned[c] > 0:
			all = append(all, addition{column: c})
		case s.buy > 0 && news < s.buy:
			all = append(all, addition{column: c, bought: endless})
		case s.bags > 0 && bags < s.bags:
			all = append(all, addition{column: c, bought: 1})
		}
	}
	parallel(len(all), 8, func(_, lo, hi int) {
		for i := lo; i < hi; i++ {
			if a := &all[i]; at[a.column] < 0 {
				a.gain, a.price = s.g.saving(value, a.column, s.roomOf(a.column, a.bought))
			}
		}
	})
	slices.SortStableFunc(all, func(a, b addition) int { return cmp.Compare(b.gain, a.gain) })
	return all
}

// saving bounds what room in one more column saves, where value is what each
// client's cell is worth, and returns the price at which about as much is taken
// as there is room for.
func (g *goods) saving(value []int64, column int32, room int64) (most, price int64) {
	type gain struct{ each, cells int64 }
	var gains []gain
	cells := int64(0)
	for i, v := range value {
		if d := v - g.at(int32(i), column); d > 0 {
			most += d * g.count[i]
			cells += g.count[i]
			if room < Unlimited {
				gains = append(gains, gain{d, g.count[i]})
			}
		}
	}
	if cells <= room {
		return most, 0
	}
	slices.SortFunc(gains, func(a, b gain) int { return cmp.Compare(b.each, a.each) })
	most = 0
	for _, v := range gains {
		take := min(room, v.cells)
		most += take * v.each
		if room -= take; room == 0 {
			return most, v.each
		}
	}
	return most, 0
}

// best solves the most promising additions to a set, and returns the best, or
// nil if none saves anything.
func (s *supplier) best(ctx context.Context, set *supplySet, all []addition, tries int) *supplySet {
	var best *supplySet
	for _, a := range all {
		if tries == 0 || ctx.Err() != nil || a.gain <= 0 || best != nil && set.cost-best.cost >= a.gain {
			break
		}
		tries--
		if got := s.add(set, a); best == nil || got.cost < best.cost {
			best = got
		}
	}
	if best == nil || best.cost >= set.cost {
		return nil
	}
	return best
}

// add solves a set with one thing more.
func (s *supplier) add(set *supplySet, a addition) *supplySet {
	column, bought := slices.Clone(set.column), slices.Clone(set.bought)
	at, has := slices.BinarySearch(column, a.column)
	if has {
		bought[at] = a.bought
	} else {
		column, bought = slices.Insert(column, at, a.column), slices.Insert(bought, at, a.bought)
	}
	price := slices.Clone(s.price)
	for b, c := range set.haul.column {
		price[c] = set.haul.price[b]
	}
	price[a.column] = a.price
	return s.solveFrom(column, bought, price)
}

// without solves a set without a column, or with one bag of it less.
func (s *supplier) without(set *supplySet, at int, bag bool) *supplySet {
	column, bought := slices.Clone(set.column), slices.Clone(set.bought)
	if bag && (bought[at] > 1 || s.owned[column[at]] > 0) {
		bought[at]--
	} else {
		column, bought = slices.Delete(column, at, at+1), slices.Delete(bought, at, at+1)
	}
	price := slices.Clone(s.price)
	for b, c := range set.haul.column {
		price[c] = set.haul.price[b]
	}
	return s.solveFrom(column, bought, price)
}
