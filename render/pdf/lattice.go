package pdf

import (
	"io"
	"strconv"

	"kitwright/chart/symbols"
)

// A chart goes into a PDF as raw operators in cell units: one transformation
// at the front, then small whole and half numbers, so nothing can add up to an
// error. Tints are rectangles, one a run of equal cells; symbols are one text
// object a row in a font whose every glyph is exactly one cell wide.

// Lattice is what the operators are written from: cells by row, and what each
// color looks like. It is a window of a larger chart, so that a page of many
// can be written the same way.
type Lattice struct {
	Cols, Rows int
	Row        func(y int) []uint16 // row y of the window, Cols long, from the top
	Fill       []Color              // of each color; nil leaves the paper bare
	White      []bool               // whether the symbol of a color is white; nil: none is
	Runes      []rune               // of each color; nil writes no symbols
	Gaps       []Color              // discs in Fill lie on cells of this, color by color; nil: Fill is the whole cell
	Lines      bool                 // a thin line around every cell
	FirstCol   int                  // place of the window in the chart, for the lines every ten
	FirstRow   int
	Tens       bool
	Hatch      func(x, y int) bool // cells shaded by fine diagonals; nil: none
	Clip       *[4]float64         // what is shown: x, y from the lower left, width and height in cells; nil: all
}

// Widths of lines in cells. The thin one is .09 mm at 2.5 mm, a quarter of a
// point: what print shops name as the finest line that is sure to print
// (common practice, no source).
const (
	ThinLine  = 0.036
	tensLine  = 0.06
	hatchLine = 0.036

	hatchCorner = 0.25 // along both sides
)

// opWriter gathers operators and hands them on in pieces. The first error
// stays.
type opWriter struct {
	w   io.Writer
	buf []byte
	err error

	press *Press // whose inks colors are given in; nil = tagged sRGB
}

func (o *opWriter) str(s string) *opWriter { o.buf = append(o.buf, s...); return o }

func (o *opWriter) num(n int) *opWriter {
	o.buf = strconv.AppendInt(o.buf, int64(n), 10)
	o.buf = append(o.buf, ' ')
	return o
}

// real writes v with up to six decimals.
func (o *opWriter) real(v float64) *opWriter {
	o.buf = appendReal(o.buf, v, 6)
	o.buf = append(o.buf, ' ')
	return o
}

// spill hands the gathered text on when there is enough of it.
func (o *opWriter) spill(least int) {
	if len(o.buf) >= least && o.err == nil {
		_, o.err = o.w.Write(o.buf)
		o.buf = o.buf[:0]
	}
}

func appendReal(b []byte, v float64, decimals int) []byte {
	at := len(b)
	b = strconv.AppendFloat(b, v, 'f', decimals, 64)
	for b[len(b)-1] == '0' {
		b = b[:len(b)-1]
	}
	if b[len(b)-1] == '.' {
		b = b[:len(b)-1]
	}
	if string(b[at:]) == "-0" {
		b = append(b[:at], '0')
	}
	return b
}

// writeTints writes the fills. The operators run in cells, x to the right and
// y up, from the lower left corner of the window; the caller has set that up.
func (l *Lattice) writeTints(o *opWriter, discs func(*opWriter)) {
	if l.Gaps != nil {
		l.writeRuns(o, l.Gaps)
		discs(o)
	} else {
		l.writeRuns(o, l.Fill)
	}
}

// writeRuns writes whole cells, a rectangle a run.
//
// Every rectangle reaches half a cell under its right and its lower neighbor,
// which paint over it later: abutting edges would show as white hairlines in
// viewers that smooth edges.
func (l *Lattice) writeRuns(o *opWriter, fill []Color) {
	set := o.fillOps(fill)
	o.str("q 1 0 0 1 0 ").num(l.Rows).str("cm\n")
	now := -1
	for y := 0; y < l.Rows; y++ {
		row := l.Row(y)
		height := "-1.5 re f\n"
		if y == l.Rows-1 {
			height = "-1 re f\n"
		}
		o.str("1 0 0 1 0 -1 cm\n")
		for x := 0; x < l.Cols; {
			end := runEnd(row, x)
			if v := int(row[x]); v != now {
				o.str(set[v])
				now = v
			}
			o.num(x).str("1 ")
			if end < l.Cols {
				o.buf = strconv.AppendInt(o.buf, int64(end-x), 10)
				o.str(".5 ")
			} else {
				o.num(end - x)
			}
			o.str(height)
			x = end
		}
		o.spill(32 << 10)
	}
	o.str("Q\n")
}

