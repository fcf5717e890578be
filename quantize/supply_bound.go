package quantize

import (
	"cmp"
	"context"
	"math"
	"slices"
)

// bound proves how little any choice and purchase could cost on the bins.
//
// Bags: one more color, the shop, as near to each cell as the nearest of all
// that can be bought, with room for as much as so many bags can hold. Every
// purchase can be had from it, so its transport costs no more than the best.
//
// New colors, or fewer than are owned: a Lagrangian bound by offers u of the
// clients and prices p of the owned colors,
//
//	sum of count*u + the least sum over allowed choices of rho,
//	rho(c) = sum of count*min(0, cost + p(c) - u) - p(c)*room(c),
//
// raised by the volume algorithm (F. Barahona, R. Anbil, "The volume algorithm:
// producing primal solutions with a subgradient method", Math. Programming 87,
// 2000; deflected, without its primal part). Where every owned color may be in,
// no offer need lie above the least cost and price of those, and their rho is
// only their room at its price. What the root leaves open is then proven in
// parts: see prove.
func (s *supplier) bound(ctx context.Context, set *supplySet) (best *supplySet, bound int64) {
	owned := 0
	for c := range s.color {
		if !s.isNew(int32(c)) || s.keep[c] {
			owned++
		}
	}
	if s.bags > 0 {
		return set, s.shop(set)
	}
	if s.buy == 0 && owned <= s.k {
		return set, set.cost
	}
	v := s.newVolume(set, owned+s.buy > s.k)
	v.raise(ctx, s.limits.steps, set.cost)
	return s.prove(ctx, v, set)
}

// shop is the bound for bags.
func (s *supplier) shop(set *supplySet) int64 {
	all := len(s.color)
	var column []int32
	var room, price []int64
	most := int64(0) // that one bag more gives, on average, in any color
	for c := range s.color {
		c := int32(c)
		own := s.roomOf(c, 0)
		if own > 0 {
			column, room, price = append(column, c), append(room, own), append(price, s.price[c])
		}
		for z := 1; z <= s.bags; z++ {
			more := s.roomOf(c, z) - max(0, own)
			most = max(most, (more*int64(s.bags)+int64(z)-1)/int64(z))
		}
	}
	// A copy of the costs in which the column of no color is the shop's.
	g := *s.g
	g.cost = slices.Clone(s.g.cost)
	for at := 0; at < len(g.cost); at += g.cols {
		g.cost[at+all] = slices.Min(g.cost[at : at+all])
	}
	column, room, price = append(column, int32(all)), append(room, most), append(price, 0)
	sum := int64(0)
	for _, r := range room {
		sum += r
	}
	if sum < g.cells {
		return 0 // nothing suffices
	}
	return newHaul(&g, column, room, price).total()
}

// supplyVolume raises the Lagrangian bound.
type supplyVolume struct {
	*supplier
	binding bool    // not all owned colors may be in
	u       []int64 // client -> offer; where not binding, how far it lies below the least cost and price of the owned
	p       []int64 // column -> price of its room; none for what is bought without end
	fresh   []bool  // column: bought without end

	in, out []bool    // column: has to be in, may not be (parts of a proof)
	often   []float64 // column: how often it was chosen of late

	rho    []int64
	chosen []bool
	r      []int64 // client -> 1 - how many chosen columns serve it
	over   []int64 // column -> cells served above its room
	best   int64
}

func (s *supplier) newVolume(set *supplySet, binding bool) *supplyVolume {
	n, m := s.g.clients(), len(s.color)
	v := &supplyVolume{supplier: s, binding: binding, u: make([]int64, n), p: make([]int64, m), fresh: make([]bool, m),
		in: make([]bool, m), out: make([]bool, m), often: make([]float64, m), rho: make([]int64, m), chosen: make([]bool, m), r: make([]int64, n), over: make([]int64, m), best: math.MinInt64}
	for c := range v.fresh {
		v.fresh[c] = s.isNew(int32(c)) || s.keep[c] && s.owned[c] < s.fixed[c]
	}
	h := set.haul
	for a, c := range set.column {
		if !v.fresh[c] {
			v.p[c] = h.price[a]
		}
	}
	for i := range v.u {
		a, first := h.nearest(int32(i), -1)
		_, second := h.nearest(int32(i), a)
		mid := first + (min(second, 4*first)-first)/2
		switch {
		case binding:
			v.u[i] = mid
		case v.fresh[set.column[a]]:
			v.u[i] = max(0, v.least(int32(i))-mid)
		}
	}
	return v
}

// least is the least cost and price of a client at an owned column.
func (v *supplyVolume) least(i int32) int64 {
	line, f := v.g.line(i), v.g.factor[i]
	least := never
	for c, p := range v.p {
		if !v.fresh[c] {
			least = min(least, f*int64(line[c])+p)
		}
	}
	return least
}

