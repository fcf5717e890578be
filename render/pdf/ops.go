package pdf

import "kitwright/render/letters"

// A page is decided before it is drawn: a list of operations in millimeters
// from the upper left corner of the trimmed page, x to the right and y down.
// So a layout can be tested as values, and one writer knows the file format.

// Color is an 8-bit sRGB color.
type Color = [3]uint8

// Op is one operation of a page.
type Op interface{ isOp() }

// Text is one line of text.
type Text struct {
	X, Y  float64 // of the anchor on the baseline, mm
	Size  float64 // points
	Face  letters.Face
	Ink   Color
	Align Align
	Turn  int // degrees counterclockwise about the anchor: 0, 90, 180 or 270
	S     string
}

// Align says which point of a text its anchor is.
type Align int

const (
	Left Align = iota
	Center
	Right
)

// Rect is a rectangle, filled, outlined or both.
type Rect struct {
	X, Y, W, H float64
	Fill, Edge *Color
	Line       float64 // width of the outline, mm
}

// Line is a straight stroke with butt ends.
type Line struct {
	X1, Y1, X2, Y2 float64
	W              float64 // mm
	Ink            Color
	Dash           float64 // length of dashes and gaps, mm; 0 is solid
}

// Poly is a filled polygon.
type Poly struct {
	Points [][2]float64
	Fill   Color
}

// Circle is a circle, filled, outlined or both.
type Circle struct {
	X, Y, R    float64
	Fill, Edge *Color
	Line       float64
}

// Glyph is one symbol in its cell: the font's em is the cell.
type Glyph struct {
	X, Y, Cell float64 // upper left corner and side of the cell, mm
	Rune       rune
	Ink        Color
}

// Area is a part of a chart, drawn by the operators of lattice.
type Area struct {
	X, Y, Pitch float64 // upper left corner and side of a cell, mm
	Lattice     *Lattice
}

// Inset is a page on another, or a part of it: its operations as they are there,
// moved, turned or not, and shown only inside a frame.
type Inset struct {
	X, Y  float64    // where the upper left corner of what is shown comes to lie, mm
	Page  *Page      // whose own scale, label and header do not count
	Frame [4]float64 // what is shown of it: x, y, width and height, mm from its trimmed corner
	Turn  bool       // a quarter turn counterclockwise
	Box   float64    // side of a symbol in its cell there; 0: the document's
}

func (Text) isOp()   {}
func (Rect) isOp()   {}
func (Line) isOp()   {}
func (Poly) isOp()   {}
func (Circle) isOp() {}
func (Glyph) isOp()  {}
func (Area) isOp()   {}
func (Inset) isOp()  {}

// Page is one page of a document.
type Page struct {
	W, H     float64    // trimmed size, mm
	Bleed    float64    // printed beyond the trim on every side, mm
	Slug     float64    // room for crop marks beyond the bleed, mm
	Scale    [2]float64 // of everything, to answer a printer's error; 0 is 1
	FixedBox bool       // Scale changes what is on the page, about its middle, and not the page
	Label    string     // page label, "" for the plain number
	Header   string     // in the outline; "" leaves the page out
	Ops      []Op
}

func (p *Page) Add(ops ...Op) { p.Ops = append(p.Ops, ops...) }

// Margin returns the room around the trimmed page.
func (p *Page) Margin() float64 { return p.Bleed + p.Slug }

// Factors returns the scale of both directions.
func (p *Page) Factors() (x, y float64) {
	x, y = p.Scale[0], p.Scale[1]
	if x == 0 {
		x = 1
	}
	if y == 0 {
		y = 1
	}
	return x, y
}

// Bounds returns the box of an operation in mm, for tests and layout; lines
// and outlines are counted without their width.
func Bounds(o Op) (x0, y0, x1, y1 float64) {
	switch o := o.(type) {
	case Text:
		w := letters.Width(o.Face, o.Size, o.S)
		up, down := letters.Ascent*o.Size*letters.PointMM, letters.Descent*o.Size*letters.PointMM
		back := 0.0
		switch o.Align {
		case Center:
			back = w / 2
		case Right:
			back = w
		}
		switch o.Turn {
		case 90:
			return o.X - up, o.Y - w + back, o.X + down, o.Y + back
		case 180:
			return o.X - w + back, o.Y - down, o.X + back, o.Y + up
		case 270:
			return o.X - down, o.Y - back, o.X + up, o.Y + w - back
		}
		return o.X - back, o.Y - up, o.X + w - back, o.Y + down
	case Rect:
		return o.X, o.Y, o.X + o.W, o.Y + o.H
	case Line:
		return min(o.X1, o.X2), min(o.Y1, o.Y2), max(o.X1, o.X2), max(o.Y1, o.Y2)
	case Poly:
		x0, y0 = o.Points[0][0], o.Points[0][1]
		x1, y1 = x0, y0
		for _, p := range o.Points {
			x0, y0, x1, y1 = min(x0, p[0]), min(y0, p[1]), max(x1, p[0]), max(y1, p[1])
		}
		return x0, y0, x1, y1
	case Circle:
		return o.X - o.R, o.Y - o.R, o.X + o.R, o.Y + o.R
	case Glyph:
		return o.X, o.Y, o.X + o.Cell, o.Y + o.Cell
	case Area:
		return o.X, o.Y, o.X + o.Pitch*float64(o.Lattice.Cols), o.Y + o.Pitch*float64(o.Lattice.Rows)
	case Inset:
		w, h := o.size()
		return o.X, o.Y, o.X + w, o.Y + h
	}
	panic("unknown operation")
}

// size returns the size of an inset as it lies.
func (o Inset) size() (w, h float64) {
	if o.Turn {
		return o.Frame[3], o.Frame[2]
	}
	return o.Frame[2], o.Frame[3]
}
