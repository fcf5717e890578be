package render

import (
	"kitwright/chart"
)

// span is a run of columns or rows, From up to and without To.
type span struct{ From, To int }

func (s span) size() int { return s.To - s.From }

// tiling divides a chart into pages, row by row from the upper left.
type tiling struct {
	Cols, Rows []span
}

// panel is one page of a tiling.
type panel struct {
	Col, Row   int // place in the tiling
	Cols, Rows span
}

// panels returns the pages in order.
func (t tiling) panels() []panel {
	var out []panel
	for r, rows := range t.Rows {
		for c, cols := range t.Cols {
			out = append(out, panel{Col: c, Row: r, Cols: cols, Rows: rows})
		}
	}
	return out
}

// divided divides n drills into as few spans of at most most as there must be,
// all of nearly the same size, so that no page is nearly empty. The cuts lie
// on tens where that takes no more spans.
func divided(n, most int) []span {
	parts := (n + most - 1) / most
	cut := func(unit int) []span {
		units := (n + unit - 1) / unit
		if units < parts {
			return nil
		}
		var out []span
		at := 0
		for i := range parts {
			to := (i + 1) * units / parts * unit
			if i == parts-1 {
				to = n
			}
			if to-at > most || to <= at {
				return nil
			}
			out = append(out, span{at, to})
			at = to
		}
		// The last unit may be short: a page of less than half the others is
		// no balance.
		if last := out[parts-1].size(); parts > 1 && 2*last < out[0].size() {
			return nil
		}
		return out
	}
	if tens := cut(10); tens != nil {
		return tens
	}
	return cut(1)
}

// colorsIn returns the colors of a window of a chart by number, and how many
// drills of each it has.
func colorsIn(c *chart.Chart, t panel) (entries, counts []int) {
	n := make([]int, len(c.Legend))
	for y := t.Rows.From; y < t.Rows.To; y++ {
		for _, v := range c.Cells[y*c.Cols+t.Cols.From : y*c.Cols+t.Cols.To] {
			n[v]++
		}
	}
	for i, v := range n {
		if v > 0 {
			entries = append(entries, i)
			counts = append(counts, v)
		}
	}
	return entries, counts
}
