package render

import (
	"strconv"

	"kitwright/render/pdf"
)

// joinOps draws what joining needs: where to trim, which sheet lies over the
// lap, marks that meet, two at every seam on what is not trimmed away, and a bar
// to check the scale. Marks are crosses beyond the chart and, where four sheets
// meet, dots in the corners of the cells, clear of their symbols.
func (s *sheets) joinOps(i int, pl panel, x, y, w, h float64) []pdf.Op {
	var ops []pdf.Op
	nx := s.across
	ownW, ownH := float64(pl.Cols.size())*s.cell, float64(pl.Rows.size())*s.cell
	const off = 9.2 // beyond the numbers
	cross := func(cx, cy float64) {
		b := black
		ops = append(ops, pdf.Circle{X: cx, Y: cy, R: 1.2, Edge: &b, Line: 0.12},
			pdf.Line{X1: cx - 2.2, Y1: cy, X2: cx + 2.2, Y2: cy, W: 0.12, Ink: black}, pdf.Line{X1: cx, Y1: cy - 2.2, X2: cx, Y2: cy + 2.2, W: 0.12, Ink: black})
	}
	dot := func(cx, cy float64) {
		b := black
		ops = append(ops, pdf.Circle{X: cx, Y: cy, R: 0.45, Fill: &b})
	}
	for _, c := range [2]struct {
		at    float64
		inner bool
	}{{x, pl.Col > 0}, {x + ownW, pl.Col < nx-1}} {
		for _, r := range [2]struct {
			at    float64
			inner bool
		}{{y, pl.Row > 0}, {y + ownH, pl.Row < s.down-1}} {
			if c.inner && r.inner {
				dot(c.at, r.at)
			}
		}
	}
	// What lies beyond an edge that is trimmed is no use.
	above, beside := []float64{y - off, y + h + off}, []float64{x - off, x + w + off}
	if pl.Row > 0 {
		above = above[1:]
	}
	if pl.Col > 0 {
		beside = beside[1:]
	}
	note := func(cx, cy float64, turn int, t string) {
		ops = append(ops, pdf.Text{X: cx, Y: cy, Size: small, Align: pdf.Center, Turn: turn, S: t})
	}
	if pl.Col > 0 {
		for _, cy := range above {
			cross(x, cy)
		}
		ops = append(ops, pdf.Line{X1: x, Y1: y - 7, X2: x, Y2: y, W: 0.25, Ink: black, Dash: 1}, pdf.Line{X1: x, Y1: y + h, X2: x, Y2: y + h + 7, W: 0.25, Ink: black, Dash: 1})
		note(x-off, y+ownH/2, 90, "trim here, along the first column; lay over sheet "+strconv.Itoa(i))
	}
	if pl.Row > 0 {
		for _, cx := range beside {
			cross(cx, y)
		}
		ops = append(ops, pdf.Line{X1: x - 7, Y1: y, X2: x, Y2: y, W: 0.25, Ink: black, Dash: 1}, pdf.Line{X1: x + w, Y1: y, X2: x + w + 7, Y2: y, W: 0.25, Ink: black, Dash: 1})
		note(x+ownW/2, y-off+1, 0, "trim here, along the first row; lay over sheet "+strconv.Itoa(i-nx+1))
	}
	if pl.Col < nx-1 {
		for _, cy := range above {
			cross(x+ownW, cy)
		}
		note(x+w+off, y+ownH/2, 270, "sheet "+strconv.Itoa(i+2)+" lies over the last "+strconv.Itoa(s.lap)+" columns")
	}
	if pl.Row < s.down-1 {
		for _, cx := range beside {
			cross(cx, y+ownH)
		}
		note(x+ownW/2, y+h+off+1, 0, "sheet "+strconv.Itoa(i+nx+1)+" lies over the last "+strconv.Itoa(s.lap)+" rows")
	}
	const bar = 50.0
	at := s.h - s.margin - 0.5
	ops = append(ops, pdf.Line{X1: s.margin, Y1: at, X2: s.margin + bar, Y2: at, W: 0.25, Ink: black})
	for i := range 6 {
		tick := s.margin + float64(10*i)
		ops = append(ops, pdf.Line{X1: tick, Y1: at - barTick(2*i), X2: tick, Y2: at, W: 0.18, Ink: black})
	}
	return append(ops, pdf.Text{X: s.margin + bar + 2, Y: at, Size: small, S: "50 mm: measure every sheet before it is trimmed"})
}
