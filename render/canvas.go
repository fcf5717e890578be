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
	c := newCanvas(k, p)
	d := documentOf(k, p, "canvas", c.subject(), c.skin.Box)
	d.Pages = []*pdf.Page{c.page()}
	return d.Write(w)
}

// documentOf returns a document of a kit, without its pages.
func documentOf(k *kit.Kit, p Print, what, subject string, box float64) pdf.Document {
	return pdf.Document{Title: documentTitle(k, what), Subject: subject, Creator: pdf.Producer, Mark: markOf(k), Date: p.Date.String(), Box: box}
}

// markOf returns what ties everything of one kit together: "kit CDFHJK".
func markOf(k *kit.Kit) string { return "kit " + k.Chart.Mark() }

// stampOf is the kit's mark and, if one was given, the date.
func stampOf(k *kit.Kit, p Print) string {
	if d := p.Date.String(); d != "" {
		return markOf(k) + " · " + d
	}
	return markOf(k)
}

// titleOf returns the title of a kit as it can be printed.
func titleOf(k *kit.Kit) string {
	if t := letters.Clean(k.Title); t != "" {
		return t
	}
	return "Untitled"
}

// documentTitle returns the title of a file, in its own characters.
func documentTitle(k *kit.Kit, what string) string {
	if t := strings.TrimSpace(k.Title); t != "" {
		return t + ": " + what
	}
	return titleOf(k) + ": " + what
}

// canvas is the layout of the canvas page: everything in mm.
type canvas struct {
	kit   *kit.Kit
	print Print
	skin  skin

	w, h   float64 // the drilled picture
	wrap   float64
	margin float64
	x, y   float64 // upper left corner of the drilled picture on the trimmed page

	header  canvasHeader
	beside  *legend
	columns int // blocks beside
	rowsB   int // rows of a block beside
	legendX float64
	below   *legend
	rowsU   int // rows of a block below

	sheetW, sheetH float64
}

// canvasHeader is what stands above the picture.
type canvasHeader struct {
	size  float64 // of the title
	title []string
	facts []string
}

// Places in the margins of the canvas, mm.
const (
	safe       = 10.0 // nothing but crop marks is nearer to the edge
	besideGap  = 18.0 // from the picture or its wrap to the legend: row numbers stand between
	barOff     = 15.0 // from the picture or its wrap to the check bars
	belowOff   = 26.0 // to the legend below
	headerGap  = 11.0 // from the header to the picture: column numbers stand between
	leastInner = 125.0
	titleSize  = 26.0 // of a picture up to 60 cm wide; larger ones have larger titles
	titleMost  = 60.0
	thumbLeast = 45.0 // less of a picture in small is not worth its place
)

// newCanvas decides where everything lies.
func newCanvas(k *kit.Kit, p Print) *canvas {
	c := &canvas{
		kit: k, print: p, skin: newSkin(k, p),
		w: k.Width().MM(), h: k.Height().MM(), wrap: p.Wrap.MM(), margin: p.Margin.MM(),
	}
	blockW, blockH := c.w+2*c.wrap, c.h+2*c.wrap
	right := c.margin + blockW + c.margin // where the sheet ends
	contentH := blockH
	if p.Legend == LegendBeside || p.Legend == LegendBoth {
		room := max(blockH, leastInner+30)
		lay := func(size float64) {
			c.beside = newLegend(k, c.skin, allEntries(k), nil, size, 4.7*size)
			c.columns, c.rowsB = c.beside.blocks(c.beside.fit(room - c.besideHead() - c.noteHeight(c.beside.width())))
		}
		lay(9)
		fewest, size := c.columns, 12.0
		if fewest > 1 {
			size = 10.5 // wide enough as it is
		}
		for lay(size); c.columns > fewest; lay(size) { // the largest type that takes no more columns
			size -= 0.5
		}
		c.legendX = c.margin + max(blockW+besideGap, leastInner)
		right = max(right, c.legendX+c.beside.widthOf(c.columns)+safe)
		contentH = max(blockH, c.besideHead()+c.beside.height(c.rowsB)+c.noteHeight(c.beside.widthOf(c.columns)))
	}
	c.sheetW = max(right, leastInner+2*c.margin)
	inner := c.sheetW - c.margin - safe
	c.header = c.newHeader(inner - 12)
	top := max(c.margin+c.wrap, safe+c.headerHeight()+headerGap+c.wrap)
	c.x, c.y = c.margin+c.wrap, top
	bottom := c.margin
	if p.Legend == LegendBelow || p.Legend == LegendBoth {
		c.below = newLegend(k, c.skin, allEntries(k), nil, 9, 42)
		room := c.sheetW - 2*c.margin
		if c.below.width() > room {
			c.below = newLegend(k, c.skin, allEntries(k), nil, 9, max(10, 42-(c.below.width()-room)))
		}
		blocks := max(1, int((room+c.below.apart)/(c.below.width()+c.below.apart)))
		c.rowsU = (len(c.below.rows) + blocks - 1) / blocks
		bottom = belowOff + c.besideHead() + c.below.height(c.rowsU) + c.noteHeight(room) + safe
	}
	c.sheetH = top - c.wrap + contentH + max(c.margin, bottom)
	return c
}

