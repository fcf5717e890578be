// Package pdf writes PDF files that a print shop accepts: exact page boxes,
// tagged sRGB, PDF/A-1b. It knows nothing of kits: a [Document] is pages, a
// [Page] is a list of operations ([Op]) in millimeters, decided by others.
//
// Text, lines and shapes and the embedding of fonts are gofpdf's work, behind
// pen.go; charts are written as raw operators in cell units ([Lattice]) and
// deflated as they are made; conform.go puts both together and adds what
// gofpdf cannot write. There is no clock, no random number and no map's order
// in it: the same pages give the same bytes.
package pdf

import (
	"bytes"
	"compress/zlib"
	"io"
	"strconv"
	"strings"
	"sync"
	"time"

	"kitwright/chart/symbols"
	"kitwright/internal/par"
	"kitwright/internal/say"
	"kitwright/render/letters"
)

// Document is a set of decided pages on their way to a PDF file.
//
// gofpdf draws text, lines and shapes and embeds the fonts; the charts are
// written by Lattice, deflated as they are made; conform puts both together and
// adds what gofpdf cannot write. A document without layers is PDF/A-1b
// (ISO 19005-1), colors tagged as sRGB; one with a press is PDF/X-4.
type Document struct {
	Title   string
	Subject string
	Creator string
	Mark    string  // tells prints of one thing from prints of another, in the metadata; may be empty
	Date    string  // of the print, as in 2026-11-26; may be empty
	Box     float64 // side of a symbol in its cell, share of the cell
	Press   *Press  // makes it PDF/X-4; nil: PDF/A-1b
	Layers  bool    // tint, symbols and lines can be switched off (PDF 1.5)
	Paths   bool    // letters and symbols are filled paths, and the file has no fonts
	Pages   []*Page
}

// epoch is the date of a file that was given none: the same pages give the same
// bytes.
var epoch = time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)

// date returns the document's date.
func (d *Document) date() time.Time {
	if t, err := time.Parse(time.DateOnly, d.Date); err == nil {
		return t
	}
	return epoch
}

// chunk is a deflated content stream that goes into a page at a mark.
type chunk struct {
	write func(io.Writer) error
	data  bytes.Buffer
	err   error
}

// drawing is the state of writing one document.
type drawing struct {
	doc    *Document
	pen    *pen
	page   *Page
	at     [2]float64 // of the corner that operations count from, mm
	chunks []*chunk
	forms  map[form]bool // symbols that are drawn as paths
}

// Write writes the document as a PDF file. It decides nothing.
func (d *Document) Write(w io.Writer) (err error) {
	if t, ok := w.(Taker); ok {
		return t.Take(d)
	}
	defer func() { // gofpdf panics where it should return an error
		if r := recover(); r != nil {
			err = say.Failed("please report this with your settings", "the page could not be written: %v", r)
		}
	}()
	first := d.Pages[0]
	draw := &drawing{doc: d, pen: newPen(first.W+2*first.Margin(), first.H+2*first.Margin()), forms: map[form]bool{}}
	if !d.Paths {
		draw.pen.fonts()
	}
	draw.pen.useBox(d.Box)
	for _, p := range d.Pages {
		draw.start(p)
		for _, o := range p.Ops {
			draw.op(o)
		}
	}
	deflated := make(chan struct{})
	go func() {
		defer close(deflated)
		draw.deflate()
	}()
	var raw bytes.Buffer
	if err := draw.pen.output(&raw); err != nil {
		<-deflated
		return say.Failed("please report this with your settings", "the page could not be written: %w", err)
	}
	<-deflated
	for _, c := range draw.chunks {
		if c.err != nil {
			return c.err
		}
	}
	return conform(w, draw, raw.Bytes())
}

var fontCache sync.Map // float64 -> []byte

// symbolFont returns the font of symbols that fill box of their cell.
func symbolFont(box float64) []byte {
	if f, ok := fontCache.Load(box); ok {
		return f.([]byte)
	}
	f := symbols.FontAt(box)
	fontCache.Store(box, f)
	return f
}

func (d *drawing) start(p *Page) {
	d.page, d.at = p, [2]float64{p.Margin(), p.Margin()}
	d.pen.page(p.W+2*p.Margin(), p.H+2*p.Margin())
}

func (d *drawing) op(o Op) {
	mx, my := d.at[0], d.at[1]
	switch o := o.(type) {
	case Text:
		d.text(o.X+mx, o.Y+my, o)
	case Rect:
		d.pen.rect(o.X+mx, o.Y+my, o.W, o.H, o.Fill, o.Edge, o.Line)
	case Circle:
		d.pen.circle(o.X+mx, o.Y+my, o.R, o.Fill, o.Edge, o.Line)
	case Line:
		d.pen.line(o.X1+mx, o.Y1+my, o.X2+mx, o.Y2+my, o.W, o.Ink, o.Dash)
	case Poly:
		points := make([][2]float64, len(o.Points))
		for i, p := range o.Points {
			points[i] = [2]float64{p[0] + mx, p[1] + my}
		}
		d.pen.polygon(points, o.Fill)
	case Glyph:
		if d.doc.Paths {
			d.glyphPath(o.X+mx, o.Y+my, o)
			return
		}
		d.pen.symbols(o.Cell/letters.PointMM, o.Ink)
		d.pen.text(o.X+mx, o.Y+my+o.Cell, string(o.Rune))
	case Area:
		d.area(o.X+mx, o.Y+my, o)
	case Inset:
		d.inset(o.X+mx, o.Y+my, o)
	}
}

