package render

import (
	"io"
	"math"
	"strings"

	"kitwright/internal/measure"
	"kitwright/internal/say"
	"kitwright/kit"
	"kitwright/render/letters"
	"kitwright/render/pdf"
)

// Canvas writes the one true-scale page for a print shop: the symbolled grid,
// its numbers, the legend, the title and check bars, with crop marks and the
// page boxes that a shop looks for.
func Canvas(w io.Writer, k *kit.Kit, p Print) error {
	if err := p.checkFor(k); err != nil {
		return err
	}
	cut, err := layCanvas(k, p)
	if err != nil {
		return err
	}
	c := cut.c
	d := documentOf(k, p, "canvas", c.subject(), c.skin.Box)
	d.Press, d.Paths = p.Shop.press(), p.Shop.Outlined
	d.Pages = cut.pages()
	return d.Write(w)
}

// documentOf returns a document of a kit, without its pages.
func documentOf(k *kit.Kit, p Print, what, subject string, box float64) pdf.Document {
	return pdf.Document{Title: documentTitle(k, what), Subject: subject, Creator: pdf.Producer, Mark: markOf(k), Date: p.Date.String(), Box: box}
}

// writeDocument writes a document of a kit.
func writeDocument(w io.Writer, k *kit.Kit, p Print, what, subject string, box float64, pages []*pdf.Page) error {
	d := documentOf(k, p, what, subject, box)
	d.Pages = pages
	return d.Write(w)
}

// markOf returns what ties everything of one kit together: "kit CDFHJK".
func markOf(k *kit.Kit) string { return "kit " + k.Chart.Mark() }

// stampOf is the kit's mark, whether it was changed by hand since it was made,
// and the date if one was given.
func stampOf(k *kit.Kit, p Print) string {
	s := markOf(k)
	if k.Edits != nil && len(k.Edits.InForce()) > 0 {
		s += " · edited"
	}
	if d := p.Date.String(); d != "" {
		s += " · " + d
	}
	return s
}

// titleOf returns the title of a kit as it can be printed.
func titleOf(k *kit.Kit, p Print) string {
	if t := letters.CleanWith(k.Title, p.Font.font); t != "" {
		return t
	}
	return "Untitled"
}

// documentTitle returns the title of a file, in its own characters.
func documentTitle(k *kit.Kit, what string) string {
	if t := strings.TrimSpace(k.Title); t != "" {
		return t + ": " + what
	}
	return "Untitled: " + what
}

// canvas is the layout of the canvas page: everything in mm.
type canvas struct {
	kit   *kit.Kit
	print Print
	skin  skin

	w, h   float64 // the drilled picture
	wrap   float64
	margin float64
	f      float64 // how much larger than usual all that stands around the picture is
	x, y   float64 // upper left corner of the drilled picture on the trimmed page

	header  canvasHeader
	headX   float64
	beside  *legend
	columns int // blocks beside
	rowsB   int // rows of a block beside
	legendX float64
	left    bool // the legend stands to the left of the picture, too
	thumb   thumbnailPlace
	below   *legend
	rowsU   int // rows of a block below

	sheetW, sheetH float64

	first firstPanel // where the sheet is cut
}

// canvasHeader is what stands above the picture.
type canvasHeader struct {
	size  float64 // of the title
	title []string
	facts []string
}

// Places in the margins of the canvas, mm. Those that follow the size of the
// type around the picture grow with it.
const (
	safe       = 10.0 // nothing but crop marks is nearer to the edge
	besideGap  = 18.0 // from the picture or its wrap to the legend: row numbers stand between; grows
	barOff     = 15.0 // from the picture or its wrap to the check bars; grows
	barRest    = 10.0 // what a check bar and its words take beyond that; grows
	belowOff   = 26.0 // to the legend below; grows
	headerGap  = 11.0 // from the header to the picture: column numbers stand between; grows
	leastInner = 125.0
	titleSize  = 26.0 // of a picture up to 60 cm wide; larger ones have larger titles
	titleMost  = 60.0
	bothSides  = 800.0 // a picture wider than this has the legend on both sides
	usualSide  = 600.0 // up to here the type around the picture has its usual size
	mostGrown  = 2.0
)

// newCanvas decides where everything lies on a sheet in one piece.
func newCanvas(k *kit.Kit, p Print) *canvas { return newCanvasIn(k, p, firstPanel{}) }