// writeDiscs writes the discs, a row of text each. The empty ActualText
// keeps them out of what a reader or a search gets from the page.
func (l *Lattice) writeDiscs(o *opWriter) {
	set := o.fillOps(l.Fill)
	one := glyphString(symbols.Disc)
	o.str("/Span<</ActualText()>>BDC\n")
	now := -1
	for y := 0; y < l.Rows; y++ {
		row := l.Row(y)
		o.str("BT 0 ").num(l.Rows - 1 - y).str("Td\n")
		for x := 0; x < l.Cols; {
			end := runEnd(row, x)
			if v := int(row[x]); v != now {
				o.str(set[v])
				now = v
			}
			o.str("(")
			for ; x < end; x++ {
				o.str(one)
			}
			o.str(")Tj\n")
		}
		o.str("ET\n")
		o.spill(32 << 10)
	}
	o.str("EMC\n")
}

// writeLines writes the hatch and the lines. It strokes each line on its own: many lines in one path cost a
// renderer several times the memory.
func (l *Lattice) writeLines(o *opWriter) {
	l.writeHatch(o)
	if l.Lines {
		o.str(o.level("0.6", true)).real(ThinLine).str("w\n")
		for x := 0; x <= l.Cols; x++ {
			l.vertical(o, x)
		}
		for y := 0; y <= l.Rows; y++ {
			l.horizontal(o, y)
		}
	}
	if !l.Tens {
		return
	}
	tens := func() {
		for x := 0; x <= l.Cols; x++ {
			if (l.FirstCol+x)%10 == 0 || x == l.Cols || x == 0 {
				l.vertical(o, x)
			}
		}
		for y := 0; y <= l.Rows; y++ {
			if (l.FirstRow+y)%10 == 0 || y == l.Rows || y == 0 {
				l.horizontal(o, y)
			}
		}
	}
	if l.White != nil || l.Gaps != nil { // black lines are lost on dark colors: give them a light rim
		o.str("2 J " + o.level("1", true)).real(2 * tensLine).str("w\n")
		tens()
	}
	o.str("2 J " + o.level("0", true)).real(tensLine).str("w\n")
	tens()
}

func (l *Lattice) vertical(o *opWriter, x int) {
	o.num(x).str("0 m ").num(x).num(l.Rows).str("l S\n")
	o.spill(32 << 10)
}

func (l *Lattice) horizontal(o *opWriter, y int) {
	o.str("0 ").num(l.Rows - y).str("m ").num(l.Cols).num(l.Rows - y).str("l S\n")
	o.spill(32 << 10)
}

// writeHatch cuts off two corners of every hatched cell with fine lines, clear of
// its symbol.
func (l *Lattice) writeHatch(o *opWriter) {
	if l.Hatch == nil {
		return
	}
	o.str("q 0 J " + o.level("0.35", true)).real(hatchLine).str("w\n")
	for y := 0; y < l.Rows; y++ {
		for x := 0; x < l.Cols; x++ {
			if l.Hatch(x, y) {
				left, low := float64(x), float64(l.Rows-1-y)
				o.real(left).real(low + hatchCorner).str("m ").real(left + hatchCorner).real(low).str("l S\n")
				o.real(left + 1 - hatchCorner).real(low + 1).str("m ").real(left + 1).real(low + 1 - hatchCorner).str("l S\n")
			}
		}
		o.spill(32 << 10)
	}
	o.str("Q\n")
}

// writeSymbols writes one text object a row, so that what a program reads off
// the page is the chart, row by row.
func (l *Lattice) writeSymbols(o *opWriter) {
	glyphs := make([]string, len(l.Runes))
	for i, r := range l.Runes {
		glyphs[i] = glyphString(r)
	}
	o.str(o.level("0", false) + "\n")
	ink := false // white
	for y := 0; y < l.Rows; y++ {
		o.str("BT 0 ").num(l.Rows - 1 - y).str("Td")
		open := false
		for _, v := range l.Row(y)[:l.Cols] {
			if l.White != nil && l.White[v] != ink {
				ink = !ink
				if open {
					o.str(")Tj")
					open = false
				}
				if ink {
					o.str(" " + o.level("1", false))
				} else {
					o.str(" " + o.level("0", false))
				}
			}
			if !open {
				o.str("(")
				open = true
			}
			o.str(glyphs[v])
		}
		o.str(")Tj ET\n")
		o.spill(32 << 10)
	}
}

// runEnd returns the first place after x where the row changes color.
func runEnd(row []uint16, x int) int {
	v := row[x]
	for x++; x < len(row) && row[x] == v; x++ {
	}
	return x
}

func appendColor(b []byte, c Color) []byte {
	for _, v := range c {
		b = appendReal(b, float64(v)/255, 3)
		b = append(b, ' ')
	}
	return b
}

// glyphString returns the two bytes of a code point as they stand inside a
// PDF string.
func glyphString(r rune) string {
	var b []byte
	for _, c := range [2]byte{byte(r >> 8), byte(r)} {
		switch c {
		case '(', ')', '\\':
			b = append(b, '\\', c)
		case '\r':
			b = append(b, '\\', 'r')
		case '\n':
			b = append(b, '\\', 'n')
		default:
			b = append(b, c)
		}
	}
	return string(b)
}
