package stash

import (
	"container/heap"
	"context"
	"math"

	"kitwright/internal/say"
	"kitwright/lab"
)

// Wanted is a color of a picture of which too few drills are owned.
type Wanted struct {
	Color  lab.Color
	Drills int // that its stand-in must have
}

// Offer is an owned color that may stand in.
type Offer struct {
	Color  lab.Color
	Drills int
	For    func(want int) bool // whether it may stand in for a wanted color at all; nil = for any
}

// StandIns is the answer to all shortages of a picture together.
type StandIns struct {
	For    []int // the offer for each wanted color; -1 = none, so it has to be bought
	Cost   int64 // drills times difference in 1/8192, summed over those that have one
	Proven bool  // no other answer leaves fewer to be bought, and none of as few costs less
}

// scale is the unit of differences in costs: 1/8192 of a CIEDE2000.
const scale = 8192

// Limits that keep all sums within 63 bits.
const (
	MostWanted = 200 // colors that fall short
	MostWithin = 30  // how far a stand-in may be
	mostDrills = 2_000_000
)

// mostTries is how many assignments are solved before the best answer so far
// has to do. 300 pictures with 8 to 15 shortages took at most a few dozen.
const mostTries = 3000

// FindStandIns chooses owned colors in place of wanted ones: as few colors as
// possible are left to buy, and then the sum of drills times difference
// (CIEDE2000) is the smallest. An offer is used once, is no farther than within
// from what it replaces, and no two colors of the picture come nearer to each
// other than apart, unless the colors they stand for were as near already.
// Kept are the colors that stay.
//
// It is an assignment problem but for the pairs that must not meet. So the
// assignment is solved without them (Hungarian method: H. W. Kuhn, Naval Res.
// Logist. Q. 2 (1955) 83; in the shortest-path form of R. Jonker, A. Volgenant,
// Computing 38 (1987) 325), and where two meet, one half of the answers that
// remain is without the first and the other without the second: best first.
func FindStandIns(ctx context.Context, wanted []Wanted, kept []lab.Color, offers []Offer, apart, within float64) (StandIns, error) {
	if len(wanted) > MostWanted {
		return StandIns{}, say.Failed("take the list in parts", "%d colors fall short, and stand-ins are looked for of at most %d at once", len(wanted), MostWanted)
	}
	s := newSearch(wanted, kept, offers, apart, min(within, MostWithin))
	open := &queue{}
	if n := s.node(nil); n != nil {
		heap.Push(open, n)
	}
	for tries := 1; open.Len() > 0; tries++ {
		if err := ctx.Err(); err != nil {
			return StandIns{}, err
		}
		n := heap.Pop(open).(*node)
		i, j := s.meeting(n.chosen)
		if i < 0 {
			return s.answer(n.chosen, true), nil
		}
		if tries >= mostTries {
			return s.answer(s.parted(n.chosen), false), nil
		}
		for _, ban := range [2]ban{{i, n.chosen[i]}, {j, n.chosen[j]}} {
			if child := s.node(append(n.bans[:len(n.bans):len(n.bans)], ban)); child != nil {
				heap.Push(open, child)
			}
		}
	}
	all := make([]int, len(wanted)) // nothing replaced, which is always allowed
	for i := range all {
		all[i] = -1
	}
	return s.answer(all, true), nil
}

// search is the problem in integers.
type search struct {
	wanted []Wanted
	offers []Offer
	cost   [][]int64 // of each wanted color, each offer; -1 = it may not
	none   int64     // what it costs to have to buy: more than all stand-ins together
	never  int64     // more than any answer costs
	apart  float64
	order  int
}

func newSearch(wanted []Wanted, kept []lab.Color, offers []Offer, apart, within float64) *search {
	s := &search{wanted: wanted, offers: offers, apart: apart, none: 1}
	for i, w := range wanted {
		row, most := make([]int64, len(offers)), int64(0)
		for a, o := range offers {
			e := lab.DeltaE(w.Color, o.Color)
			row[a] = -1
			if o.Drills < w.Drills || e > within || o.For != nil && !o.For(i) || !s.besideKept(w.Color, o.Color, kept) {
				continue
			}
			row[a] = int64(min(w.Drills, mostDrills)) * int64(math.Round(e*scale))
			most = max(most, row[a])
		}
		s.cost = append(s.cost, row)
		s.none += most
	}
	s.never = s.none * int64(len(wanted)+1)
	return s
}

// besideKept says whether an offer can stand beside the colors that stay.
func (s *search) besideKept(was, is lab.Color, kept []lab.Color) bool {
	for _, k := range kept {
		if !s.farEnough(lab.DeltaE(was, k), lab.DeltaE(is, k)) {
			return false
		}
	}
	return true
}

