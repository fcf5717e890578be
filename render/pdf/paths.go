package pdf

import (
	"bytes"
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"
	"sync"

	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"

	"kitwright/chart/symbols"
	"kitwright/render/letters"
)

// A document of paths has no fonts: letters and symbols are filled with the
// very outlines that the fonts have. A line of text is one path; a symbol is a
// form, drawn again in every cell that shows it.

// textMark stands behind the color of a path that is text, so that it is
// printed in the ink of text. It is taken out of the file.
const textMark = " %TEXT"

// outline is a glyph's shape in font units from the origin of its baseline, x
// to the right and y up.
type outline struct {
	segments sfnt.Segments
	em       float64
}

// outliner gives the outlines of a font's characters.
type outliner struct {
	face *sfnt.Font
	mu   sync.Mutex
	buf  sfnt.Buffer
}

func (f *outliner) outline(r rune) outline {
	f.mu.Lock()
	defer f.mu.Unlock()
	em := f.face.UnitsPerEm()
	g, err := f.face.GlyphIndex(&f.buf, r)
	if err != nil {
		panic(err) // a font compiled into the program, and so are the next
	}
	s, err := f.face.LoadGlyph(&f.buf, g, fixed.I(int(em)), nil)
	if err != nil {
		panic(err)
	}
	return outline{slices.Clone(s), float64(em)}
}

// letter returns the outline of a character of a clean text.
func letter(face letters.Face, r rune) outline {
	if !letters.IsBorrowed(r) {
		return faceFonts[face]().outline(r)
	}
	f, g, err := letters.Outline(face, r)
	if err != nil {
		return outline{em: 1}
	}
	em := f.UnitsPerEm()
	s, err := f.LoadGlyph(new(sfnt.Buffer), g, fixed.I(int(em)), nil)
	if err != nil {
		return outline{em: 1} // it was tried when it was lent
	}
	return outline{s, float64(em)}
}

// path returns the operators of a contour for each of the outline, scaled from
// ems and moved.
func (o outline) path(b []byte, scale, dx, dy float64, decimals int) []byte {
	at := func(p fixed.Point26_6) (x, y float64) {
		return dx + float64(float64(p.X)/64/o.em*scale), dy - float64(float64(p.Y)/64/o.em*scale)
	}
	var x0, y0 float64 // where the pen is
	point := func(x, y float64) {
		b = append(appendReal(b, x, decimals), ' ')
		b = append(appendReal(b, y, decimals), ' ')
	}
	for i, s := range o.segments {
		x1, y1 := at(s.Args[0])
		switch s.Op {
		case sfnt.SegmentOpMoveTo:
			if i > 0 {
				b = append(b, "h "...)
			}
			point(x1, y1)
			b = append(b, "m "...)
		case sfnt.SegmentOpLineTo:
			point(x1, y1)
			b = append(b, "l "...)
		case sfnt.SegmentOpQuadTo: // the same curve by two control points
			x2, y2 := at(s.Args[1])
			point(x0+float64((x1-x0)*2/3), y0+float64((y1-y0)*2/3))
			point(x2+float64((x1-x2)*2/3), y2+float64((y1-y2)*2/3))
			point(x2, y2)
			b = append(b, "c "...)
			x1, y1 = x2, y2
		case sfnt.SegmentOpCubeTo: // as OpenType fonts have them
			x2, y2 := at(s.Args[1])
			x3, y3 := at(s.Args[2])
			point(x1, y1)
			point(x2, y2)
			point(x3, y3)
			b = append(b, "c "...)
			x1, y1 = x3, y3
		}
		x0, y0 = x1, y1
	}
	if len(o.segments) > 0 {
		b = append(b, "h\n"...)
	}
	return b
}

// colored is a color as gofpdf writes it, which inked reads.
func colored(c Color) string {
	if c[0] == c[1] && c[1] == c[2] {
		return fmt.Sprintf("%.3f g", float64(c[0])/255)
	}
	return fmt.Sprintf("%.3f %.3f %.3f rg", float64(c[0])/255, float64(c[1])/255, float64(c[2])/255)
}

// place returns a point in mm from the upper left corner of the sheet as points
// from its lower left.
func (d *drawing) place(x, y float64) (px, py float64) {
	return x / letters.PointMM, (d.page.H + 2*d.page.Margin() - y) / letters.PointMM
}

// turns are the directions of a text's line by quarter turns counterclockwise.
var turns = [4]string{"1 0 0 1 ", "0 1 -1 0 ", "-1 0 0 -1 ", "0 -1 1 0 "}

// textPath draws a line of text as a path.
func (d *drawing) textPath(x, y float64, o Text) {
	at := 0.0
	switch o.Align {
	case Center:
		at = -letters.Width(o.Face, o.Size, o.S) / 2
	case Right:
		at = -letters.Width(o.Face, o.Size, o.S)
	}
	d.linePath(x, y, at, o)
}

