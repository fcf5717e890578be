package render

import "kitwright/render/pdf"

// wrapOps fills the edge that goes around the bars. No drill goes there, so it
// shows the drills' full colors, whatever the look of the cells.
func (c *canvas) wrapOps() []pdf.Op {
	if c.wrap == 0 {
		return nil
	}
	ch := c.kit.Chart
	pitch := c.kit.Pitch
	n := int((c.print.Wrap + pitch - 1) / pitch) // cells that the wrap touches
	reach := c.wrap / pitch.MM()                 // the same, exactly

	place := func(i, size int) int { return min(max(i, 0), size-1) }
	if c.print.WrapFill == WrapMirror {
		place = func(i, size int) int {
			if i < 0 {
				i = -1 - i
			} else if i >= size {
				i = 2*size - 1 - i
			}
			return min(max(i, 0), size-1) // a last cell cut off by the wrap's edge
		}
	}
	cell := func(x, y int) uint16 { return ch.Cells[place(y, ch.Rows)*ch.Cols+place(x, ch.Cols)] }
	if c.print.WrapFill == WrapPlain {
		common := c.edgeColor()
		cell = func(int, int) uint16 { return common }
	}
	var ops []pdf.Op
	band := func(x0, y0, cols, rows int, clip [4]float64) {
		l := &pdf.Lattice{Cols: cols, Rows: rows, Fill: ch.RGBs(), Clip: &clip, Row: func(r int) []uint16 {
			row := make([]uint16, cols)
			for i := range row {
				row[i] = cell(x0+i, y0+r)
			}
			return row
		}}
		ops = append(ops, pdf.Area{X: c.x + float64(x0)*pitch.MM(), Y: c.y + float64(y0)*pitch.MM(), Pitch: pitch.MM(), Lattice: l})
	}
	wide, cut := float64(ch.Cols)+2*reach, float64(n)-reach
	// A quarter cell more reaches under the picture, so that no seam shows.
	band(-n, -n, ch.Cols+2*n, n+1, [4]float64{cut, 0.75, wide, reach + 0.25})
	band(-n, ch.Rows-1, ch.Cols+2*n, n+1, [4]float64{cut, cut, wide, reach + 0.25})
	band(-n, -1, n+1, ch.Rows+2, [4]float64{cut, 0.75, reach + 0.25, float64(ch.Rows) + 0.5})
	band(ch.Cols-1, -1, n+1, ch.Rows+2, [4]float64{0.75, 0.75, reach + 0.25, float64(ch.Rows) + 0.5})
	return append(append(ops, c.leaders()...), c.wrapWords()...)
}

// leaders leads the eye from the numbers, which stand beyond the wrap, to the
// lines of the grid: a black and a white hairline side by side, of which one
// shows on any color, and neither from where a picture is looked at.
func (c *canvas) leaders() (ops []pdf.Op) {
	pitch := c.kit.Pitch.MM()
	pair := func(x1, y1, x2, y2, dx, dy float64) {
		ops = append(ops, pdf.Line{X1: x1 + dx, Y1: y1 + dy, X2: x2 + dx, Y2: y2 + dy, W: hair, Ink: white},
			pdf.Line{X1: x1, Y1: y1, X2: x2, Y2: y2, W: hair, Ink: black})
	}
	for col := 10; col < c.kit.Chart.Cols; col += 10 {
		x := c.x + float64(col)*pitch
		pair(x, c.y-c.wrap, x, c.y, hair, 0)
		pair(x, c.y+c.h, x, c.y+c.h+c.wrap, hair, 0)
	}
	for row := 10; row < c.kit.Chart.Rows; row += 10 {
		y := c.y + float64(row)*pitch
		pair(c.x-c.wrap, y, c.x, y, 0, hair)
		pair(c.x+c.w, y, c.x+c.w+c.wrap, y, 0, hair)
	}
	return ops
}

// edgeColor returns the commonest color along the edge of the picture.
func (c *canvas) edgeColor() uint16 {
	ch := c.kit.Chart
	counts := make([]int, len(ch.Legend))
	for x := 0; x < ch.Cols; x++ {
		counts[ch.Cells[x]]++
		counts[ch.Cells[(ch.Rows-1)*ch.Cols+x]]++
	}
	for y := 0; y < ch.Rows; y++ {
		counts[ch.Cells[y*ch.Cols]]++
		counts[ch.Cells[y*ch.Cols+ch.Cols-1]]++
	}
	best := 0
	for i, n := range counts {
		if n > counts[best] {
			best = i
		}
	}
	return uint16(best)
}

// wrapWords says in the margin beside the wrap what it is for, and where it
// folds.
func (c *canvas) wrapWords() []pdf.Op {
	s := "wrap, " + lengthText(c.print.Wrap, c.print.Units) + ": no drills, no film here"
	f := c.f
	x0, x1, y0, y1 := c.x-c.wrap, c.x+c.w+c.wrap, c.y-c.wrap, c.y+c.h+c.wrap
	midX, midY := (x0+x1)/2, (y0+y1)/2
	ops := []pdf.Op{
		pdf.Text{X: midX, Y: y1 + 10.2*f, Size: small * f, Align: pdf.Center, S: s},
		pdf.Text{X: x0 - 10.2*f, Y: midY, Size: small * f, Align: pdf.Center, Turn: 90, S: s},
		pdf.Text{X: x1 + 10.2*f, Y: midY, Size: small * f, Align: pdf.Center, Turn: 270, S: s},
	}
	near, far := 6*f, 11*f // beyond the numbers
	fold := func(a, b, c, d float64) {
		ops = append(ops, pdf.Line{X1: a, Y1: b, X2: c, Y2: d, W: 0.25, Ink: black, Dash: 0.8})
	}
	for _, at := range [2]float64{c.x, c.x + c.w} {
		fold(at, y0-far+2*f, at, y0-near)
		fold(at, y1+near, at, y1+far)
	}
	for _, at := range [2]float64{c.y, c.y + c.h} {
		fold(x0-far-2*f, at, x0-near-4*f, at) // short of the check bar, where it would pass for a tick
		fold(x1+near+4*f, at, x1+far+4*f, at)
	}
	return ops
}
