package render

import (
	"io"
	"strconv"

	"kitwright/internal/measure"
	"kitwright/internal/say"
	"kitwright/kit"
	"kitwright/render/letters"
	"kitwright/render/pdf"
)

// Ticket writes the page that tells the shop and whoever lays the film what to
// do with the canvas.
func Ticket(w io.Writer, k *kit.Kit, p Print) error {
	if err := p.checkFor(k); err != nil {
		return err
	}
	return writeDocument(w, k, p, "ticket", "What the print shop and the film need to know", newSkin(k, p).Box, []*pdf.Page{ticketPage(k, p)})
}

func ticketPage(k *kit.Kit, p Print) *pdf.Page {
	paper := p.deskPaper()
	pg := &pdf.Page{W: paper.Size.W.MM(), H: paper.Size.H.MM()}
	m := p.deskMargin()
	cut := laid(k, p)
	c := cut.c
	ops, y := pageTitle(m, m, pg.W-2*m, "Ticket for the canvas", titleOf(k, p)+" · "+stampOf(k, p))
	pg.Add(ops...)

	// What to do is set in the largest type that leaves room for the rest; the
	// sheet in small takes what is left.
	var rest, sizes *column
	const wide = 104.0
	high, beside := 0.0, 0.0
	for size := 11.0; size >= 9; size -= 0.5 {
		rest = &column{x: m, w: pg.W - 2*m, size: size}
		ticketWords(rest, cut, k, p)
		high = pg.H - m - rest.y - y - 12
		beside = min(wide, high*c.sheetW/c.sheetH)
		sizes = &column{x: m + beside + 9, y: y - 1, w: pg.W - 2*m - beside - 9, size: min(size, 10.5)}
		ticketSizes(sizes, cut, k, p)
		if high >= 60 && pg.H-m-rest.y >= sizes.y+2 {
			break
		}
	}
	out, scale, px, py := sheetOutline(c, m, y+2, wide, high)
	pg.Add(out...)
	pg.Add(filmOps(k, p, px, py, k.Pitch.MM()*scale)...)
	small := "The sheet in small. Dashed: the film and its seams."
	if cut.cut() {
		pg.Add(cut.cutLines(m, y+2, scale)...)
		small = "The sheet in small, with its panels. Dashed: the film and its seams."
	}
	pg.Add(arrowUp(px+c.w*scale/2, py-5.2, 3.4, black),
		pdf.Text{X: m, Y: y + 2 + c.sheetH*scale + 4.2, Size: 8, Ink: dim, S: small})
	pg.Add(sizes.ops...)
	f := &column{x: m, y: max(sizes.y, y+2+c.sheetH*scale+5) + 2, w: pg.W - 2*m, size: rest.size}
	ticketWords(f, cut, k, p)
	pg.Add(f.ops...)
	return pg
}

// ticketSizes tells how large everything is.
func ticketSizes(f *column, cut *panels, k *kit.Kit, p Print) {
	c := cut.c
	const label = 26
	u := p.Units
	f.heading("Sizes")
	f.item(label, "Picture", sizeBoth(k.Width(), k.Height(), u))
	f.item(label, "Sheet, cut", sizeBoth(microns(c.sheetW), microns(c.sheetH), u))
	if cut.cut() {
		f.item(label, "Panels", cut.sizeWords())
	}
	if in := p.printerScale(k); in != [2]float64{1, 1} {
		f.item(label, "In the file", tenthsMM(c.sheetW*in[0])+" × "+tenthsMM(c.sheetH*in[1])+" mm, scaled for the printer")
	}
	if p.Bleed > 0 {
		f.item(label, "Bleed", lengthBoth(p.Bleed, u)+" on every side, with crop marks")
	}
	if p.Wrap > 0 {
		f.item(label, "Wrap", lengthBoth(p.Wrap, u)+" around the picture, to stretch over bars")
	}
	if p.FrameLip > 0 {
		f.item(label, "Frame lip", lengthBoth(p.FrameLip, u)+", shaded on the canvas")
	}
	f.item(label, "Drills", say.Count(k.Chart.Drills(), string(k.Drill.Shape)+" drill")+", "+mmText(k.Pitch)+" apart, "+say.Count(len(k.Chart.Legend), "color"))
}

