package render

import (
	"strconv"

	"kitwright/render/pdf"
)

// joinOps draws what joining needs: where to trim, which sheet lies over the
// lap, and crosses that meet.
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
	note := func(cx, cy float64, turn int, t string) {
		ops = append(ops, pdf.Text{X: cx, Y: cy, Size: small, Align: pdf.Center, Turn: turn, S: t})
	}
	if pl.Col > 0 {
		for _, cy := range [2]float64{y - off, y + h + off} {
			cross(x, cy)
		}
		ops = append(ops, pdf.Line{X1: x, Y1: y - 7, X2: x, Y2: y, W: 0.25, Ink: black, Dash: 1}, pdf.Line{X1: x, Y1: y + h, X2: x, Y2: y + h + 7, W: 0.25, Ink: black, Dash: 1})
		note(x-off, y+ownH/2, 90, "trim here, along the first column; lay over sheet "+strconv.Itoa(i))
	}
	if pl.Row > 0 {
		for _, cx := range [2]float64{x - off, x + w + off} {
			cross(cx, y)
		}
		ops = append(ops, pdf.Line{X1: x - 7, Y1: y, X2: x, Y2: y, W: 0.25, Ink: black, Dash: 1}, pdf.Line{X1: x + w, Y1: y, X2: x + w + 7, Y2: y, W: 0.25, Ink: black, Dash: 1})
		note(x+ownW/2, y-off+1, 0, "trim here, along the first row; lay over sheet "+strconv.Itoa(i-nx+1))
	}
	if pl.Col < nx-1 {
		for _, cy := range [2]float64{y - off, y + h + off} {
			cross(x+ownW, cy)
		}
		note(x+w+off, y+ownH/2, 270, "sheet "+strconv.Itoa(i+2)+" lies over the last "+strconv.Itoa(s.lap)+" columns")
	}
	if pl.Row < s.down-1 {
		for _, cx := range [2]float64{x - off, x + w + off} {
			cross(cx, y+ownH)
		}
		note(x+ownW/2, y+h+off+1, 0, "sheet "+strconv.Itoa(i+nx+1)+" lies over the last "+strconv.Itoa(s.lap)+" rows")
	}
	return ops
}
