package symbols

import (
	"fmt"
	"math"
	"slices"
)

// confusion[d] is how much a pair at distance d (ten-thousandths) adds to the
// risk, for each unit of its weight, in millionths: exp(-d/.08). Only products
// are used, so it is the same on every machine.
var confusion = func() (table [20001]int64) {
	const step = 0.9987507809245809 // exp(-.0001/.08)
	v := 1e6
	for i := range table {
		table[i] = int64(v + 0.5)
		v *= step
	}
	return table
}()

// The search: a swap stays forbidden for about as many steps as there are
// symbols; 600 steps are where the risk stops falling on charts like photos.
const tabuSteps = 600

// weightScale is what the largest weight becomes in whole numbers. Summed
// over 100 x 100 pairs, times a confusion of a million, it fits in 63 bits.
const weightScale = 1 << 20

// Assign gives each of n colors, 1 <= n <= Max, its own symbol so that colors
// that are easily mixed up get symbols that are not. Up to Sure colors get
// symbols of the first Sure, up to Named any named ones, more the first n.
//
// Weight says how much it matters to keep colors i and j (i < j) apart: 0 for
// not at all; only the ratios count. Useful weights are .7 times the share of
// neighboring drills that this pair has, damped by exp(-dE/15), plus .3 times
// exp(-dE/8) over its sum, with CIEDE2000. Negative weights and NaN are 0.
// A tenth of the mean is added to every pair, because a symbol is also looked
// up among all others in the legend: that costs the others next to nothing.
//
// It makes the sum of weight times exp(-distance/.08) small, by placing the
// most entangled color first and then by robust tabu search (Taillard, Robust
// taboo search for the quadratic assignment problem, Parallel Computing 17,
// 1991, pages 443-455), in whole numbers: the same weights give the same
// symbols anywhere.
func Assign(n int, weight func(i, j int) float64) []Symbol {
	return assign(n, first(choice(n)), upright, weight)
}

func assign(n int, from []int, d *pairs, weight func(i, j int) float64) []Symbol {
	if n < 1 || n > Max {
		panic(fmt.Sprintf("symbols: %d colors, there are symbols for 1 to %d", n, Max))
	}
	q := newAssignment(n, from, d, withLegend(n, weight))
	q.greedy()
	q.tabu(tabuSteps)
	out := make([]Symbol, n)
	for i := range out {
		out[i] = table[from[q.best[i]]]
	}
	return out
}

// first returns the indices of the first n symbols.
func first(n int) []int {
	all := make([]int, n)
	for i := range all {
		all[i] = i
	}
	return all
}

// choice is from how many symbols n colors get theirs.
func choice(n int) int {
	switch {
	case n <= Sure:
		return Sure
	case n <= Named:
		return Named
	}
	return n
}

// withLegend returns the weights with a tenth of their mean added.
func withLegend(n int, weight func(i, j int) float64) func(i, j int) float64 {
	sum := 0.0
	for i := range n {
		for j := i + 1; j < n; j++ {
			sum += usable(weight(i, j))
		}
	}
	more := sum / float64(max(1, n*(n-1)/2)) / 10
	return func(i, j int) float64 { return usable(weight(i, j)) + more }
}

// assignment is a quadratic assignment problem: m places (colors, and from n
// on nobody) and m symbols.
type assignment struct {
	n, m int
	w    [][]int64 // of two places
	s    [][]int64 // of two symbols
	at   []int     // the symbol of each place
	cost int64     // of at
	best []int
	low  int64 // cost of best
}

func newAssignment(n int, from []int, d *pairs, weight func(i, j int) float64) *assignment {
	m := len(from)
	q := &assignment{n: n, m: m, w: square64(m), s: square64(m)}
	top := 0.0
	for i := range n {
		for j := i + 1; j < n; j++ {
			top = max(top, usable(weight(i, j)))
		}
	}
	for i := range m {
		for j := i + 1; j < m; j++ {
			if j < n && top > 0 {
				q.w[i][j] = int64(math.Round(usable(weight(i, j)) / top * weightScale))
				q.w[j][i] = q.w[i][j]
			}
			q.s[i][j] = confusion[d[from[i]][from[j]]]
			q.s[j][i] = q.s[i][j]
		}
	}
	return q
}

func square64(m int) [][]int64 {
	all := make([]int64, m*m)
	rows := make([][]int64, m)
	for i := range rows {
		rows[i] = all[i*m : (i+1)*m]
	}
	return rows
}

func usable(w float64) float64 {
	if !(w > 0) || math.IsInf(w, 0) {
		return 0
	}
	return w
}

// greedy places the color with the most weight toward those already placed,
// on the free symbol that adds the least risk; ties go to the first.
func (q *assignment) greedy() {
	q.at = make([]int, q.m)
	placed, taken := make([]bool, q.m), make([]bool, q.m)
	flow := make([]int64, q.n) // to the placed; before that, to all
	for i := range flow {
		for j := range q.n {
			flow[i] += q.w[i][j]
		}
	}
	for k := range q.n {
		next := -1
		for i := range flow {
			if !placed[i] && (next < 0 || flow[i] > flow[next]) {
				next = i
			}
		}
		where, least := -1, int64(0)
		for p := range q.m {
			if taken[p] {
				continue
			}
			cost := int64(0)
			for j := range q.n {
				if placed[j] {
					cost += q.w[next][j] * q.s[p][q.at[j]]
				}
			}
			if where < 0 || cost < least {
				where, least = p, cost
			}
		}
		if k == 0 {
			clear(flow)
		}
		q.at[next], placed[next], taken[where] = where, true, true
		for i := range flow {
			flow[i] += q.w[i][next]
		}
	}
	free := 0
	for i := q.n; i < q.m; i++ {
		for taken[free] {
			free++
		}
		q.at[i], taken[free] = free, true
	}
	q.cost = q.risk()
	q.keep()
}

