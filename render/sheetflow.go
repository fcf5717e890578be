package render

import (
	"math/bits"

	"kitwright/chart"
)

// colorSets tells which colors a part of a strip of columns has, quickly: a set
// of colors for every row.
type colorSets [][]uint64

func newColorSets(c *chart.Chart, cols span) colorSets {
	words := (len(c.Legend) + 63) / 64
	sets := make(colorSets, c.Rows)
	for y := range sets {
		sets[y] = make([]uint64, words)
		for _, v := range c.Cells[y*c.Cols+cols.From : y*c.Cols+cols.To] {
			sets[y][v/64] |= 1 << (v % 64)
		}
	}
	return sets
}

// flowed divides the rows of a strip into as few pages as there must be, where
// fits says whether so many rows with so many colors have room on one. The
// cuts lie on tens where that takes no more pages, else on fives, else
// anywhere; of those ways the one whose pages are most alike is taken. It
// returns nil if not even least rows have room.
func (c colorSets) flowed(least int, fits func(rows, colors int) bool) []span {
	fewest := c.fewest(least, fits)
	if fewest == 0 {
		return nil
	}
	for _, unit := range []int{10, 5, 1} {
		if out := c.alike(unit, fewest, fits); out != nil {
			return out
		}
	}
	return nil
}

// fewest returns how few pages hold all rows, 0 if not even least rows have
// room.
func (c colorSets) fewest(least int, fits func(rows, colors int) bool) int {
	n := 0
	for at := 0; at < len(c); n++ {
		to := c.reach(at, fits)
		if to < len(c) && to-at < least || to == at {
			return 0
		}
		at = to
	}
	return n
}

// reach returns the last row, not included, that a page from row at on can
// have. A page with fewer rows always has room too.
func (c colorSets) reach(at int, fits func(rows, colors int) bool) int {
	seen := make([]uint64, len(c[at]))
	for y := at; y < len(c); y++ {
		n := 0
		for i, w := range c[y] {
			seen[i] |= w
			n += bits.OnesCount64(seen[i])
		}
		if !fits(y+1-at, n) {
			return y
		}
	}
	return len(c)
}

// alike returns the division into so many pages with cuts at multiples of a
// unit whose pages differ least (the sum of the squares of their rows), nil if
// there is none. Of equal ones the one with the earlier cuts is taken.
func (c colorSets) alike(unit, pages int, fits func(rows, colors int) bool) []span {
	n := (len(c) + unit - 1) / unit // cuts 0..n; the last is the end
	row := func(i int) int { return min(i*unit, len(c)) }
	const never = int64(1) << 60
	cost := make([]int64, n+1) // of the rows before a cut, with the pages so far
	from := make([][]int, pages)
	for i := range cost {
		cost[i] = never
	}
	cost[0] = 0
	reach := make([]int, n)
	for i := range reach {
		reach[i] = c.reach(row(i), fits)
	}
	for p := range pages {
		next := make([]int64, n+1)
		from[p] = make([]int, n+1)
		for i := range next {
			next[i] = never
		}
		for i := range n {
			if cost[i] == never {
				continue
			}
			for j := i + 1; j <= n && row(j) <= reach[i]; j++ {
				size := int64(row(j) - row(i))
				if v := cost[i] + size*size; v < next[j] {
					next[j], from[p][j] = v, i
				}
			}
		}
		cost = next
	}
	if cost[n] == never {
		return nil
	}
	out := make([]span, pages)
	for p, j := pages-1, n; p >= 0; p-- {
		i := from[p][j]
		out[p] = span{row(i), row(j)}
		j = i
	}
	return out
}
