// Package chart is the finished design: which drill lies in which cell, the
// legend that names them, and what can be counted from that. It knows nothing
// of paper or pixels.
//
// Begin with [New], which turns chosen colors and cells into a [Chart], and
// [Recolor] for a later state of it.
package chart

import (
	"fmt"
	"sort"

	"kitwright/chart/symbols"
	"kitwright/lab"
	"kitwright/palettes"
)

// Entry is one color of the legend.
type Entry struct {
	Number int // what the color is called on paper, from 1; see Recolor
	Drill  palettes.Drill
	Symbol symbols.Symbol
	Count  int // drills of this color in the chart
}

// Chart is a grid of drills. Cells run row by row from the top left and index
// Legend, which holds only colors that are used, by rising number. In a chart
// that [New] made the numbers count from dark to light (by L*, ties by the
// card's order) without a gap; [Recolor] may leave gaps and add colors behind.
// The counts add up to Cols x Rows.
type Chart struct {
	Cols, Rows int
	Cells      []uint16
	Legend     []Entry
	Turned     bool // symbols are chosen to stay apart when the canvas is turned; see Turn
}

// Turn gives every color a symbol that stays apart from the others when the
// canvas is turned while it is worked on.
func (c *Chart) Turn() {
	c.Turned = true
	for n, s := range symbols.AssignTurned(len(c.Legend), c.confusion()) {
		c.Legend[n].Symbol = s
	}
}

// New returns the chart whose cell i is drill chosen[cells[i]] of the card.
// Chosen colors that no cell uses are left out.
func New(cols, rows int, card *palettes.Card, chosen []int, cells []uint16) (*Chart, error) {
	if cols < 1 || rows < 1 || len(cells) != cols*rows {
		return nil, fmt.Errorf("a chart of %d x %d cannot have %d cells", cols, rows, len(cells))
	}
	counts := make([]int, len(chosen))
	for i, c := range cells {
		if int(c) >= len(chosen) {
			return nil, fmt.Errorf("cell %d names color %d of %d", i, c, len(chosen))
		}
		counts[c]++
	}
	var used []int
	for i, j := range chosen {
		if j < 0 || j >= len(card.Drills) {
			return nil, fmt.Errorf("color %d is not on a card of %d", j, len(card.Drills))
		}
		if counts[i] > 0 {
			used = append(used, i)
		}
	}
	sort.SliceStable(used, func(a, b int) bool {
		la, lb := card.Drills[chosen[used[a]]].Lab.L, card.Drills[chosen[used[b]]].Lab.L
		if la != lb {
			return la < lb
		}
		return chosen[used[a]] < chosen[used[b]]
	})
	if len(used) > symbols.Max {
		return nil, fmt.Errorf("%d colors need more symbols than the %d there are", len(used), symbols.Max)
	}

	c := &Chart{Cols: cols, Rows: rows, Cells: make([]uint16, len(cells)), Legend: make([]Entry, len(used))}
	place := make([]uint16, len(chosen))
	for n, i := range used {
		c.Legend[n] = Entry{Number: n + 1, Drill: card.Drills[chosen[i]], Count: counts[i]}
		place[i] = uint16(n)
	}
	for i, v := range cells {
		c.Cells[i] = place[v]
	}
	for n, s := range symbols.Assign(len(used), c.confusion()) {
		c.Legend[n].Symbol = s
	}
	return c, nil
}

// At returns the legend entry of the drill in column x and row y, from 0.
func (c *Chart) At(x, y int) *Entry { return &c.Legend[c.Cells[y*c.Cols+x]] }

// Drills returns how many drills the chart has.
func (c *Chart) Drills() int { return c.Cols * c.Rows }

// Labs returns the color of every legend entry, by index.
func (c *Chart) Labs() []lab.Color {
	out := make([]lab.Color, len(c.Legend))
	for i, e := range c.Legend {
		out[i] = e.Drill.Lab
	}
	return out
}

// RGBs returns the 8-bit sRGB value of every legend entry, by index.
func (c *Chart) RGBs() [][3]uint8 {
	out := make([][3]uint8, len(c.Legend))
	for i, e := range c.Legend {
		out[i] = e.Drill.RGB
	}
	return out
}

// Grid returns the color of every drill.
func (c *Chart) Grid() *lab.Grid {
	g := lab.NewGrid(c.Cols, c.Rows)
	for i, v := range c.Cells {
		g.Cells[i] = c.Legend[v].Drill.Lab.Round()
	}
	return g
}