// besideHead is the height of the legend's heading.
func (c *canvas) besideHead() float64 { return 9 }

func (c *canvas) newHeader(width float64) canvasHeader {
	h := canvasHeader{size: math.Round(min(titleMost, max(titleSize, titleSize*c.w/600)))}
	t := titleOf(c.kit)
	for h.size > 15 && letters.Width(letters.Bold, h.size, t) > width {
		h.size--
	}
	h.title = letters.Wrap(letters.Bold, h.size, width, 2, t)
	h.facts = letters.Wrap(letters.Regular, plainT, width, 3, c.facts())
	return h
}

// headerHeight returns the height of title and facts.
func (c *canvas) headerHeight() float64 {
	return float64(len(c.header.title))*c.header.size*1.15*letters.PointMM + 1.5 + float64(len(c.header.facts))*4.2
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
	return letters.Wrap(letters.Regular, 8, width, 4, s)
}

func (c *canvas) noteHeight(width float64) float64 { return 3 + 3.8*float64(len(c.note(width))) }

// page returns the decided page.
func (c *canvas) page() *pdf.Page {
	pg := &pdf.Page{W: c.sheetW, H: c.sheetH, Bleed: c.print.Bleed.MM(), Scale: c.print.Measured.scale()}
	if pg.Bleed > 0 {
		pg.Slug = slug
	}
	pg.Add(c.wrapOps()...)
	pg.Add(c.grid()...)
	pg.Add(c.headerOps()...)
	pg.Add(c.numbers().ops()...)
	pg.Add(c.bars()...)
	pg.Add(c.seams()...)
	pg.Add(c.legends()...)
	pg.Add(c.finished()...)
	pg.Add(cropMarks(pg)...)
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
	x := c.margin
	y := safe + letters.CapHeight*c.header.size*letters.PointMM
	ops = append(ops, arrowUp(x+3.5, safe, 7, black),
		pdf.Text{X: x + 3.5, Y: safe + 12.5, Size: small, Align: pdf.Center, S: "top"})
	x += 12
	ops, y = paragraph(ops, x, y, letters.Bold, c.header.size, c.header.size*1.15*letters.PointMM, black, c.header.title)
	y += 1.5 + 4.2 - c.header.size*1.15*letters.PointMM
	facts := letters.Wrap(letters.Regular, plainT, c.sheetW-x-safe, 3, c.facts())
	ops, _ = paragraph(ops, x, y+1.2, letters.Regular, plainT, 4.2, dim, facts)
	return ops
}

func (c *canvas) numbers() numbering {
	return numbering{X: c.x, Y: c.y, Pitch: c.kit.Pitch.MM(), Cols: c.kit.Chart.Cols, Rows: c.kit.Chart.Rows, Gap: c.wrap + 0.8, Size: 8}
}

// bars returns the check bars, one below the picture and one to its left.
func (c *canvas) bars() []pdf.Op {
	// On a wide sheet the bars are at opposite corners, so that they tell more
	// about the whole of it.
	x, y := c.x-c.wrap, c.y+c.h+c.wrap+barOff
	wide := c.w+2*c.wrap >= 350
	if wide {
		x += c.w + 2*c.wrap - 120
	}
	ops := barAcross(x, y)
	ops = append(ops,
		pdf.Text{X: x + 104, Y: y, Size: 8, Face: letters.Bold, S: "100 mm"},
		pdf.Text{X: x, Y: y + 4.2, Size: 8, S: c.barWords()})
	if lip := c.print.FrameLip; lip > 0 {
		t := pdf.Text{X: c.x + c.w + c.wrap, Y: y + 4.2, Size: 8, Align: pdf.Right, S: "Shaded drills: hidden by a frame's lip of " + mmText(lip) + "."}
		switch {
		case wide:
			t.X, t.Align = c.x-c.wrap, pdf.Left
		case c.w+2*c.wrap < 190: // below the words about the bar
			t.X, t.Y, t.Align = x, y+8.2, pdf.Left
		}
		ops = append(ops, t)
	}
	x, y = c.x-c.wrap-barOff, c.y-c.wrap
	ops = append(ops, barDown(x, y)...)
	return append(ops,
		pdf.Text{X: x, Y: y + 104, Size: 8, Face: letters.Bold, Turn: 270, S: "100 mm"})
}

