package roll

import (
	"encoding/binary"
	"slices"
)

// The exact search. Any laying can be pushed down and to the left until nothing
// moves; then each item lies on another or on the edge, with its left side at a
// sum of other items' widths, and none of this makes it longer. Such layings
// are built from below: the lowest piece of the skyline, of those the leftmost,
// gets an item or is closed. An item begins at the piece's left end, or, where
// something that lies on the left neighbor can hang over, at a sum of widths
// further right; what is left of it is closed up to the lower neighbor, as
// nothing that rests can end there any more. Items of a level come from left to
// right, so no laying is built twice from the same items' places. Seen from the
// other side or the other end a laying is as long, so the largest item, if there
// is but one of it, lies in the lower left quarter.

const (
	mostExact     = 40   // items
	mostPositions = 3000 // sums of widths
)

// exactSearch is the state of a search.
type exactSearch struct {
	*packing
	kinds  []kind
	at     []int64 // sums of widths
	left   []int64 // items of each kind that are not laid
	area   int64   // of those
	best   *Plan
	bound  int64
	nodes  int
	over   bool
	placed []kindPlaced
	seen   map[string]int64 // how long layings could be that were not found from here
	single int              // the kind that lies in the lower left quarter; -1: none
}

type kindPlaced struct {
	kind int
	x, y int64
	way  way
}

// exact looks for shorter layings than the best that is known, which it puts
// in its place, and returns the bound: the length itself if none is shorter.
func (p *packing) exact(best *Plan, bound int64) int64 {
	s := &exactSearch{packing: p, kinds: p.kinds(), best: best, bound: bound, nodes: p.nodes, seen: map[string]int64{}, single: -1}
	if len(p.items) > mostExact {
		return bound
	}
	if s.at = subsetSums(s.kinds, p.width, func(w way) int64 { return w.w }); s.at == nil || len(s.at) > mostPositions {
		return bound
	}
	var largest int64
	for i, k := range s.kinds {
		s.left = append(s.left, k.count())
		area := k.ways[0].w * k.ways[0].h
		s.area += k.count() * area
		if k.count() == 1 && area > largest {
			largest, s.single = area, i
		}
	}
	s.search(skyline{{0, p.width, 0}})
	if s.over && best.Length > bound {
		return bound
	}
	return best.Length
}

// done says whether the search is over: nothing shorter is possible, or the
// effort is spent.
func (s *exactSearch) done() bool {
	if s.best.Length <= s.bound {
		return true
	}
	if s.nodes <= 0 || s.nodes%1024 == 0 && s.ctx.Err() != nil {
		s.over = true
	}
	return s.over
}

// search builds on what lies.
func (s *exactSearch) search(line skyline) {
	s.nodes--
	if s.done() {
		return
	}
	if s.area == 0 {
		s.keep(line)
		return
	}
	limit := s.best.Length - 1
	low := 0
	free := int64(0)
	for i, g := range line {
		free += g.w * (limit - g.y)
		if g.y < line[low].y {
			low = i
		}
	}
	if free < s.area || s.hopeless(line[low].y, limit) {
		return
	}
	key := s.key(line)
	if tried, ok := s.seen[key]; ok && tried >= limit {
		return
	}
	g := line[low]
	leftY, rightY := limit+1, limit+1
	if low > 0 {
		leftY = line[low-1].y
	}
	if low < len(line)-1 {
		rightY = line[low+1].y
	}
	for i := range s.kinds {
		if s.left[i] == 0 {
			continue
		}
		for _, w := range s.kinds[i].ways {
			top := g.y + w.h
			if w.w > g.w || top > s.best.Length-1 {
				continue
			}
			s.put(line, g.x, g.y, i, w)
			if low == 0 || leftY >= top {
				continue // nothing could hang over
			}
			from, _ := slices.BinarySearch(s.at, g.x+1)
			for _, x := range s.at[from:] {
				if x+w.w > g.x+g.w || s.done() {
					break
				}
				s.put(line.put(g.x, x-g.x, leftY), x, g.y, i, w)
			}
		}
	}
	if up := min(leftY, rightY); len(line) > 1 && up <= limit && !s.done() {
		s.search(line.put(g.x, g.w, up))
	}
	if !s.done() {
		s.seen[key] = s.best.Length - 1
	}
}

// put lays an item of a kind and goes on.
func (s *exactSearch) put(line skyline, x, y int64, kind int, w way) {
	if kind == s.single && (2*x > s.width-w.w || 2*y > s.best.Length-1-w.h) {
		return
	}
	s.left[kind]--
	s.area -= w.w * w.h
	s.placed = append(s.placed, kindPlaced{kind, x, y, w})
	s.search(line.put(x, w.w, y+w.h))
	s.placed = s.placed[:len(s.placed)-1]
	s.area += w.w * w.h
	s.left[kind]++
}

// hopeless says whether items that are left cannot lie above y under the limit:
// one that is too long, or those that are wider than half the roll, which lie
// one above the other.
func (s *exactSearch) hopeless(y, limit int64) bool {
	stacked := int64(0)
	for i, k := range s.kinds {
		if s.left[i] == 0 {
			continue
		}
		least, wide := k.ways[0].h, true
		for _, w := range k.ways {
			least, wide = min(least, w.h), wide && 2*w.w > s.width
		}
		if y+least > limit {
			return true
		}
		if wide {
			stacked += s.left[i] * least
		}
	}
	return y+stacked > limit
}

// key tells states apart: the skyline and what is left.
func (s *exactSearch) key(line skyline) string {
	b := make([]byte, 0, 16*(len(line)+len(s.left)))
	for _, n := range s.left {
		b = binary.AppendVarint(b, n)
	}
	for _, g := range line {
		b = binary.AppendVarint(binary.AppendVarint(b, g.w), g.y)
	}
	return string(b)
}

// keep makes what lies the best plan.
func (s *exactSearch) keep(line skyline) {
	long := int64(0)
	for _, g := range line {
		long = max(long, g.y)
	}
	if long >= s.best.Length {
		return
	}
	var run []Placed
	used := make([]int, len(s.kinds))
	for _, q := range s.placed {
		i := s.kinds[q.kind].items[used[q.kind]]
		used[q.kind]++
		run = append(run, Placed{i, q.x, q.y, s.items[i].W != q.way.w || s.items[i].H != q.way.h})
	}
	*s.best = Plan{Runs: [][]Placed{run}, Long: []int64{long}, Length: long}
}
