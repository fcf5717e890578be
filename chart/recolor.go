package chart

import (
	"cmp"
	"fmt"
	"slices"

	"kitwright/chart/symbols"
	"kitwright/palettes"
)

// identity is what makes two drills the same.
type identity struct {
	code   string
	finish palettes.Finish
}

func identityOf(d palettes.Drill) identity { return identity{d.Code, d.Finish} }

// Recolor returns the chart whose cell i is drills[cells[i]], as a later state
// of prev, so that what is printed of prev stays true as far as it can:
//
//   - A color that stays keeps its number and its symbol, wherever its cells are.
//   - A color that is gone leaves a gap: its number is given to no other. But a
//     new color that stands in exactly the cells of a gone one takes over both
//     its number and its symbol: the printed chart then only needs another line
//     in its legend.
//   - Any other new color gets the next number after all that prev had, dark
//     ones first, and of the symbols that prev did not use the one least
//     mistaken for those around it (a gone color's only where no other is left).
func Recolor(prev *Chart, drills []palettes.Drill, cells []uint16) (*Chart, error) {
	if len(cells) != len(prev.Cells) {
		return nil, fmt.Errorf("a chart of %d x %d cannot have %d cells", prev.Cols, prev.Rows, len(cells))
	}
	c := &Chart{Cols: prev.Cols, Rows: prev.Rows, Cells: make([]uint16, len(cells)), Turned: prev.Turned}
	old := map[identity]int{}
	last := 0
	for i, e := range prev.Legend {
		old[identityOf(e.Drill)] = i
		last = max(last, e.Number)
	}
	drills, cells, err := used(drills, cells)
	if err != nil {
		return nil, err
	}
	if len(drills) > symbols.Max {
		return nil, fmt.Errorf("%d colors need more symbols than the %d there are", len(drills), symbols.Max)
	}

	place := make([]int, len(drills)) // of each drill in the legend
	heir := heirs(prev, drills, cells)
	for i, d := range drills {
		e := Entry{Drill: d}
		if at, stays := old[identityOf(d)]; stays {
			e = prev.Legend[at]
		} else if at := heir[i]; at >= 0 {
			e.Number, e.Symbol = prev.Legend[at].Number, prev.Legend[at].Symbol
		} else {
			last++
			e.Number = last
		}
		e.Count = 0
		c.Legend = append(c.Legend, e)
	}
	slices.SortFunc(c.Legend, func(a, b Entry) int { return cmp.Compare(a.Number, b.Number) })
	at := map[identity]int{}
	for i, e := range c.Legend {
		at[identityOf(e.Drill)] = i
	}
	for i, d := range drills {
		place[i] = at[identityOf(d)]
	}
	for i, v := range cells {
		c.Cells[i] = uint16(place[v])
		c.Legend[place[v]].Count++
	}

	have := make([]symbols.Symbol, len(c.Legend))
	for i, e := range c.Legend {
		have[i] = e.Symbol
	}
	before := map[rune]bool{}
	for _, e := range prev.Legend {
		before[e.Symbol.Rune] = true
	}
	extend := symbols.Extend
	if c.Turned {
		extend = symbols.ExtendTurned
	}
	for i, s := range extend(have, before, c.confusion()) {
		c.Legend[i].Symbol = s
	}
	return c, nil
}

// used returns the drills that cells name, each once, dark ones first, and the
// cells as indices of them.
func used(drills []palettes.Drill, cells []uint16) ([]palettes.Drill, []uint16, error) {
	first := map[identity]int{}
	is := make([]bool, len(drills))
	for i, v := range cells {
		if int(v) >= len(drills) {
			return nil, nil, fmt.Errorf("cell %d names color %d of %d", i, v, len(drills))
		}
		id := identityOf(drills[v])
		if _, known := first[id]; !known {
			first[id] = int(v)
			is[v] = true
		}
	}
	var order []int
	for i, yes := range is {
		if yes {
			order = append(order, i)
		}
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(drills[a].Lab.L, drills[b].Lab.L) })
	out := make([]palettes.Drill, len(order))
	at := map[identity]uint16{}
	for n, i := range order {
		out[n] = drills[i]
		at[identityOf(drills[i])] = uint16(n)
	}
	in := make([]uint16, len(cells))
	for i, v := range cells {
		in[i] = at[identityOf(drills[v])]
	}
	return out, in, nil
}

// heirs finds for each drill the entry of prev, gone now, whose cells are
// exactly the drill's; -1 where there is none.
func heirs(prev *Chart, drills []palettes.Drill, cells []uint16) []int {
	const none, many = -1, -2
	from, to := fill(len(drills), none), fill(len(prev.Legend), none)
	meet := func(list []int, i, with int) {
		if list[i] == none {
			list[i] = with
		} else if list[i] != with {
			list[i] = many
		}
	}
	for i, v := range cells {
		meet(from, int(v), int(prev.Cells[i]))
		meet(to, int(prev.Cells[i]), int(v))
	}
	stays := map[identity]bool{}
	for _, d := range drills {
		stays[identityOf(d)] = true
	}
	for i, at := range from {
		if at >= 0 && (to[at] != i || stays[identityOf(prev.Legend[at].Drill)]) {
			from[i] = none
		}
		from[i] = max(from[i], none)
	}
	return from
}

func fill(n, with int) []int {
	out := make([]int, n)
	for i := range out {
		out[i] = with
	}
	return out
}