// ticketWords tells everybody what to do.
func ticketWords(f *column, cut *panels, k *kit.Kit, p Print) {
	f.heading("For the print shop")
	ticketShop(f, cut, k, p)
	f.heading("For the film")
	ticketFilm(f, k, p)
	f.heading("When the last drill is set")
	f.item(ticketLabel, "Press", "Roll or press the drills down all over, under a clean sheet. Sweep up what fell.")
	f.item(ticketLabel, "Seal", "Optional, and for good: try a sealer on spare drills first. Thin coats, in aired rooms.")
	f.item(ticketLabel, "Frame", "Without glass, or with a spacer that keeps it off the drills; or stretched over bars, if the sheet has a wrap.")
	f.y += 1
	f.lines(letters.Regular, 8.5, dim, 3, "These rules are common practice, without a published source. The advice of your print shop and of the film's maker comes first. "+
		"Adhesives and sealers give off fumes: air the room. Keep blades away from all children, and drills and film from those under three and from pets.")
}

// ticketLabel is the width of the labels of the ticket's items, mm.
const ticketLabel = 28

// ticketShop tells the print shop what to do.
func ticketShop(f *column, cut *panels, k *kit.Kit, p Print) {
	c := cut.c
	trueTo, toPrint := "true scale", "Print at 100 %. No “fit to page”, no scaling in the driver."
	if t := p.scaledFor(k); t != "" {
		trueTo = "scaled for one printer"
		toPrint += " " + t + " On that printer alone the sheet comes out right."
	}
	f.item(ticketLabel, "Order", "Quantity ________    Name and contact ________________________________")
	f.item(ticketLabel, "File", "canvas.pdf, "+markOf(k)+": "+cut.pageWords()+", "+trueTo+", flat, "+p.Shop.fileWords()+". Finest line "+
		strconv.FormatFloat(min(hair, pdf.ThinLine*k.Pitch.MM()), 'f', 2, 64)+" mm, smallest type 7 points.")
	f.item(ticketLabel, "Scale", toPrint)
	if t := cut.rollWords(); t != "" {
		f.item(ticketLabel, "Roll", t)
	}
	across, down := c.barLengths()
	e := max(barError(across, k.Width(), k.Pitch), barError(down, k.Height(), k.Pitch))
	f.item(ticketLabel, "Check", "The bar below the picture measures "+barText(across)+", the one beside it "+barText(down)+", each within "+mmText(e)+
		": more would move the last drills by over half a drill.")
	f.item(ticketLabel, "Direction", "Not mirrored. The arrow on the sheet points up.")
	f.item(ticketLabel, "Surface", "Smooth, fine-weave canvas, matte, with no varnish, laminate or other top coat: the film has to stick to it.")
	f.item(ticketLabel, "Drying", "Dry all the way through before film, cutting or rolling. Solvent ink gives off gas for days: let the sheet hang free for two or three. Roll with the print outside.")
}

// ticketFilm tells whoever lays the film what to do.
func ticketFilm(f *column, k *kit.Kit, p Print) {
	f.item(ticketLabel, "Kind", "Clear double-sided film, one liner left on: it is the cover until the last drill.")
	f.item(ticketLabel, "Where", "Over the drilled picture and 2 to 3 mm beyond: about "+sizeBoth(k.Width()+2*filmOver, k.Height()+2*filmOver, p.Units)+
		". Never on the margins or the wrap.")
	f.item(ticketLabel, "Seams", seamText(k, p))
	f.item(ticketLabel, "How", "Peel a hand's width of the lower liner along one edge and fold it under. Tack that edge, straight along the grid, and press it down with a felt squeegee, from the middle outward. "+
		"Then draw the liner away a hand's width at a time and go on. Prick bubbles flat. Keep the upper liner's side clean.")
}