func (d *drawing) text(x, y float64, o Text) {
	if d.doc.Paths {
		d.textPath(x, y, o)
		return
	}
	d.pen.face(o.Face, o.Size, o.Ink)
	at := x
	switch o.Align {
	case Center:
		at -= letters.Width(o.Face, o.Size, o.S) / 2
	case Right:
		at -= letters.Width(o.Face, o.Size, o.S)
	}
	for rest := o.S; rest != ""; {
		i := strings.IndexFunc(rest, letters.IsBorrowed)
		if i == 0 {
			o.S = rest[:len(rest)-len(strings.TrimLeftFunc(rest, letters.IsBorrowed))]
			d.linePath(x, y, at-x, o)
		} else {
			if o.S = rest; i > 0 {
				o.S = rest[:i]
			}
			if o.Turn == 0 {
				d.pen.text(at, y, o.S)
			} else {
				d.pen.turned(float64(o.Turn), x, y, func() { d.pen.text(at, y, o.S) })
			}
		}
		at += letters.Width(o.Face, o.Size, o.S)
		rest = rest[len(o.S):]
	}
}

// Marks in the content of a page that conform looks for: a chunk goes in, or
// what stands between two cuts goes out.
const (
	chunkMark = "%%CHUNK "
	cutMark   = "%%CUT"
)

// area leaves marks for the streams of a chart and sees to it that its symbols
// get into the font, which holds only what gofpdf has drawn.
func (d *drawing) area(x, y float64, o Area) {
	l := o.Lattice
	used, discs, signs := string(l.Runes), l.writeDiscs, l.writeSymbols
	if l.Gaps != nil {
		used = string(symbols.Disc) + used
	}
	if d.doc.Paths {
		size := d.size()
		discs, signs = func(o *opWriter) { l.discForms(o, size) }, func(o *opWriter) { l.symbolForms(o, size) }
		for _, r := range used {
			d.forms[form{size, r}] = true
		}
	} else {
		d.pen.symbols(1, Color{})
		d.pen.raw(cutMark)
		d.pen.text(0, 0, used)
		d.pen.raw(cutMark)
	}

	p := o.Pitch / letters.PointMM
	px := x / letters.PointMM
	py := (d.page.H + 2*d.page.Margin() - y - o.Pitch*float64(l.Rows)) / letters.PointMM
	part := func(layer int, write func(*opWriter)) {
		d.chunks = append(d.chunks, &chunk{write: func(w io.Writer) error {
			o := &opWriter{w: w, buf: make([]byte, 0, 40<<10)}
			if p := d.doc.Press; p != nil && p.Ink != nil {
				o.press = p
			}
			if d.doc.Layers {
				o.str("/OC /OC").num(layer).str("BDC\n")
			}
			o.str("q ").real(p).str("0 0 ").real(p).real(px).real(py).str("cm\n")
			if c := l.Clip; c != nil {
				o.real(c[0]).real(c[1]).real(c[2]).real(c[3]).str("re W n\n")
			}
			write(o)
			o.str("Q\n")
			if d.doc.Layers {
				o.str("EMC\n")
			}
			o.spill(0)
			return o.err
		}})
		d.pen.raw(chunkMark + strconv.Itoa(len(d.chunks)-1))
	}
	if l.Fill != nil {
		part(tintLayer, func(o *opWriter) { l.writeTints(o, discs) })
	}
	if l.Lines || l.Tens || l.Hatch != nil {
		part(lineLayer, l.writeLines)
	}
	if l.Runes != nil {
		part(symbolLayer, signs)
	}
}

// deflate makes the streams of all charts, one worker a processor.
func (d *drawing) deflate() {
	room := make([]*zlib.Writer, par.Count(len(d.chunks)))
	par.Workers(len(d.chunks), func(worker, i int) {
		z, c := room[worker], d.chunks[i]
		if z == nil {
			z = zlib.NewWriter(io.Discard) // level 6: level 9 takes five times as long for a tenth
			room[worker] = z
		}
		z.Reset(&c.data)
		if c.err = c.write(z); c.err == nil {
			c.err = z.Close()
		}
	})
}

func deflated(b []byte) []byte {
	var out bytes.Buffer
	z := zlib.NewWriter(&out)
	_, _ = z.Write(b) // a bytes.Buffer takes everything
	_ = z.Close()
	return out.Bytes()
}
