package render

import (
	"strconv"

	"kitwright/render/letters"
	"kitwright/render/pdf"
)

// Type sizes, in points. Nothing on any page is smaller than small, 7 points.
const (
	small  = 7.0
	plainT = 9.0
	big    = 12.0
)

// hair is the width of fine lines, mm: a quarter of a point.
const hair = 0.09

// numbering draws the numbers of columns and rows around a window of a chart:
// ticks at every tenth line and the count of drills up to it, on all four
// sides, gap mm away from the cells.
type numbering struct {
	X, Y, Pitch        float64 // upper left corner of the cells, mm
	Cols, Rows         int
	FirstCol, FirstRow int
	Gap                float64
	Size               float64 // of the numbers, points
}

func (n numbering) ops() []pdf.Op {
	var ops []pdf.Op
	w, h := n.Pitch*float64(n.Cols), n.Pitch*float64(n.Rows)
	const tick = 1.6
	near, far := n.Gap, n.Gap+tick
	label := letters.CapHeight * n.Size * letters.PointMM
	mark := func(x1, y1, x2, y2 float64) {
		ops = append(ops, pdf.Line{X1: x1, Y1: y1, X2: x2, Y2: y2, W: 0.18, Ink: black})
	}
	write := func(x, y float64, a pdf.Align, v int) {
		ops = append(ops, pdf.Text{X: x, Y: y, Size: n.Size, Align: a, Ink: black, S: strconv.Itoa(v)})
	}
	for c := 0; c <= n.Cols; c++ {
		if v := n.FirstCol + c; v%10 == 0 && v > 0 || c == n.Cols {
			if c == n.Cols && v%10 != 0 && v%10 < n.crowded() {
				continue
			}
			x := n.X + float64(c)*n.Pitch
			mark(x, n.Y-far, x, n.Y-near)
			mark(x, n.Y+h+near, x, n.Y+h+far)
			write(x, n.Y-far-0.8, pdf.Center, v)
			write(x, n.Y+h+far+0.8+label, pdf.Center, v)
		}
	}
	for r := 0; r <= n.Rows; r++ {
		if v := n.FirstRow + r; v%10 == 0 && v > 0 || r == n.Rows {
			if r == n.Rows && v%10 != 0 && v%10 < n.crowded() {
				continue
			}
			y := n.Y + float64(r)*n.Pitch
			mark(n.X-far, y, n.X-near, y)
			mark(n.X+w+near, y, n.X+w+far, y)
			write(n.X-far-0.8, y+label/2, pdf.Right, v)
			write(n.X+w+far+0.8, y+label/2, pdf.Left, v)
		}
	}
	return ops
}

// crowded returns how many drills past a number the last one needs to be so
// that the two don't touch.
func (n numbering) crowded() int {
	wide := letters.Width(letters.Regular, n.Size, "0000")
	return int(wide/n.Pitch) + 1
}

// barAcross draws a check bar of whole tens of millimeters from x to the right:
// a tick every 10 mm on a line that is exactly as long.
func barAcross(x, y, length float64) []pdf.Op {
	ops := []pdf.Op{pdf.Line{X1: x, Y1: y, X2: x + length, Y2: y, W: 0.25, Ink: black}}
	for i := 0; 10*float64(i) <= length; i++ {
		ops = append(ops, pdf.Line{X1: x + float64(10*i), Y1: y - barTick(i), X2: x + float64(10*i), Y2: y, W: 0.18, Ink: black})
	}
	return ops
}

// barDown is the same from y down.
func barDown(x, y, length float64) []pdf.Op {
	ops := []pdf.Op{pdf.Line{X1: x, Y1: y, X2: x, Y2: y + length, W: 0.25, Ink: black}}
	for i := 0; 10*float64(i) <= length; i++ {
		ops = append(ops, pdf.Line{X1: x - barTick(i), Y1: y + float64(10*i), X2: x, Y2: y + float64(10*i), W: 0.18, Ink: black})
	}
	return ops
}

func barTick(i int) float64 {
	switch {
	case i%10 == 0:
		return 3
	case i%5 == 0:
		return 2
	}
	return 1.2
}

// arrowUp draws an arrow w mm wide with its tip at x, y.
func arrowUp(x, y, w float64, ink color) pdf.Op {
	return pdf.Poly{Fill: ink, Points: [][2]float64{
		{x, y}, {x + w/2, y + 0.62*w}, {x + 0.19*w, y + 0.62*w}, {x + 0.19*w, y + 1.25*w},
		{x - 0.19*w, y + 1.25*w}, {x - 0.19*w, y + 0.62*w}, {x - w/2, y + 0.62*w},
	}}
}

// slug is the room that crop marks need beyond the bleed, mm.
const slug = 7

// cropMarks draws the corners of the trimmed page, outside the bleed.
func cropMarks(p *pdf.Page) []pdf.Op {
	if p.Bleed == 0 {
		return nil
	}
	var ops []pdf.Op
	near, far := p.Bleed+0.5, p.Bleed+5.5
	for _, x := range [2]float64{0, p.W} {
		ops = append(ops,
			pdf.Line{X1: x, Y1: -far, X2: x, Y2: -near, W: hair, Ink: black},
			pdf.Line{X1: x, Y1: p.H + near, X2: x, Y2: p.H + far, W: hair, Ink: black})
	}
	for _, y := range [2]float64{0, p.H} {
		ops = append(ops,
			pdf.Line{X1: -far, Y1: y, X2: -near, Y2: y, W: hair, Ink: black},
			pdf.Line{X1: p.W + near, Y1: y, X2: p.W + far, Y2: y, W: hair, Ink: black})
	}
	return ops
}

// paragraph writes lines below each other, the first baseline at y, and
// returns the baseline after the last.
func paragraph(ops []pdf.Op, x, y float64, f letters.Face, size, leading float64, ink color, lines []string) ([]pdf.Op, float64) {
	for _, s := range lines {
		ops = append(ops, pdf.Text{X: x, Y: y, Size: size, Face: f, Ink: ink, S: s})
		y += leading
	}
	return ops, y
}
