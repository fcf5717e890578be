package render

import (
	"fmt"
	"io"
	"strconv"

	"kitwright/internal/measure"
	"kitwright/internal/say"
	"kitwright/render/letters"
	"kitwright/render/pdf"
)

// Ticket writes the page that tells the shop what lies where on the roll.
func (g *Gang) Ticket(w io.Writer) error {
	d := g.document("ticket")
	d.Pages = g.ticketPages()
	return d.Write(w)
}

// ShortWords says how near the roll is to the shortest there is.
func (g *Gang) ShortWords() string {
	turned := "none turned"
	if g.Roll.Turn {
		turned = "turned or not"
	}
	over := g.Over()
	if over == 0 {
		return "No roll with these canvases, " + turned + ", is shorter: proven."
	}
	return fmt.Sprintf("At most %d mm longer than any roll with these canvases, %s, must be: proven.", (over+measure.Millimeter-1)/measure.Millimeter, turned)
}

// WasteWords tells the share of the roll that is no sheet.
func (g *Gang) WasteWords() string {
	t := g.Waste()
	return strconv.Itoa(t/10) + "." + strconv.Itoa(t%10) + " percent"
}

func (g *Gang) ticketPages() []*pdf.Page {
	p := g.Roll.Print
	paper, m := p.deskPaper(), p.deskMargin()
	fresh := func(what string) (*pdf.Page, float64) {
		pg := &pdf.Page{W: paper.Size.W.MM(), H: paper.Size.H.MM()}
		title := g.count()
		if d := p.Date.String(); d != "" {
			title += " · " + d
		}
		ops, y := pageTitle(m, m, pg.W-2*m, what, title)
		pg.Add(ops...)
		return pg, y
	}
	pg, y := fresh("Ticket for the roll")
	pages := []*pdf.Page{pg}
	f := &column{x: m, y: y, w: pg.W - 2*m, size: 10}
	g.ticketWords(f)
	f.y += 4

	// The map takes what is left of the page; the list stands beside it, and goes
	// on where it ends.
	most := (pg.W - 2*m) * 0.58
	ops, wide := g.mapOps(m, f.y, most, pg.H-m-f.y-1)
	pg.Add(f.ops...)
	pg.Add(ops...)
	list := &column{x: m + wide + 6, y: f.y, w: pg.W - 2*m - wide - 6}
	for i, c := range g.Canvases {
		if list.y > pg.H-m-13 {
			pg.Add(list.ops...)
			pg, y = fresh("Ticket for the roll, continued")
			pages = append(pages, pg)
			list = &column{x: m, y: y, w: pg.W - 2*m}
		}
		g.listed(list, i, c)
	}
	pg.Add(list.ops...)
	return pages
}

// ticketWords tells the shop what to do with the roll.
func (g *Gang) ticketWords(f *column) {
	p, u := g.Roll.Print, g.Roll.Print.Units
	pages := "one page"
	if n := g.Stretches(); n > 1 {
		pages = say.Count(n, "page") + ", a stretch of roll each, as PDF ends at 5.08 m"
	}
	f.item(ticketLabel, "Roll", lengthBoth(g.Roll.Width, u)+" printed across, "+lengthText(g.Length(), u)+" long; "+g.WasteWords()+" of it is waste.")
	f.item(ticketLabel, "Length", g.ShortWords())
	f.item(ticketLabel, "File", pages+", "+p.Shop.fileWords()+".")
	scale := "Print at 100 %. No “fit to page”, no scaling in the driver. The bars on each canvas tell."
	if t := p.scaledFor(nil); t != "" {
		scale += " " + t
	}
	f.item(ticketLabel, "Scale", scale)
	f.item(ticketLabel, "Cut", "Along each canvas's own marks, "+mmText(g.Roll.Gap)+" from the next. Its name and kit mark stand below it on the waste: write them on its back before you cut. Keep the blade along a steel rule, and away from children.")
}

