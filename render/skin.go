package render

import (
	"kitwright/chart"
	"kitwright/chart/symbols"
	"kitwright/kit"
	"kitwright/render/pdf"
)

// skin is how the cells of a print look: the settings, decided for one kit.
type skin struct {
	Look  CellLook // never auto
	Keep  int      // percent of the color left in a tint
	Box   float64  // side of a symbol, share of the cell
	Round bool
}

// Shares of a color that are left, in percent, when it is mixed with white
// paper. A black symbol has at least 4.5 : 1 of predicted print contrast on the
// first and 5.6 on the second, whatever the color.
const (
	tintKeep  = 38
	largeKeep = 30
	paleKeep  = 80 // of the disc in a round cell in full color, to show where the drill goes
)

// newSkin decides the look.
func newSkin(k *kit.Kit, p Print) skin {
	s := skin{Look: p.Look, Keep: tintKeep, Box: symbols.Box, Round: k.Drill.Shape == kit.Round}
	if s.Look == LookAuto {
		s.Look = LookTint
	}
	if p.Large {
		s.Keep, s.Box = largeKeep, symbols.LargeBox
	}
	if s.Round { // the corners of a square symbol stay on the disc, or nearly
		s.Box = min(0.92*s.Box, 0.70)
	}
	return s
}

// cell returns what the symbol of a color stands on, and in which ink.
func (s skin) cell(c color) (ground, ink color) {
	switch {
	case s.Look == LookInk:
		return white, black
	case s.Look == LookTint:
		return tint(c, s.Keep), black
	case s.Round:
		c = tint(c, paleKeep)
	}
	return readable(c)
}

// discs says whether symbols stand on discs in cells of the drills' full
// colors: between round drills the print shows, and there it has to be right.
func (s skin) discs() bool { return s.Round && s.Look != LookInk }

// window returns a part of the chart as it is printed.
func (s skin) window(c *chart.Chart, x, y, cols, rows int) *pdf.Lattice {
	l := &pdf.Lattice{
		Cols: cols, Rows: rows, FirstCol: x, FirstRow: y,
		Row:   func(r int) []uint16 { at := (y+r)*c.Cols + x; return c.Cells[at : at+cols] },
		Runes: make([]rune, len(c.Legend)),
		Lines: !s.Round || s.Look == LookInk,
		Tens:  true,
	}
	if s.Look != LookInk {
		l.Fill = make([]color, len(c.Legend))
	}
	if s.discs() {
		l.Gaps = c.RGBs()
	}
	if s.Look == LookColor {
		l.White = make([]bool, len(c.Legend))
	}
	for i, e := range c.Legend {
		ground, ink := s.cell(e.Drill.RGB)
		l.Runes[i] = e.Symbol.Rune
		if l.Fill != nil {
			l.Fill[i] = ground
		}
		if l.White != nil {
			l.White[i] = ink == white
		}
	}
	return l
}

// plainWindow returns a part of the chart in the drills' colors, nothing else.
func plainWindow(c *chart.Chart, x, y, cols, rows int) *pdf.Lattice {
	return &pdf.Lattice{
		Cols: cols, Rows: rows, FirstCol: x, FirstRow: y,
		Row:  func(r int) []uint16 { at := (y+r)*c.Cols + x; return c.Cells[at : at+cols] },
		Fill: c.RGBs(),
	}
}

// thumbnail returns the chart in the drills' colors with at most most cells a
// side, every so many left out: a picture to recognize it by.
func thumbnail(c *chart.Chart, most int) *pdf.Lattice {
	step := (max(c.Cols, c.Rows) + most - 1) / most
	if step <= 1 {
		return plainWindow(c, 0, 0, c.Cols, c.Rows)
	}
	cols, rows := max(1, c.Cols/step), max(1, c.Rows/step)
	return &pdf.Lattice{
		Cols: cols, Rows: rows, Fill: c.RGBs(),
		Row: func(r int) []uint16 {
			row := make([]uint16, cols)
			for i := range row {
				row[i] = c.Cells[(r*step+step/2)*c.Cols+i*step+step/2]
			}
			return row
		},
	}
}

// drillOps draws one cell as the chart shows it, its upper left corner at x, y.
func (s skin) drillOps(e *chart.Entry, x, y, cell float64) []pdf.Op {
	ground, ink := s.cell(e.Drill.RGB)
	edge, under := gray, ground
	if s.discs() {
		under = e.Drill.RGB
	}
	ops := []pdf.Op{pdf.Rect{X: x, Y: y, W: cell, H: cell, Fill: &under, Edge: &edge, Line: 0.1}}
	if s.discs() {
		ops = append(ops, pdf.Circle{X: x + cell/2, Y: y + cell/2, R: symbols.DiscShare * cell / 2, Fill: &ground})
	}
	return append(ops, pdf.Glyph{X: x, Y: y, Cell: cell, Rune: e.Symbol.Rune, Ink: ink})
}

// swatchOps draws a drill of a color, with a hairline that keeps pale colors
// apart from the paper.
func (s skin) swatchOps(c color, x, y, cell float64) []pdf.Op {
	edge := gray
	if s.Round {
		return []pdf.Op{pdf.Circle{X: x + cell/2, Y: y + cell/2, R: cell / 2, Fill: &c, Edge: &edge, Line: 0.1}}
	}
	return []pdf.Op{pdf.Rect{X: x, Y: y, W: cell, H: cell, Fill: &c, Edge: &edge, Line: 0.1}}
}