// raise takes so many steps, towards what the best set costs.
func (v *supplyVolume) raise(ctx context.Context, steps int, target int64) {
	n, m := len(v.u), len(v.p)
	u, p := slices.Clone(v.u), slices.Clone(v.p) // of the best bound
	r, over := make([]float64, n), make([]float64, m)
	const keep, patience = 0.7, 8
	theta, idle := 0.6, 0
	for step := range steps {
		now := v.value()
		if now > v.best {
			v.best, idle = now, 0
			copy(u, v.u)
			copy(p, v.p)
			theta = min(1.5, theta*1.05)
		} else if idle++; idle >= patience {
			idle = 0
			theta /= 1.7
			copy(v.u, u)
			copy(v.p, p)
			if theta < 0.003 || step == steps-1 {
				break
			}
			v.value()
			clear(r)
			clear(over)
		}
		if v.best >= target || ctx.Err() != nil {
			break
		}
		share := 1 - keep
		if step == 0 {
			share = 1
		}
		norm := 0.0
		for i, d := range v.r {
			r[i] = float64(share*float64(d)) + float64((1-share)*r[i])
			if !v.binding && v.u[i] == 0 && r[i] > 0 {
				continue // it cannot be lowered
			}
			norm += float64(float64(r[i]*r[i]) * float64(v.g.count[i]))
		}
		for c, d := range v.over {
			over[c] = float64(share*float64(d)) + float64((1-share)*over[c])
			if !v.fresh[c] && (v.p[c] > 0 || over[c] > 0) {
				norm += float64(over[c]*over[c]) / float64(v.room(c)+1)
			}
		}
		for c, is := range v.chosen {
			now := 0.0
			if is {
				now = share
			}
			v.often[c] = now + float64((1-share)*v.often[c])
		}
		if norm == 0 {
			break
		}
		length := float64(theta*float64(target-now)) / norm
		v.step(length, r, over)
	}
	copy(v.u, u)
	copy(v.p, p)
}

func (v *supplyVolume) room(c int) int64 { return max(0, v.roomOf(int32(c), 0)) }

// step moves offers and prices.
func (v *supplyVolume) step(length float64, r, over []float64) {
	const most = 1 << 44
	by := func(x float64) int64 { return int64(math.Round(max(-most, min(most, float64(length*x))))) }
	for i := range v.u {
		if v.binding {
			v.u[i] = max(0, v.u[i]+by(r[i]))
		} else {
			v.u[i] = max(0, v.u[i]-by(r[i]))
		}
	}
	for c := range v.p {
		if !v.fresh[c] {
			v.p[c] = max(0, v.p[c]+by(over[c]/float64(v.room(c)+1)))
		}
	}
}

// value returns the bound at the present offers and prices, and sets r and over.
func (v *supplyVolume) value() int64 {
	n, m := len(v.u), len(v.p)
	v.work += int64(n) * int64(m)
	at := make([]int32, n) // client -> owned column of least cost and price
	offer := v.u
	if !v.binding {
		offer = make([]int64, n)
	}
	var sum [chunks]int64
	parts := make([][]int64, chunks)
	parallel(n, 256, func(part, lo, hi int) {
		rho := make([]int64, m)
		for i := lo; i < hi; i++ {
			line, f, count := v.g.line(int32(i)), v.g.factor[i], v.g.count[i]
			if !v.binding {
				least := never
				for c, p := range v.p {
					if w := f*int64(line[c]) + p; w < least && !v.fresh[c] {
						least, at[i] = w, int32(c)
					}
				}
				offer[i] = least - v.u[i]
			}
			o := offer[i]
			for c, p := range v.p {
				if w := f*int64(line[c]) + p - o; w < 0 {
					rho[c] += count * w
				}
			}
			sum[part] += count * o
		}
		parts[part] = rho
	})
	total := int64(0)
	clear(v.rho)
	for part, rho := range parts {
		total += sum[part]
		for c, w := range rho {
			v.rho[c] += w
		}
	}
	for c, p := range v.p {
		v.rho[c] -= p * v.room(c)
	}
	total += v.choose()
	v.residuals(offer, at)
	return total
}

// choose takes the allowed choice of least rho.
func (v *supplyVolume) choose() (sum int64) {
	var owned, fresh []int32
	k, buy := v.k, v.buy
	clear(v.chosen)
	take := func(c int32) {
		v.chosen[c] = true
		sum += v.rho[c]
	}
	for c := range v.rho {
		c := int32(c)
		switch {
		case v.keep[c] || v.in[c]:
			take(c)
			k--
			if v.fresh[c] {
				buy--
			}
		case v.out[c]:
		case !v.fresh[c]:
			owned = append(owned, c)
		default:
			fresh = append(fresh, c)
		}
	}
	if !v.binding {
		for _, c := range owned {
			take(c)
			k--
		}
		owned = nil
	}
	by := func(a, b int32) int { return cmp.Compare(v.rho[a], v.rho[b]) }
	slices.SortStableFunc(owned, by)
	slices.SortStableFunc(fresh, by)
	// The most negative of both, of the fresh at most so many.
	for o, f := 0, 0; k > 0; k-- {
		next := int32(-1)
		if o < len(owned) && v.rho[owned[o]] < 0 {
			next = owned[o]
		}
		if f < min(buy, len(fresh)) && v.rho[fresh[f]] < 0 && (next < 0 || v.rho[fresh[f]] < v.rho[next]) {
			next = fresh[f]
			f++
		} else {
			o++
		}
		if next < 0 {
			break
		}
		take(next)
	}
	return sum
}

// residuals sets by how much the choice misses serving each client once, and
// each room.
func (v *supplyVolume) residuals(offer []int64, at []int32) {
	var list []int32
	for c := range v.chosen {
		v.over[c] = 0
		if v.chosen[c] && (v.binding || v.fresh[c]) {
			list = append(list, int32(c))
			if !v.fresh[c] {
				v.over[c] = -v.room(c)
			}
		}
		if !v.binding && !v.fresh[c] {
			v.over[c] = -v.room(c)
		}
	}
	for i := range v.r {
		line, f := v.g.line(int32(i)), v.g.factor[i]
		v.r[i] = 1
		for _, c := range list {
			if f*int64(line[c])+v.p[c] < offer[i] {
				v.r[i]--
				if v.binding {
					v.over[c] += v.g.count[i]
				}
			}
		}
		if !v.binding {
			v.over[at[i]] += v.g.count[i] * v.r[i]
		}
	}
}
