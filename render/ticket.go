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
	d := documentOf(k, p, "ticket", "What the print shop and the film need to know", newSkin(k, p).Box)
	d.Pages = []*pdf.Page{ticketPage(k, p)}
	return d.Write(w)
}

// barError returns the error of a 100 mm bar that moves the farthest drill by
// half a pitch, rounded down to .1 mm and held between .1 and .5 mm.
func barError(k *kit.Kit) measure.Length {
	const tenth = 100 * measure.Micrometer
	e := 100 * measure.Millimeter * k.Pitch / 2 / max(k.Width(), k.Height())
	return min(max(e/tenth*tenth, tenth), 5*tenth)
}

func ticketPage(k *kit.Kit, p Print) *pdf.Page {
	paper := p.deskPaper()
	pg := &pdf.Page{W: paper.Size.W.MM(), H: paper.Size.H.MM()}
	m := p.deskMargin()
	c := newCanvas(k, p)
	u := p.Units
	ops, y := pageTitle(m, m, pg.W-2*m, "Ticket for the canvas", titleOf(k)+" · "+stampOf(k, p))
	pg.Add(ops...)

	// The sheet in small, what to measure beside it.
	drawW, drawH := 92.0, 92.0
	out, scale, px, py := sheetOutline(c, m, y+2, drawW, drawH)
	pg.Add(out...)
	pg.Add(filmOps(k, p, px, py, k.Pitch.MM()*scale)...)
	pg.Add(arrowUp(px+c.w*scale/2, py-5.2, 3.4, black),
		pdf.Text{X: m, Y: y + 2 + c.sheetH*scale + 4.2, Size: 8, Ink: dim, S: "The sheet in small. Dashed: the film and its seams."})
	f := &column{x: m + c.sheetW*scale + 9, y: y - 1, w: pg.W - 2*m - c.sheetW*scale - 9}
	f.heading("Sizes")
	const labelW = 36
	both := func(a, b measure.Length) string { return lengthNumberMM(a) + " × " + lengthNumberMM(b) + " mm" }
	f.item(labelW, "Drilled picture", sizeBoth(k.Width(), k.Height(), u))
	f.item(labelW, "Sheet, trimmed", sizeBoth(microns(c.sheetW), microns(c.sheetH), u))
	if p.Measured != (Bars{}) {
		in := p.Measured.scale()
		f.item(labelW, "Sheet in the file", tenthsMM(c.sheetW*in[0])+" × "+tenthsMM(c.sheetH*in[1])+" mm, scaled for the printer")
	}
	if p.Bleed > 0 {
		f.item(labelW, "Bleed", mmText(p.Bleed)+" on every side, with crop marks")
	}
	if p.Wrap > 0 {
		f.item(labelW, "Wrap", lengthText(p.Wrap, u)+" around the picture, to stretch over bars")
	}
	if p.FrameLip > 0 {
		f.item(labelW, "Frame lip", mmText(p.FrameLip)+", shaded on the canvas")
	}
	f.item(labelW, "Drills", say.Count(k.Chart.Drills(), string(k.Drill.Shape)+" drill")+", "+mmText(k.Pitch)+" apart, "+say.Count(len(k.Chart.Legend), "color"))
	pg.Add(f.ops...)

	f = &column{x: m, y: max(f.y, y+2+c.sheetH*scale+5) + 3, w: pg.W - 2*m}
	f.heading("For the print shop")
	const wide = 28
	e := barError(k)
	trueTo, toPrint := "true scale", "Print at 100 %. No “fit to page”, no scaling in the driver."
	if b := p.Measured; b != (Bars{}) {
		trueTo = "scaled for one printer"
		toPrint += " The file makes up for a printer whose 100 mm bars came out as " + mmText(b.Across) + " across and " + mmText(b.Down) +
			" down: on that printer alone the sheet comes out right."
	}
	f.item(wide, "Order", "Quantity ________    Name and contact ________________________________")
	f.item(wide, "File", "canvas.pdf, "+markOf(k)+": one page, "+trueTo+", flat, PDF/A-1b, fonts embedded, colors tagged as sRGB. Finest line "+
		strconv.FormatFloat(min(hair, pdf.ThinLine*k.Pitch.MM()), 'f', 2, 64)+" mm, smallest type 7 points.")
	f.item(wide, "Scale", toPrint)
	f.item(wide, "Check", "Both 100 mm bars on the sheet measure "+mmText(100*measure.Millimeter-e)+" to "+mmText(100*measure.Millimeter+e)+
		": more would move the last drills by over half a drill.")
	f.item(wide, "Direction", "Not mirrored. The arrow on the sheet points up.")
	f.item(wide, "Surface", "Matte, with no varnish, laminate or other top coat: the film has to stick to it.")
	f.item(wide, "Drying", "Dry all the way through before film, cutting or rolling. Roll with the print outside.")

	f.heading("For the film")
	f.item(wide, "Kind", "Clear double-sided film, one liner left on: it is the cover until the last drill.")
	f.item(wide, "Where", "Over the drilled picture and 2 to 3 mm beyond: about "+both(k.Width()+2*filmOver, k.Height()+2*filmOver)+
		". Never on the margins or the wrap.")
	f.item(wide, "Seams", seamText(k, p))
	f.item(wide, "How", "From the middle outward with a felt squeegee, bubbles pricked flat. Keep the liner's side clean.")

	f.y += 2
	f.lines(letters.Regular, 8.5, dim, 3, "These rules are common practice, without a published source. The advice of your print shop and of the film's maker comes first. "+
		"Adhesives and sealers give off fumes: air the room, and keep blades, drills and film away from children under three and from pets.")
	pg.Add(f.ops...)
	return pg
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
		return "None: a roll of " + mmText(p.FilmWidth.Length) + " covers the picture, the strip running " + edge + "."
	}
	return say.Count(len(strips), "strip") + " of a roll of " + mmText(p.FilmWidth.Length) + ", running " + edge + ", over " + lines + " " + stripText(strips) +
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

// tenthsMM returns millimeters with one decimal, without the unit.
func tenthsMM(mm float64) string { return strconv.FormatFloat(mm, 'f', 1, 64) }

// lengthNumberMM returns a length in whole millimeters, without the unit.
func lengthNumberMM(l measure.Length) string {
	return ((l + measure.Millimeter/2) / measure.Millimeter * measure.Millimeter).In(measure.Millimeter)
}