// farEnough says whether two colors of the new picture lie far enough apart,
// given how far those lie apart that they stand for.
func (s *search) farEnough(was, is float64) bool { return is >= s.apart || is >= was }

// color is what a wanted color becomes.
func (s *search) color(i, choice int) lab.Color {
	if choice < 0 {
		return s.wanted[i].Color
	}
	return s.offers[choice].Color
}

// meeting returns two wanted colors whose choices come too near to each other,
// -1 where there are none.
func (s *search) meeting(chosen []int) (i, j int) {
	for i := range chosen {
		for j := range i {
			if chosen[i] < 0 && chosen[j] < 0 {
				continue
			}
			was := lab.DeltaE(s.wanted[i].Color, s.wanted[j].Color)
			if !s.farEnough(was, lab.DeltaE(s.color(i, chosen[i]), s.color(j, chosen[j]))) {
				return i, j
			}
		}
	}
	return -1, -1
}

// parted gives choices up until no two meet.
func (s *search) parted(chosen []int) []int {
	out := append([]int{}, chosen...)
	for {
		i, j := s.meeting(out)
		switch {
		case i < 0:
			return out
		case out[i] >= 0:
			out[i] = -1
		default:
			out[j] = -1
		}
	}
}

func (s *search) answer(chosen []int, proven bool) StandIns {
	a := StandIns{For: chosen, Proven: proven}
	for i, c := range chosen {
		if c >= 0 {
			a.Cost += s.cost[i][c]
		}
	}
	return a
}

// ban forbids a wanted color one choice; -1 forbids to buy it.
type ban struct{ want, choice int }

// node is all answers without what is banned, and the best assignment of them.
type node struct {
	bans   []ban
	chosen []int
	cost   int64
	order  int // of making: equal costs are taken in this order
}

// node solves the assignment without what is banned; nil if there is none.
func (s *search) node(bans []ban) *node {
	n, m := len(s.wanted), len(s.offers)
	cost := make([][]int64, n)
	for i := range cost {
		cost[i] = make([]int64, m+n) // the last n are to buy it
		for j, c := range s.cost[i] {
			if cost[i][j] = c; c < 0 {
				cost[i][j] = s.never
			}
		}
		for j := m; j < m+n; j++ {
			cost[i][j] = s.none
		}
	}
	for _, b := range bans {
		if b.choice >= 0 {
			cost[b.want][b.choice] = s.never
			continue
		}
		for j := m; j < m+n; j++ {
			cost[b.want][j] = s.never
		}
	}
	x := &node{bans: bans, chosen: assign(cost), order: s.order}
	s.order++
	for i, c := range x.chosen {
		if cost[i][c] >= s.never {
			return nil
		}
		x.cost += cost[i][c]
		if c >= m {
			x.chosen[i] = -1
		}
	}
	return x
}

// assign gives each row a column of its own so that the sum is the smallest;
// there are at least as many columns as rows.
func assign(cost [][]int64) []int {
	n := len(cost)
	if n == 0 {
		return nil
	}
	m := len(cost[0])
	const far = math.MaxInt64 / 2
	u, v := make([]int64, n+1), make([]int64, m+1) // prices of rows and columns, from 1
	row := make([]int, m+1)                        // the row of a column; 0 = none
	from := make([]int, m+1)
	for i := 1; i <= n; i++ {
		row[0] = i
		least, done := make([]int64, m+1), make([]bool, m+1)
		for j := range least {
			least[j] = far
		}
		at := 0
		for row[at] != 0 {
			done[at] = true
			r, delta, next := row[at], int64(far), 0
			for j := 1; j <= m; j++ {
				if done[j] {
					continue
				}
				if c := cost[r-1][j-1] - u[r] - v[j]; c < least[j] {
					least[j], from[j] = c, at
				}
				if least[j] < delta {
					delta, next = least[j], j
				}
			}
			for j := 0; j <= m; j++ {
				if done[j] {
					u[row[j]] += delta
					v[j] -= delta
				} else {
					least[j] -= delta
				}
			}
			at = next
		}
		for at != 0 {
			row[at] = row[from[at]]
			at = from[at]
		}
	}
	out := make([]int, n)
	for j := 1; j <= m; j++ {
		if row[j] > 0 {
			out[row[j]-1] = j - 1
		}
	}
	return out
}

// queue gives the cheapest node first.
type queue []*node

func (q queue) Len() int { return len(q) }
func (q queue) Less(i, j int) bool {
	return q[i].cost < q[j].cost || q[i].cost == q[j].cost && q[i].order < q[j].order
}
func (q queue) Swap(i, j int) { q[i], q[j] = q[j], q[i] }
func (q *queue) Push(x any)   { *q = append(*q, x.(*node)) }
func (q *queue) Pop() any {
	last := (*q)[len(*q)-1]
	*q = (*q)[:len(*q)-1]
	return last
}