// risk is the cost of the assignment, counted afresh.
func (q *assignment) risk() (sum int64) {
	for i := range q.n {
		for j := range i {
			sum += q.w[i][j] * q.s[q.at[i]][q.at[j]]
		}
	}
	return sum
}

func (q *assignment) keep() {
	q.best, q.low = append(q.best[:0], q.at...), q.cost
}

// gain is what the cost changes by when places r and t swap symbols.
func (q *assignment) gain(r, t int) (sum int64) {
	wr, wt := q.w[r], q.w[t]
	sr, st := q.s[q.at[r]], q.s[q.at[t]]
	for k := range q.n {
		if k != r && k != t {
			p := q.at[k]
			sum += (wr[k] - wt[k]) * (st[p] - sr[p])
		}
	}
	return sum
}

// tabu swaps, step after step, the pair that lowers the cost most, or raises
// it least, but for a while gives no place a symbol back that it has left.
func (q *assignment) tabu(steps int) {
	gains := square64(q.m)
	left := square64(q.m) // [place][symbol]: forbidden until this step
	for r := range q.n {
		for t := r + 1; t < q.m; t++ {
			gains[r][t] = q.gain(r, t)
		}
	}
	dice := uint64(1)
	roll := func() int64 { // .9 m to 1.1 m
		dice = dice*6364136223846793005 + 1442695040888963407 // Knuth, MMIX
		return int64(9*q.m)/10 + int64((dice>>33)%uint64(q.m/5+1))
	}
	for step := int64(1); step <= int64(steps); step++ {
		br, bt, low := -1, -1, int64(math.MaxInt64)
		for r := range q.n {
			for t := r + 1; t < q.m; t++ {
				g := gains[r][t]
				if g >= low {
					continue
				}
				forbidden := left[r][q.at[t]] >= step || (t < q.n && left[t][q.at[r]] >= step)
				if forbidden && q.cost+g >= q.low {
					continue
				}
				br, bt, low = r, t, g
			}
		}
		if br < 0 {
			continue
		}
		left[br][q.at[br]] = step + roll()
		left[bt][q.at[bt]] = step + roll()
		q.update(gains, br, bt)
		q.cost += low
		if q.cost < q.low {
			q.keep()
		}
	}
}

// update swaps the symbols of places a and b and brings the gains up to date:
// those of pairs with a or b from scratch, the others by the difference.
func (q *assignment) update(gains [][]int64, a, b int) {
	pa, pb := q.at[a], q.at[b]
	q.at[a], q.at[b] = pb, pa
	for r := range q.n {
		if r == a || r == b {
			for t := r + 1; t < q.m; t++ {
				gains[r][t] = q.gain(r, t)
			}
			continue
		}
		wr, sr := q.w[r], q.s[q.at[r]]
		w, s := wr[a]-wr[b], sr[pa]-sr[pb]
		for t := r + 1; t < q.m; t++ {
			if t == a || t == b {
				gains[r][t] = q.gain(r, t)
				continue
			}
			wt, st := q.w[t], q.s[q.at[t]]
			gains[r][t] += (w - wt[a] + wt[b]) * (s - st[pa] + st[pb])
		}
	}
}

// Extend gives symbols to the colors that have none (a Rune of 0) and leaves
// all others theirs. Symbols in avoid are given only when no other is left. As
// many as Assign chooses from are open, more if those run out. The color most
// entangled with those that have a symbol comes first, and gets the one that
// adds the least risk; ties go to the first. Weight is that of Assign.
func Extend(have []Symbol, avoid map[rune]bool, weight func(i, j int) float64) []Symbol {
	return extend(have, avoid, upright, weight)
}

func extend(have []Symbol, avoid map[rune]bool, d *pairs, weight func(i, j int) float64) []Symbol {
	n := len(have)
	if n < 1 || n > Max {
		panic(fmt.Sprintf("symbols: %d colors, there are symbols for 1 to %d", n, Max))
	}
	open := choice(n)
	if d == turned {
		open = max(n, Named)
	}
	q := newAssignment(n, first(n), d, withLegend(n, weight)) // for its weights
	out := append([]Symbol(nil), have...)
	at, taken := make([]int, n), make(map[int]bool)
	var want []int
	for i, s := range have {
		if s.Rune == 0 {
			at[i], want = -1, append(want, i)
			continue
		}
		at[i] = byRune[s.Rune]
		taken[at[i]] = true
	}
	for ; len(want) > 0; want = without(want, at) {
		next, flow := -1, int64(-1)
		for _, i := range want {
			sum := int64(0)
			for j := range n {
				if at[j] >= 0 {
					sum += q.w[i][j]
				}
			}
			if sum > flow {
				next, flow = i, sum
			}
		}
		for _, pool := range [3]struct {
			most  int
			avoid map[rune]bool
		}{{open, avoid}, {Max, avoid}, {Max, nil}} {
			least := int64(math.MaxInt64)
			for p := range pool.most {
				if taken[p] || pool.avoid[table[p].Rune] {
					continue
				}
				cost := int64(0)
				for j := range n {
					if at[j] >= 0 {
						cost += q.w[next][j] * confusion[d[p][at[j]]]
					}
				}
				if cost < least {
					at[next], least = p, cost
				}
			}
			if at[next] >= 0 {
				break
			}
		}
		taken[at[next]] = true
		out[next] = table[at[next]]
	}
	return out
}

// without returns the colors that still have no symbol.
func without(want, at []int) []int {
	return slices.DeleteFunc(want, func(i int) bool { return at[i] >= 0 })
}
