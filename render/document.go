package render

import (
	"bytes"
	"compress/zlib"
	"io"
	"strconv"
	"sync"
	"time"

	"github.com/jung-kurt/gofpdf"

	"kitwright/chart/symbols"
	"kitwright/internal/par"
	"kitwright/internal/say"
)

// document is a set of decided pages on their way to a PDF file.
//
// gofpdf draws text, lines and shapes and embeds the fonts; the charts are
// written by lattice, deflated as they are made; finish puts both together and
// adds what gofpdf cannot write. A document without layers is PDF/A-1b
// (ISO 19005-1), colors tagged as sRGB.
type document struct {
	Title   string
	Subject string
	Creator string
	Box     float64 // side of a symbol in its cell, share of the cell
	Layers  bool    // tint, symbols and lines can be switched off (PDF 1.5)
	Pages   []*page
}

// epoch is the date in every file: the same kit gives the same bytes.
var epoch = time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)

// chunk is a deflated content stream that goes into a page at a mark.
type chunk struct {
	write func(io.Writer) error
	data  bytes.Buffer
	err   error
}

// drawing is the state of writing one document.
type drawing struct {
	doc    *document
	pdf    *gofpdf.Fpdf
	page   *page
	chunks []*chunk
}

// write writes the document as a PDF file. It decides nothing.
func (d *document) write(w io.Writer) (err error) {
	defer func() { // gofpdf panics where it should return an error
		if r := recover(); r != nil {
			err = say.Failed("please report this with your settings", "the page could not be written: %v", r)
		}
	}()
	draw := &drawing{doc: d, pdf: newPDF(d)}
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
	if err := draw.pdf.Output(&raw); err != nil {
		<-deflated
		return say.Failed("please report this with your settings", "the page could not be written: %w", err)
	}
	<-deflated
	for _, c := range draw.chunks {
		if c.err != nil {
			return c.err
		}
	}
	return finish(w, d, raw.Bytes(), draw.chunks)
}

func newPDF(d *document) *gofpdf.Fpdf {
	first := d.Pages[0]
	pdf := gofpdf.NewCustom(&gofpdf.InitType{
		OrientationStr: "P", UnitStr: "mm",
		Size: gofpdf.SizeType{Wd: first.W + 2*first.margin(), Ht: first.H + 2*first.margin()},
	})
	pdf.SetCompression(false)
	pdf.SetCatalogSort(true)
	pdf.SetCreationDate(epoch)
	pdf.SetModificationDate(epoch)
	pdf.SetMargins(0, 0, 0)
	pdf.SetCellMargin(0)
	pdf.SetAutoPageBreak(false, 0)
	pdf.AddUTF8FontFromBytes("text", "", regular.ttf())
	pdf.AddUTF8FontFromBytes("text", "B", bold.ttf())
	pdf.AddUTF8FontFromBytes("symbols", "", symbolFont(d.Box))
	return pdf
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

func (d *drawing) start(p *page) {
	d.page = p
	d.pdf.AddPageFormat("P", gofpdf.SizeType{Wd: p.W + 2*p.margin(), Ht: p.H + 2*p.margin()})
}

func (d *drawing) op(o op) {
	m := d.page.margin()
	f := d.pdf
	switch o := o.(type) {
	case text:
		d.text(o.X+m, o.Y+m, o)
	case rect:
		f.Rect(o.X+m, o.Y+m, o.W, o.H, d.style(o.Fill, o.Edge, o.Line))
	case circle:
		f.Circle(o.X+m, o.Y+m, o.R, d.style(o.Fill, o.Edge, o.Line))
	case line:
		d.style(nil, &o.Ink, o.W)
		if o.Dash > 0 {
			f.SetDashPattern([]float64{o.Dash, o.Dash}, 0)
			f.Line(o.X1+m, o.Y1+m, o.X2+m, o.Y2+m)
			f.SetDashPattern(nil, 0)
			return
		}
		f.Line(o.X1+m, o.Y1+m, o.X2+m, o.Y2+m)
	case poly:
		points := make([]gofpdf.PointType, len(o.Points))
		for i, p := range o.Points {
			points[i] = gofpdf.PointType{X: p[0] + m, Y: p[1] + m}
		}
		f.Polygon(points, d.style(&o.Fill, nil, 0))
	case glyph:
		f.SetFont("symbols", "", o.Cell/pointMM)
		f.SetTextColor(int(o.Ink[0]), int(o.Ink[1]), int(o.Ink[2]))
		f.Text(o.X+m, o.Y+m+o.Cell, string(o.Rune))
	case area:
		d.area(o.X+m, o.Y+m, o)
	}
}

func (d *drawing) text(x, y float64, o text) {
	f := d.pdf
	style := ""
	if o.Face == bold {
		style = "B"
	}
	f.SetFont("text", style, o.Size)
	f.SetTextColor(int(o.Ink[0]), int(o.Ink[1]), int(o.Ink[2]))
	at := x
	switch o.Align {
	case center:
		at -= textWidth(o.Face, o.Size, o.S) / 2
	case right:
		at -= textWidth(o.Face, o.Size, o.S)
	}
	if o.Turn == 0 {
		f.Text(at, y, o.S)
		return
	}
	f.TransformBegin()
	f.TransformRotate(float64(o.Turn), x, y)
	f.Text(at, y, o.S)
	f.TransformEnd()
}

// style sets colors and line width and returns gofpdf's word for them.
func (d *drawing) style(fill, edge *color, width float64) string {
	s := ""
	if fill != nil {
		d.pdf.SetFillColor(int(fill[0]), int(fill[1]), int(fill[2]))
		s = "F"
	}
	if edge != nil {
		d.pdf.SetDrawColor(int(edge[0]), int(edge[1]), int(edge[2]))
		d.pdf.SetLineWidth(width)
		s += "D"
	}
	return s
}

// Marks in the content of a page that finish looks for: a chunk goes in, or
// what stands between two cuts goes out.
const (
	chunkMark = "%%CHUNK "
	cutMark   = "%%CUT"
)

// area leaves marks for the streams of a chart and sees to it that its symbols
// get into the font, which holds only what gofpdf has drawn.
func (d *drawing) area(x, y float64, o area) {
	l := o.Lattice
	f := d.pdf
	f.SetFont("symbols", "", 1)
	f.SetTextColor(0, 0, 0)
	f.RawWriteStr(cutMark)
	if l.Gaps != nil {
		f.Text(0, 0, string(symbols.Disc))
	}
	f.Text(0, 0, string(l.Runes))
	f.RawWriteStr(cutMark)

	p := o.Pitch / pointMM
	px := x / pointMM
	py := (d.page.H + 2*d.page.margin() - y - o.Pitch*float64(l.Rows)) / pointMM
	part := func(layer int, write func(*opWriter)) {
		d.chunks = append(d.chunks, &chunk{write: func(w io.Writer) error {
			o := &opWriter{w: w, buf: make([]byte, 0, 40<<10)}
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
		f.RawWriteStr(chunkMark + strconv.Itoa(len(d.chunks)-1))
	}
	if l.Fill != nil {
		part(tintLayer, l.writeTints)
	}
	if l.Lines || l.Tens || l.Hatch != nil {
		part(lineLayer, l.writeLines)
	}
	if l.Runes != nil {
		part(symbolLayer, l.writeSymbols)
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