// mapOps draws the stretches side by side in small, each canvas with its number
// in the list, at most w by h mm, and returns how wide they are.
func (g *Gang) mapOps(x, y, w, h float64) (ops []pdf.Op, wide float64) {
	long := measure.Length(0)
	n := g.Stretches()
	for run := range n {
		long = max(long, g.long(run))
	}
	const apart = 4
	scale := min((w-apart*float64(n-1))/(float64(n)*g.width.MM()), h/long.MM())
	step := g.width.MM()*scale + apart
	edge, pale := black, color{235, 235, 235}
	for run := range n {
		ops = append(ops, pdf.Rect{X: x + step*float64(run), Y: y, W: g.width.MM() * scale, H: g.long(run).MM() * scale, Fill: &pale, Edge: &edge, Line: 0.2})
	}
	for i := range g.Canvases {
		c := &g.Canvases[i]
		lw, lh := c.lies()
		rx, ry, rw, rh := x+step*float64(c.Run)+c.X.MM()*scale, y+c.Y.MM()*scale, lw.MM()*scale, lh.MM()*scale
		ops = append(ops, pdf.Inset{X: rx, Y: ry, Turn: c.Turned, Page: c.inSmall(scale), Frame: [4]float64{0, 0, (c.page.W + 2*c.page.Bleed) * scale, (c.page.H + 2*c.page.Bleed) * scale}})
		ops = append(ops, pdf.Rect{X: rx, Y: ry, W: rw, H: rh, Edge: &edge, Line: 0.15})
		size := min(14, max(small, 0.3*min(rw, rh)/letters.PointMM))
		white, cx, cy := white, rx+rw/2, ry+rh/2
		ops = append(ops, pdf.Circle{X: cx, Y: cy, R: 0.85 * size * letters.PointMM, Fill: &white},
			pdf.Text{X: cx, Y: cy + letters.CapHeight*size*letters.PointMM/2, Size: size, Face: letters.Bold, Align: pdf.Center, S: strconv.Itoa(i + 1)})
	}
	return ops, step*float64(n) - apart
}

// inSmall returns the sheet with its picture in small.
func (c *GangedCanvas) inSmall(scale float64) *pdf.Page {
	pg := &pdf.Page{W: c.page.W * scale, H: c.page.H * scale}
	w := white
	pg.Add(pdf.Rect{W: (c.page.W + 2*c.page.Bleed) * scale, H: (c.page.H + 2*c.page.Bleed) * scale, Fill: &w})
	b := c.page.Bleed * scale
	small := func(op pdf.Op, dx, dy float64) {
		if a, ok := op.(pdf.Area); ok && a.Lattice.Runes != nil {
			pg.Add(c.smallArea(a, b+dx*scale, b+dy*scale, scale))
		}
	}
	for _, op := range c.page.Ops {
		if in, ok := op.(pdf.Inset); ok { // a panel's part of the sheet
			for _, op := range in.Page.Ops {
				small(op, in.X-in.Frame[0], in.Y-in.Frame[1])
			}
		}
		small(op, 0, 0)
	}
	return pg
}

// smallArea returns the picture in small, every so many drills, x and y being
// where its page begins.
func (c *GangedCanvas) smallArea(a pdf.Area, x, y, scale float64) pdf.Op {
	l := *a.Lattice
	const most = 60
	step := max(1, (max(l.Cols, l.Rows)+most-1)/most)
	cols, rows := max(1, l.Cols/step), max(1, l.Rows/step)
	cell := min(a.Pitch*float64(l.Cols)*scale/float64(cols), a.Pitch*float64(l.Rows)*scale/float64(rows))
	return pdf.Area{X: x + a.X*scale, Y: y + a.Y*scale, Pitch: cell, Lattice: &pdf.Lattice{
		Cols: cols, Rows: rows, Fill: c.Kit.Chart.RGBs(),
		Row: func(y int) []uint16 {
			in, out := l.Row(min(y*step+step/2, l.Rows-1)), make([]uint16, cols)
			for x := range out {
				out[x] = in[min(x*step+step/2, l.Cols-1)]
			}
			return out
		},
	}}
}

// listed sets the line of a canvas.
func (g *Gang) listed(f *column, i int, c GangedCanvas) {
	f.set(letters.Bold, 9, black, 2, strconv.Itoa(i+1)+"  "+c.label())
	t := sizeBoth(microns(c.page.W), microns(c.page.H), g.Roll.Print.Units)
	if c.Turned {
		t += ", turned"
	}
	if g.Stretches() > 1 {
		t += ", on page " + strconv.Itoa(c.Run+1)
	}
	f.lines(letters.Regular, 8.5, dim, 1, t)
	f.y += 1.2
}
