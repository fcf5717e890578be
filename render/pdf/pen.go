package pdf

import (
	"bytes"
	"io"
	"slices"
	"strconv"

	"github.com/jung-kurt/gofpdf"

	"kitwright/render/letters"
)

// pen is all that we use of gofpdf: it lays out pages, draws text, lines and
// shapes, and embeds the fonts. Another library would need these methods, and
// conform.go would have to know how that library writes its objects.
type pen struct {
	f        *gofpdf.Fpdf
	hasFonts bool
	box      float64   // side of a symbol in its cell
	boxes    []float64 // of the symbol fonts that are loaded
}

// newPen returns a pen for pages of the first one's size. Lengths are in mm.
func newPen(w, h float64) *pen {
	f := gofpdf.NewCustom(&gofpdf.InitType{OrientationStr: "P", UnitStr: "mm", Size: gofpdf.SizeType{Wd: w, Ht: h}})
	f.SetCompression(false)
	f.SetCatalogSort(true)
	f.SetCreationDate(epoch)
	f.SetModificationDate(epoch)
	f.SetMargins(0, 0, 0)
	f.SetCellMargin(0)
	f.SetAutoPageBreak(false, 0)
	return &pen{f: f}
}

// fonts makes the fonts known, before there is a page. Without, there is no
// text.
func (p *pen) fonts() {
	// A copy each: gofpdf pads the tables of a font in place, and documents are
	// made side by side.
	p.f.AddUTF8FontFromBytes("text", "", bytes.Clone(letters.Regular.TTF()))
	p.f.AddUTF8FontFromBytes("text", "B", bytes.Clone(letters.Bold.TTF()))
	p.hasFonts = true
}

// useBox chooses how large symbols are in their cells from now on: each size is
// a font of its own.
func (p *pen) useBox(box float64) {
	if p.box = box; !slices.Contains(p.boxes, box) {
		p.boxes = append(p.boxes, box)
		if p.hasFonts {
			p.f.AddUTF8FontFromBytes(p.symbolFamily(), "", bytes.Clone(symbolFont(box)))
		}
	}
}

// symbolFamily is the name of the font of symbols in use.
func (p *pen) symbolFamily() string {
	if i := slices.Index(p.boxes, p.box); i > 0 {
		return "symbols" + strconv.Itoa(i)
	}
	return "symbols"
}

// forget sets what gofpdf believes to be set and raw operators took back.
func (p *pen) forget() {
	p.f.SetFillColor(0, 0, 0)
	if p.hasFonts {
		p.f.SetFont("text", "", 1) // no text has this size, so the next one sets its own
	}
}

// page begins a page.
func (p *pen) page(w, h float64) {
	p.f.AddPageFormat("P", gofpdf.SizeType{Wd: w, Ht: h})
}

// output writes the whole document.
func (p *pen) output(w io.Writer) error { return p.f.Output(w) }

// raw puts a line of operators into the page.
func (p *pen) raw(s string) { p.f.RawWriteStr(s) }

// face chooses a text face.
func (p *pen) face(f letters.Face, size float64, ink Color) {
	style := ""
	if f == letters.Bold {
		style = "B"
	}
	p.f.SetFont("text", style, size)
	p.ink(ink)
}

// symbols chooses the font of symbols.
func (p *pen) symbols(size float64, ink Color) {
	p.f.SetFont(p.symbolFamily(), "", size)
	p.ink(ink)
}

func (p *pen) ink(c Color) { p.f.SetTextColor(int(c[0]), int(c[1]), int(c[2])) }

// text writes from a point of the baseline on, in the font chosen last.
func (p *pen) text(x, y float64, s string) { p.f.Text(x, y, s) }

// turned does something in a space turned about a point, counterclockwise.
func (p *pen) turned(degrees, x, y float64, do func()) {
	p.f.TransformBegin()
	p.f.TransformRotate(degrees, x, y)
	do()
	p.f.TransformEnd()
}

// style sets colors and line width and returns gofpdf's word for them.
func (p *pen) style(fill, edge *Color, width float64) string {
	s := ""
	if fill != nil {
		p.f.SetFillColor(int(fill[0]), int(fill[1]), int(fill[2]))
		s = "F"
	}
	if edge != nil {
		p.f.SetDrawColor(int(edge[0]), int(edge[1]), int(edge[2]))
		p.f.SetLineWidth(width)
		s += "D"
	}
	return s
}

func (p *pen) rect(x, y, w, h float64, fill, edge *Color, width float64) {
	p.f.Rect(x, y, w, h, p.style(fill, edge, width))
}

func (p *pen) circle(x, y, r float64, fill, edge *Color, width float64) {
	p.f.Circle(x, y, r, p.style(fill, edge, width))
}

// line draws a stroke, dashed if dash is not 0.
func (p *pen) line(x1, y1, x2, y2, width float64, ink Color, dash float64) {
	p.style(nil, &ink, width)
	if dash > 0 {
		p.f.SetDashPattern([]float64{dash, dash}, 0)
		defer p.f.SetDashPattern(nil, 0)
	}
	p.f.Line(x1, y1, x2, y2)
}

func (p *pen) polygon(points [][2]float64, fill Color) {
	all := make([]gofpdf.PointType, len(points))
	for i, q := range points {
		all[i] = gofpdf.PointType{X: q[0], Y: q[1]}
	}
	p.f.Polygon(all, p.style(&fill, nil, 0))
}