// sheetOutline draws the canvas in small: sheet, wrap and picture, at most w
// by h mm, and returns the scale and the picture's place.
func sheetOutline(c *canvas, x, y, w, h float64) (ops []pdf.Op, scale, px, py float64) {
	scale = min(w/c.sheetW, h/c.sheetH)
	px, py = x+c.x*scale, y+c.y*scale
	edge, pale := gray, color{250, 250, 250}
	ops = append(ops, pdf.Rect{X: x, Y: y, W: c.sheetW * scale, H: c.sheetH * scale, Fill: &pale, Edge: &edge, Line: 0.2})
	if c.wrap > 0 {
		f := faint
		ops = append(ops, pdf.Rect{X: px - c.wrap*scale, Y: py - c.wrap*scale, W: (c.w + 2*c.wrap) * scale, H: (c.h + 2*c.wrap) * scale, Fill: &f})
	}
	t := thumbnail(c.kit.Chart, 240)
	// The thumbnail may be short of a few drills on its right and lower side.
	cell := min(c.w*scale/float64(t.Cols), c.h*scale/float64(t.Rows))
	ops = append(ops, pdf.Area{X: px, Y: py, Pitch: cell, Lattice: t})
	b := black
	ops = append(ops, pdf.Rect{X: px, Y: py, W: c.w * scale, H: c.h * scale, Edge: &b, Line: 0.25})
	return ops, scale, px, py
}

// seamText says where the film's seams lie.
func seamText(k *kit.Kit, p Print) string {
	strips, upright := filmStrips(k, p.FilmWidth)
	lines, edge := "columns", "top to bottom"
	if !upright {
		lines, edge = "rows", "side to side"
	}
	switch {
	case !p.FilmWidth.Given:
		return "None if the roll is as wide as the picture. Otherwise butt the edges, never overlap them, on a grid line."
	case len(strips) == 1:
		return "None: a roll of " + lengthBoth(p.FilmWidth.Length, p.Units) + " covers the picture, the strip running " + edge + "."
	}
	return say.Count(len(strips), "strip") + " of a roll of " + lengthBoth(p.FilmWidth.Length, p.Units) + ", running " + edge + ", over " + lines + " " + stripText(strips) +
		". Butt the edges on these grid lines, never overlap them."
}

// filmOps draws the film's outline and seams over a picture in small, its
// upper left corner at x, y and its cells cell mm wide.
func filmOps(k *kit.Kit, p Print, x, y, cell float64) []pdf.Op {
	over := filmOver.MM() / k.Pitch.MM() * cell
	w, h := float64(k.Chart.Cols)*cell, float64(k.Chart.Rows)*cell
	var ops []pdf.Op
	dash := func(x1, y1, x2, y2 float64) {
		ops = append(ops, pdf.Line{X1: x1, Y1: y1, X2: x2, Y2: y2, W: 0.5, Ink: white}, pdf.Line{X1: x1, Y1: y1, X2: x2, Y2: y2, W: 0.3, Ink: black, Dash: 1.2})
	}
	dash(x-over, y-over, x+w+over, y-over)
	dash(x-over, y+h+over, x+w+over, y+h+over)
	dash(x-over, y-over, x-over, y+h+over)
	dash(x+w+over, y-over, x+w+over, y+h+over)
	strips, upright := filmStrips(k, p.FilmWidth)
	for _, s := range strips[1:] {
		at := float64(s.From) * cell
		if upright {
			dash(x+at, y-over, x+at, y+h+over)
		} else {
			dash(x-over, y+at, x+w+over, y+at)
		}
	}
	return ops
}

// sizeBoth returns a size in the units asked for and, if those are not metric,
// in millimeters too.
func sizeBoth(w, h measure.Length, u Units) string {
	s := sizeText(w, h, u)
	if u == Inches {
		s += " (" + lengthNumberMM(w) + " × " + lengthNumberMM(h) + " mm)"
	}
	return s
}

// lengthBoth returns one length the same way; short ones are told in mm.
func lengthBoth(l measure.Length, u Units) string {
	if u == Inches {
		return lengthText(l, u) + " (" + mmText(l) + ")"
	}
	return mmText(l)
}

// tenthsMM returns millimeters with one decimal, without the unit.
func tenthsMM(mm float64) string { return strconv.FormatFloat(mm, 'f', 1, 64) }

// lengthNumberMM returns a length in whole millimeters, without the unit.
func lengthNumberMM(l measure.Length) string {
	return ((l + measure.Millimeter/2) / measure.Millimeter * measure.Millimeter).In(measure.Millimeter)
}