// newCanvasIn decides where everything lies; of a sheet that is cut, title and
// legend keep to the first panel.
func newCanvasIn(k *kit.Kit, p Print, first firstPanel) *canvas {
	c := &canvas{
		kit: k, print: p, skin: newSkin(k, p), first: first,
		w: k.Width().MM(), h: k.Height().MM(), wrap: p.Wrap.MM(), margin: p.Margin.MM(),
	}
	c.f = min(mostGrown, max(1, max(c.w, c.h)/usualSide))
	blockW, blockH := c.w+2*c.wrap, c.h+2*c.wrap
	leftRoom := max(c.margin, safe+(barOff+4.5)*c.f) // the bar stands there, and its numbers
	c.headX = c.margin
	contentH := blockH
	right := c.margin + blockW + leftRoom // where the sheet ends
	if p.Legend == LegendBeside || p.Legend == LegendBoth {
		besideH := first.down.or(blockH)
		c.layBeside(besideH)
		c.left = c.w > bothSides && first == firstPanel{}
		if wide := c.beside.widthOf(c.columns); c.left {
			c.headX = safe
			leftRoom += wide + 4*c.f
		}
		c.legendX = leftRoom + max(blockW+besideGap*c.f, leastInner)
		right = max(leftRoom+blockW+c.margin, c.legendX+c.beside.widthOf(c.columns)+safe)
		contentH = max(blockH, c.besideHead()+c.beside.height(c.rowsB)+c.noteHeight(c.beside.widthOf(c.columns)))
		right = max(right, c.placeThumb(besideH)+safe)
	}
	c.sheetW = max(right, leastInner+2*c.margin)
	c.header = c.newHeader(first.across.or(c.sheetW) - c.headX - safe - 12*c.f)
	top := max(c.margin+c.wrap, safe+c.headerHeight()+headerGap*c.f+c.wrap)
	c.x, c.y = leftRoom+c.wrap, top
	bottom := max(c.margin, (barOff+barRest)*c.f+safe/2)
	if p.Legend == LegendBelow || p.Legend == LegendBoth {
		bottom = c.layBelow()
	}
	c.sheetH = top - c.wrap + contentH + max(c.margin, bottom)
	return c
}

// besideHead is the height of the legend's heading.
func (c *canvas) besideHead() float64 { return 9 * c.f }

func (c *canvas) newHeader(width float64) canvasHeader {
	h := canvasHeader{size: math.Round(min(titleMost, titleSize*max(c.f, c.w/usualSide)))}
	t := titleOf(c.kit, c.print)
	for h.size > 15 && letters.Width(letters.Bold, h.size, t) > width {
		h.size--
	}
	h.title = letters.Wrap(letters.Bold, h.size, width, 2, t)
	h.facts = letters.Wrap(letters.Regular, plainT*c.f, width, 3, c.facts())
	return h
}

// headerHeight returns the height of title and facts.
func (c *canvas) headerHeight() float64 {
	return float64(len(c.header.title))*c.header.size*1.15*letters.PointMM + (1.5+float64(len(c.header.facts))*4.2)*c.f
}

// facts returns what the sheet is, in one line.
func (c *canvas) facts() string {
	k, u := c.kit, c.print.Units
	return say.Number(k.Chart.Cols) + " × " + say.Number(k.Chart.Rows) + " " + string(k.Drill.Shape) + " drills, " + mmText(k.Pitch) + " apart · " +
		say.Count(k.Chart.Drills(), "drill") + " in " + say.Count(len(k.Chart.Legend), "color") + " · picture " + sizeText(k.Width(), k.Height(), u) +
		" · sheet " + c.sheetText() + " · " + stampOf(k, c.print)
}

func (c *canvas) sheetText() string {
	if c.sheetW == 0 { // its size is decided after its header: a stand-in as wide
		return "000.0 × 000.0 " + string(c.print.Units)
	}
	return sizeText(microns(c.sheetW), microns(c.sheetH), c.print.Units)
}

func microns(mm float64) measure.Length { return measure.Length(math.Round(mm * 1000)) }

func (c *canvas) subject() string {
	return "Drill painting canvas, true scale: print at 100 %. " + c.facts()
}

