package quantize

import (
	"cmp"
	"context"
	"slices"
)

// losses bounds what the set loses at least without each of its columns: by
// duality, what its clients pay more elsewhere at the prices, and its room at its
// price. Columns that have to stay lose everything.
func (s *supplier) losses(set *supplySet) []int64 {
	h := set.haul
	loss := make([]int64, len(set.column))
	for a, c := range set.column {
		if s.keep[c] {
			loss[a] = never
			continue
		}
		if p := h.price[a]; p > 0 && h.room[a] < Unlimited {
			loss[a] = p * h.room[a]
		}
		for _, i := range h.serves[a] {
			if _, least := h.nearest(i, int32(a)); least < never {
				own := h.at(i, h.column[a]) + h.price[a]
				loss[a] += h.count[i] * max(0, least-own)
			}
		}
	}
	return loss
}

// drop leaves out what is missed least until so many columns are left.
func (s *supplier) drop(ctx context.Context, set *supplySet, k int) *supplySet {
	for len(set.column) > k {
		loss := s.losses(set)
		order := make([]int, len(loss))
		for a := range order {
			order[a] = a
		}
		slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(loss[a], loss[b]) })
		if many := (len(set.column) - k) / 4; many > 1 {
			gone := order[:many]
			slices.Sort(gone)
			column, bought := slices.Clone(set.column), slices.Clone(set.bought)
			for _, a := range slices.Backward(gone) {
				column, bought = slices.Delete(column, a, a+1), slices.Delete(bought, a, a+1)
			}
			set = s.remember(s.solve(column, bought))
			continue
		}
		var best *supplySet
		for i, a := range order {
			if i >= s.tries(set) || s.keep[set.column[a]] || best != nil && (best.cost-set.cost <= loss[a] || ctx.Err() != nil) {
				break
			}
			if got := s.without(set, a, false); best == nil || got.cost < best.cost {
				best = got
			}
		}
		if best == nil {
			return set // all that is left has to stay
		}
		set = s.remember(best)
	}
	return set
}

// fill takes in owned colors, and buys, as long as there is room and it helps.
func (s *supplier) fill(ctx context.Context, set *supplySet) *supplySet {
	for ctx.Err() == nil {
		better := s.best(ctx, set, s.additions(set), s.tries(set))
		if better == nil {
			break
		}
		set = s.remember(better)
	}
	return set
}

// exchange gives one thing for another, as long as that helps: what is missed
// least goes, and what then saves most comes.
func (s *supplier) exchange(ctx context.Context, set *supplySet) *supplySet {
	if s.quick {
		return set
	}
	for ctx.Err() == nil {
		loss := s.losses(set)
		order := make([]int, 0, len(loss))
		for a, c := range set.column {
			binding := len(set.column) >= s.k // a color has to go for another to come
			if bag := set.bought[a] > 0; bag {
				loss[a] = 0 // of one bag alone nothing is known
			}
			if set.bought[a] != 0 && !s.keep[c] || set.bought[a] > 1 || binding && !s.keep[c] {
				order = append(order, a)
			}
		}
		slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(loss[a], loss[b]) })
		better := s.giveOne(ctx, set, order)
		if better == nil {
			better = s.giveTwo(ctx, set, order)
		}
		if better == nil {
			break
		}
		set = s.remember(better)
	}
	return set
}

// giveOne exchanges the first of order that helps.
func (s *supplier) giveOne(ctx context.Context, set *supplySet, order []int) *supplySet {
	for i, a := range order {
		if i >= s.limits.kicks+4 || ctx.Err() != nil {
			break
		}
		rest := s.without(set, a, set.bought[a] > 0)
		got := s.best(ctx, rest, s.additions(rest), s.tries(rest))
		if got != nil && got.cost < set.cost {
			return s.fill(ctx, got)
		}
	}
	return nil
}

// giveTwo exchanges two colors at once, of the first of order.
func (s *supplier) giveTwo(ctx context.Context, set *supplySet, order []int) *supplySet {
	if s.bags > 0 {
		return nil // gains a tenth of a percent at most, and takes seconds
	}
	const first, tries = 5, 3
	order = order[:min(first, len(order))]
	for i, a := range order {
		for _, b := range order[:i] {
			rest := s.without(set, max(a, b), false)
			rest = s.without(rest, min(a, b), false)
			for range 2 {
				if got := s.best(ctx, rest, s.additions(rest), tries); got != nil {
					rest = got
				}
			}
			if ctx.Err() != nil {
				return nil
			}
			if rest = s.fill(ctx, rest); rest.cost < set.cost {
				return rest
			}
		}
	}
	return nil
}