// barWords says what the bar is for, and for which printer it is right.
func (c *canvas) barWords() string {
	s := "Print at 100 %, no “fit to page”. This bar must measure 100 mm."
	if b := c.print.Measured; b != (Bars{}) {
		s += " Scaled for one printer, whose bars came out as " + mmText(b.Across) + " and " + mmText(b.Down) + "."
	}
	return s
}

// seams marks in the margins where strips of film meet, if the film is
// narrower than the picture.
func (c *canvas) seams() []pdf.Op {
	strips, upright := filmStrips(c.kit, c.print.FilmWidth)
	var ops []pdf.Op
	const tip, foot = 7.0, 10.0 // beyond the numbers
	for _, s := range strips[1:] {
		at := float64(s.From) * c.kit.Pitch.MM()
		if upright {
			x, y0, y1 := c.x+at, c.y-c.wrap, c.y+c.h+c.wrap
			ops = append(ops,
				pdf.Poly{Fill: black, Points: [][2]float64{{x, y0 - tip}, {x + 1.2, y0 - foot}, {x - 1.2, y0 - foot}}},
				pdf.Poly{Fill: black, Points: [][2]float64{{x, y1 + tip}, {x + 1.2, y1 + foot}, {x - 1.2, y1 + foot}}},
				pdf.Text{X: x + 2, Y: y0 - tip - 0.6, Size: small, S: "film seam"})
		} else {
			y, x0, x1 := c.y+at, c.x-c.wrap, c.x+c.w+c.wrap
			ops = append(ops,
				pdf.Poly{Fill: black, Points: [][2]float64{{x0 - tip - 3, y}, {x0 - foot - 3, y + 1.2}, {x0 - foot - 3, y - 1.2}}},
				pdf.Poly{Fill: black, Points: [][2]float64{{x1 + tip + 3, y}, {x1 + foot + 3, y + 1.2}, {x1 + foot + 3, y - 1.2}}},
				pdf.Text{X: x0 - foot - 2, Y: y + 4.2, Size: small, Align: pdf.Center, S: "seam"})
		}
	}
	return ops
}

func (c *canvas) legends() []pdf.Op {
	var ops []pdf.Op
	if l := c.beside; l != nil {
		y := c.y - c.wrap
		ops = append(ops, c.legendOps(l, c.legendX, y, c.rowsB, l.widthOf(c.columns))...)
	}
	if l := c.below; l != nil {
		room := c.sheetW - 2*c.margin
		y := c.y + c.h + c.wrap + belowOff
		if c.beside != nil {
			y = max(y, c.sheetH-safe-c.noteHeight(room)-l.height(c.rowsU)-c.besideHead())
		}
		ops = append(ops, c.legendOps(l, c.margin, y, c.rowsU, room)...)
	}
	return ops
}

// finished shows the picture as it will be, in small, where the legend beside
// leaves room below it.
func (c *canvas) finished() []pdf.Op {
	l := c.beside
	if l == nil {
		return nil
	}
	width := l.widthOf(c.columns)
	top := c.y - c.wrap + c.besideHead() + l.height(c.rowsB) + c.noteHeight(width) + 10
	room := c.y + c.h + c.wrap - top - 6
	if c.below != nil || room < thumbLeast {
		return nil
	}
	t := thumbnail(c.kit.Chart, 240)
	cell := min(min(width, 250)/float64(t.Cols), min(room, 250)/float64(t.Rows))
	if cell*float64(max(t.Cols, t.Rows)) < thumbLeast {
		return nil
	}
	e := gray
	return []pdf.Op{
		pdf.Area{X: c.legendX, Y: top, Pitch: cell, Lattice: t},
		pdf.Rect{X: c.legendX, Y: top, W: cell * float64(t.Cols), H: cell * float64(t.Rows), Edge: &e, Line: 0.18},
		pdf.Text{X: c.legendX, Y: top + cell*float64(t.Rows) + 4.2, Size: 8, Ink: dim, S: "The finished picture in small."},
	}
}

func (c *canvas) legendOps(l *legend, x, y float64, rows int, width float64) []pdf.Op {
	ops := []pdf.Op{pdf.Text{X: x, Y: y + letters.CapHeight*big*letters.PointMM, Size: big, Face: letters.Bold, S: say.Count(len(l.rows), "color")}}
	y += c.besideHead()
	ops = append(ops, l.ops(x, y, rows)...)
	y += l.height(rows) + 3
	ops, _ = paragraph(ops, x, y+2, letters.Regular, 8, 3.8, dim, c.note(width))
	return ops
}
