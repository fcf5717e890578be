package place

import (
	"cmp"
	"math"
	"slices"
	"sort"

	"kitwright/internal/par"
	"kitwright/lab"
)

// swap is an exchange: the place in the chosen that is emptied, and what comes
// in.
type swap struct {
	out, in int
	value   int64 // of near misses, as a promise
}

// promises say of exchanges what they promise by near misses alone.
type promises struct {
	from  []lab.Point
	light []int     // all of them, dark to light
	near  [][]rival // of each cell, the colors that are less than far off
	far   []int64
}

// rival is a color and how far it is off.
type rival struct {
	color uint16
	off   int32
}

func newPromises(from []lab.Color, cells int) *promises {
	p := &promises{near: make([][]rival, cells), far: make([]int64, cells)}
	for j, c := range from {
		p.from, p.light = append(p.from, lab.PointOf(c)), append(p.light, j)
	}
	slices.SortStableFunc(p.light, func(i, j int) int { return cmp.Compare(from[i].L, from[j].L) })
	return p
}

// look lists the colors that are less than so far off a cell, unless it has.
func (p *promises) look(i int, here lab.Point, far int64) {
	if far <= p.far[i] {
		return
	}
	far += far / 8 // the next exchange may ask for a little more
	off := float64(far) / unit
	var list []rival
	first := sort.Search(len(p.light), func(k int) bool { return p.from[p.light[k]].L >= here.L-float64(mostLight*off) })
	for _, j := range p.light[first:] {
		c := p.from[j]
		if c.L > here.L+float64(mostLight*off) {
			break
		}
		if here.Beyond(c, off) {
			continue
		}
		d := here.Within(c, off)
		if math.IsInf(d, 1) {
			continue
		}
		if d := int64(math.Round(d * unit)); d < far {
			list = append(list, rival{uint16(j), int32(d)})
		}
	}
	p.near[i], p.far[i] = list, far
}

// ranked returns the exchanges that promise most: what a color would save on
// the laid picture where it is nearer than what lies there, less what the one
// that leaves costs.
func (p *promises) ranked(l *layer, chosen []int, ex Exchanges) []swap {
	n, m := len(chosen), len(p.from)
	sums := make([][]int64, par.Count(l.rows)) // by color that comes in and place that is emptied; the last place is none, the last color nothing
	for k := range sums {
		sums[k] = make([]int64, (m+1)*(n+1))
	}
	par.Workers(l.rows, func(worker, y int) {
		sum := sums[worker]
		for x := range l.cols {
			i, q := y*l.cols+x, l.place(x, y)
			if !l.free[q] {
				continue
			}
			now, next := l.ownAndNext(i, q)
			p.look(i, lab.PointOf(l.grid.Cells[i]), next)
			w := int64(weightOne)
			if l.weight != nil {
				w = l.weight[i]
			}
			own := int(l.at[q])
			for _, r := range p.near[i] {
				d, at := int64(r.off), int(r.color)*(n+1)
				if d < now {
					sum[at+n] += (now - d) * w / weightOne
				}
				if d < next {
					sum[at+own] += (next - max(d, now)) * w / weightOne // it need not go to the next
				}
			}
			sum[m*(n+1)+own] -= (next - now) * w / weightOne
		}
	})
	total := sums[0]
	for _, sum := range sums[1:] {
		for k, v := range sum {
			total[k] += v
		}
	}
	return best(chosen, total, m, ex)
}

// ownAndNext returns how far the color of a cell is off, and the one it would
// have to go to.
func (l *layer) ownAndNext(i, q int) (own, next int64) {
	here := lab.PointOf(l.grid.Cells[i])
	choice, n := l.choice[q*l.kept:], l.offered(q)
	at := l.at[q]
	own, next = int64(l.off(here, at)), none
	if at != choice[0] { // another is nearer
		return own, own
	}
	for _, c := range choice[1:n] {
		next = min(next, int64(l.off(here, c)))
	}
	if n == 1 {
		for c := range l.points {
			if c != int(at) {
				next = min(next, int64(l.off(here, uint16(c))))
			}
		}
	}
	return own, max(own, next)
}

// best names the best place for each color that may come in, and returns those
// that promise most, ties by index.
func best(chosen []int, total []int64, m int, ex Exchanges) []swap {
	n := len(chosen)
	leaves := total[m*(n+1):]
	var all []swap
	for j := range m {
		if slices.Contains(chosen, j) || slices.Contains(ex.Out, j) {
			continue
		}
		most := swap{out: -1}
		for s := range n {
			if slices.Contains(ex.Stay, chosen[s]) {
				continue
			}
			if v := total[j*(n+1)+n] + total[j*(n+1)+s] + leaves[s]; most.out < 0 || v > most.value {
				most = swap{s, j, v}
			}
		}
		if most.out >= 0 {
			all = append(all, most)
		}
	}
	slices.SortStableFunc(all, func(a, b swap) int {
		return cmp.Or(cmp.Compare(b.value, a.value), cmp.Compare(a.in, b.in))
	})
	return all[:min(asked, len(all))]
}
