package roll

import (
	"cmp"
	"slices"
)

// segment is a piece of the skyline: from x on, w wide, all below y taken.
type segment struct{ x, w, y int64 }

// skyline is the upper edge of what lies on a stretch, from left to right.
type skyline []segment

// over returns on what height something w wide lies that begins at the left
// edge of a segment, and how much room it leaves unused below itself; ok is
// false where it does not fit.
func (s skyline) over(at int, w, width int64) (y, waste int64, ok bool) {
	if s[at].x+w > width {
		return 0, 0, false
	}
	for i, left := at, w; left > 0; i++ {
		y = max(y, s[i].y)
		left -= s[i].w
	}
	for i, left := at, w; left > 0; i++ {
		waste += min(left, s[i].w) * (y - s[i].y)
		left -= s[i].w
	}
	return y, waste, true
}

// put returns the skyline with something on it: from x to x + w, up to top.
func (s skyline) put(x, w, top int64) skyline {
	out := make(skyline, 0, len(s)+2)
	add := func(g segment) {
		if g.w <= 0 {
			return
		}
		if n := len(out); n > 0 && out[n-1].y == g.y {
			out[n-1].w += g.w
			return
		}
		out = append(out, g)
	}
	done := false
	for _, g := range s {
		end := g.x + g.w
		if end <= x || g.x >= x+w {
			if g.x >= x+w && !done {
				add(segment{x, w, top})
				done = true
			}
			add(g)
			continue
		}
		add(segment{g.x, x - g.x, g.y})
		if !done {
			add(segment{x, w, top})
			done = true
		}
		add(segment{x + w, end - (x + w), g.y})
	}
	return out
}

// lay lays the items in an order, each where its upper edge comes lowest; of
// such places where the least room is wasted, and then the leftmost. A stretch
// that an item does not fit on any more is not looked at again for it.
func (p *packing) lay(order []int) *Plan {
	plan := &Plan{}
	var lines []skyline
	for _, i := range order {
		type place struct {
			run        int
			grown, top int64
			waste, x   int64
			way        way
		}
		var best place
		found := false
		for r := 0; r <= len(lines); r++ {
			line := skyline{{0, p.width, 0}}
			var long int64
			if r < len(lines) {
				line, long = lines[r], plan.Long[r]
			} else if found {
				break
			}
			for _, w := range p.ways(p.items[i]) {
				for at := range line {
					y, waste, ok := line.over(at, w.w, p.width)
					top := y + w.h
					if !ok || top > p.most {
						continue
					}
					c := place{r, max(0, top-long), top, waste, line[at].x, w}
					if !found || less(c.grown, best.grown, c.top, best.top, c.waste, best.waste, c.x, best.x) {
						best, found = c, true
					}
				}
			}
		}
		if best.run == len(lines) {
			lines = append(lines, skyline{{0, p.width, 0}})
			plan.Runs, plan.Long = append(plan.Runs, nil), append(plan.Long, 0)
		}
		r := best.run
		lines[r] = lines[r].put(best.x, best.way.w, best.top)
		plan.Runs[r] = append(plan.Runs[r], Placed{i, best.x, best.top - best.way.h, best.way.turned})
		plan.Long[r] = max(plan.Long[r], best.top)
	}
	for _, l := range plan.Long {
		plan.Length += l
	}
	return plan
}

// less compares pairs in order.
func less(pairs ...int64) bool {
	for i := 0; i < len(pairs); i += 2 {
		if pairs[i] != pairs[i+1] {
			return pairs[i] < pairs[i+1]
		}
	}
	return false
}

// heuristic tries many orders: sorted ones first, then the best so far with
// some items elsewhere.
func (p *packing) heuristic() *Plan {
	n := len(p.items)
	keys := []func(Item) int64{
		func(it Item) int64 { return it.H }, func(it Item) int64 { return it.W },
		func(it Item) int64 { return it.W * it.H }, func(it Item) int64 { return max(it.W, it.H) },
		func(it Item) int64 { return it.W + it.H },
	}
	var best *Plan
	var order []int
	try := func(o []int) {
		if plan := p.lay(o); best == nil || plan.Length <= best.Length {
			best, order = plan, slices.Clone(o)
		}
	}
	for _, key := range keys {
		o := make([]int, n)
		for i := range o {
			o[i] = i
		}
		slices.SortStableFunc(o, func(a, b int) int { return cmp.Compare(key(p.items[b]), key(p.items[a])) })
		try(o)
	}
	seed := uint64(0x9E3779B97F4A7C15) // any number but 0: the steps of a xorshift generator
	random := func(n int) int {
		seed ^= seed << 13
		seed ^= seed >> 7
		seed ^= seed << 17
		return int(seed>>33) % n
	}
	least := p.simpleBound()
	for t := 0; t < p.orders && n > 1 && best.Length > least; t++ {
		if p.ctx.Err() != nil {
			break
		}
		o := slices.Clone(order)
		for range 1 + random(3) {
			a, b := random(n), random(n)
			if random(2) == 0 {
				o[a], o[b] = o[b], o[a]
				continue
			}
			moved := o[a]
			o = slices.Insert(slices.Delete(o, a, a+1), min(b, n-1), moved)
		}
		try(o)
	}
	return best
}