// linePath draws a line of text as a path, at mm from a point along the line on.
func (d *drawing) linePath(x, y, at float64, o Text) {
	px, py := d.place(x, y)
	b := append([]byte("q "+colored(o.Ink)+textMark+"\n"), turns[o.Turn/90%4]...)
	b = append(appendReal(b, px, 4), ' ')
	b = append(appendReal(b, py, 4), " cm\n"...)
	bare := len(b)
	for _, r := range o.S {
		b = letter(o.Face, r).path(b, o.Size, at/letters.PointMM, 0, 3)
		at += letters.Width(o.Face, o.Size, string(r))
	}
	if len(b) > bare { // else there is nothing to fill
		d.pen.raw(string(append(b, "f Q"...)))
	}
}

// glyphPath draws one symbol in its cell.
func (d *drawing) glyphPath(x, y float64, o Glyph) {
	px, py := d.place(x, y+o.Cell)
	b := []byte("q " + colored(o.Ink) + textMark + "\n")
	cell := o.Cell / letters.PointMM
	for _, v := range [6]float64{cell, 0, 0, cell, px, py} {
		b = append(appendReal(b, v, 6), ' ')
	}
	f := form{d.size(), o.Rune}
	d.forms[f] = true
	d.pen.raw(string(b) + "cm " + f.name() + " Do Q")
}

// form is a symbol in one of the sizes that it has in its cell.
type form struct {
	size int // which one
	r    rune
}

// name is what the pages call it.
func (f form) name() string { return fmt.Sprintf("/S%d.%x", f.size, f.r) }

// size is which one of the sizes of symbols is in use.
func (d *drawing) size() int { return slices.Index(d.pen.boxes, d.pen.box) }

// writeForms writes the forms of all symbols drawn, and returns their names
// and numbers as the resources of the pages list them.
func (d *drawing) writeForms(out *objectWriter, take func() int) string {
	var list strings.Builder
	for size, box := range d.pen.boxes {
		f := &outliner{}
		for _, k := range slices.SortedFunc(maps.Keys(d.forms), func(a, b form) int { return cmp.Compare(a.r, b.r) }) {
			if k.size != size {
				continue
			}
			if f.face == nil {
				f.face = symbolFace(box)
			}
			id := take()
			out.stream(id, formDict+"/Filter/FlateDecode", deflated(append(f.outline(k.r).path(nil, 1000, 0, 0, 1), "f\n"...)))
			fmt.Fprintf(&list, "%s %d 0 R\n", k.name(), id)
		}
	}
	return list.String()
}

// formDict describes a form whose thousandths are a cell.
const formDict = "/Type/XObject/Subtype/Form/FormType 1/BBox[0 0 1000 1000]/Matrix[.001 0 0 .001 0 0]/Resources<<>>"

func symbolFace(box float64) *sfnt.Font {
	face, err := sfnt.Parse(symbolFont(box))
	if err != nil {
		panic(err) // a font that we made
	}
	return face
}

var faceFonts = [2]func() *outliner{
	sync.OnceValue(func() *outliner { return &outliner{face: letters.Regular.Font()} }),
	sync.OnceValue(func() *outliner { return &outliner{face: letters.Bold.Font()} }),
}

// unfont takes what is said of fonts out of the resources of all pages, and
// puts the forms in.
func unfont(o []byte, forms string) ([]byte, error) {
	const fonts, xobjects = "/Font <<\n>>\n", "/XObject <<\n"
	if bytes.Count(o, []byte(fonts)) != 1 || bytes.Count(o, []byte(xobjects)) != 1 {
		return nil, fmt.Errorf("unexpected shape of the raw PDF: resources of paths")
	}
	o = bytes.Replace(o, []byte(fonts), nil, 1)
	return bytes.Replace(o, []byte(xobjects), []byte(xobjects+forms), 1), nil
}

// writeCells writes symbols cell by cell, in the colors that set gives.
func (l *Lattice) writeCells(o *opWriter, name func(v uint16) string, color func(v uint16) string) {
	now := ""
	for y := 0; y < l.Rows; y++ {
		for x, v := range l.Row(y)[:l.Cols] {
			if c := color(v); c != now {
				o.str(c + "\n")
				now = c
			}
			o.str("q 1 0 0 1 ").num(x).num(l.Rows - 1 - y).str("cm ").str(name(v)).str(" Do Q\n")
		}
		o.spill(32 << 10)
	}
}

// discForms and symbolForms are writeDiscs and writeSymbols without a font.
func (l *Lattice) discForms(o *opWriter, size int) {
	set := o.fillOps(l.Fill)
	disc := form{size, symbols.Disc}.name()
	l.writeCells(o, func(uint16) string { return disc }, func(v uint16) string { return set[v] })
}

func (l *Lattice) symbolForms(o *opWriter, size int) {
	names := make([]string, len(l.Runes))
	for i, r := range l.Runes {
		names[i] = form{size, r}.name()
	}
	black, white := o.level("0", false), o.level("1", false)
	l.writeCells(o, func(v uint16) string { return names[v] }, func(v uint16) string {
		if l.White != nil && l.White[v] {
			return white
		}
		return black
	})
}