// note returns the lines under the legend.
func (c *canvas) note(width float64) []string {
	s := "Card: " + letters.Clean(c.kit.Card.Name) + "."
	if c.kit.Card.Builtin {
		s += " " + kit.ReferenceNote
	}
	return letters.Wrap(letters.Regular, 8*c.f, width, 4, s)
}

func (c *canvas) noteHeight(width float64) float64 {
	return (3 + 3.8*float64(len(c.note(width)))) * c.f
}

// page returns the decided page.
func (c *canvas) page() *pdf.Page {
	pg := c.sheet()
	pg.Add(cropMarks(pg)...)
	return pg
}

// blank returns the page with nothing on it: its size can be told before there
// is a drill.
func (c *canvas) blank() *pdf.Page {
	pg := &pdf.Page{W: c.sheetW, H: c.sheetH, Bleed: c.print.Bleed.MM(), Scale: c.print.printerScale(c.kit)}
	if pg.Bleed > 0 {
		pg.Slug = slug
	}
	return pg
}

// sheet returns the page without the marks outside it.
func (c *canvas) sheet() *pdf.Page {
	pg := c.blank()
	pg.Add(c.wrapOps()...)
	pg.Add(c.grid()...)
	pg.Add(c.headerOps()...)
	pg.Add(c.numbers().ops()...)
	pg.Add(c.bars()...)
	pg.Add(c.seams()...)
	pg.Add(c.legends()...)
	pg.Add(c.finished()...)
	return pg
}

// grid returns the chart and the lip that a frame hides.
func (c *canvas) grid() []pdf.Op {
	k := c.kit
	l := c.skin.window(k.Chart, 0, 0, k.Chart.Cols, k.Chart.Rows)
	ops := []pdf.Op{pdf.Area{X: c.x, Y: c.y, Pitch: k.Pitch.MM(), Lattice: l}}
	if lip := c.print.FrameLip; lip > 0 {
		hide := int((lip + k.Pitch - 1) / k.Pitch) // drills that the lip touches
		l.Hatch = func(x, y int) bool {
			return x < hide || y < hide || x >= k.Chart.Cols-hide || y >= k.Chart.Rows-hide
		}
		// Where the frame's edge will lie is marked beside the picture: over it, it
		// would cross symbols.
		m, near, far := lip.MM(), c.wrap+0.4, c.wrap+3.4
		for _, x := range [2]float64{c.x + m, c.x + c.w - m} {
			for _, y := range [2][2]float64{{c.y - far, c.y - near}, {c.y + c.h + near, c.y + c.h + far}} {
				ops = append(ops, pdf.Line{X1: x, Y1: y[0], X2: x, Y2: y[1], W: 0.3, Ink: black, Dash: 0.6})
			}
		}
		for _, y := range [2]float64{c.y + m, c.y + c.h - m} {
			for _, x := range [2][2]float64{{c.x - far, c.x - near}, {c.x + c.w + near, c.x + c.w + far}} {
				ops = append(ops, pdf.Line{X1: x[0], Y1: y, X2: x[1], Y2: y, W: 0.3, Ink: black, Dash: 0.6})
			}
		}
	}
	return ops
}

func (c *canvas) headerOps() []pdf.Op {
	var ops []pdf.Op
	x, f := c.headX, c.f
	y := safe + letters.CapHeight*c.header.size*letters.PointMM
	ops = append(ops, arrowUp(x+3.5*f, safe, 7*f, black),
		pdf.Text{X: x + 3.5*f, Y: safe + 12.5*f, Size: small * f, Align: pdf.Center, S: "top"})
	x += 12 * f
	ops, y = paragraph(ops, x, y, letters.Bold, c.header.size, c.header.size*1.15*letters.PointMM, black, c.header.title)
	y += (1.5+4.2)*f - c.header.size*1.15*letters.PointMM
	facts := letters.Wrap(letters.Regular, plainT*f, c.first.across.or(c.sheetW)-x-safe, 3, c.facts())
	ops, _ = paragraph(ops, x, y+1.2*f, letters.Regular, plainT*f, 4.2*f, dim, facts)
	return ops
}

func (c *canvas) numbers() numbering {
	return numbering{X: c.x, Y: c.y, Pitch: c.kit.Pitch.MM(), Cols: c.kit.Chart.Cols, Rows: c.kit.Chart.Rows, Gap: c.wrap + 0.8, Size: 8 * c.f}
}
