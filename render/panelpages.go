package render

import (
	"math"
	"slices"
	"strconv"

	"kitwright/internal/say"
	"kitwright/render/letters"
	"kitwright/render/pdf"
)

// cut says whether there is more than one panel.
func (s *panels) cut() bool { return len(s.pieces) > 1 }

// pages returns the canvas as it goes to the shop: a page, or one a panel.
func (s *panels) pages() []*pdf.Page {
	if !s.cut() {
		return []*pdf.Page{s.c.page()}
	}
	var out []*pdf.Page
	sheet := s.c.sheet()
	for i := range s.pieces {
		out = append(out, s.page(sheet, i))
	}
	return out
}

// blanks returns the pages with nothing on them.
func (s *panels) blanks() []*pdf.Page {
	if !s.cut() {
		return []*pdf.Page{s.c.blank()}
	}
	var out []*pdf.Page
	for _, p := range s.pieces {
		out = append(out, s.blank(p))
	}
	return out
}

// Strip beside or below what a panel shows of the sheet, that is trimmed off:
// which panel it is, and the key drawing. mm, grows with the type.
const (
	keyBelow  = 27.0
	keyBeside = 64.0
)

// frame returns what a panel shows of the sheet: x, y, width and height, mm.
func (s *panels) frame(p piece) [4]float64 {
	if s.stacked {
		return [4]float64{0, p.from.at, s.c.sheetW, p.to.at - p.from.at + p.lap}
	}
	return [4]float64{p.from.at, 0, p.to.at - p.from.at + p.lap, s.c.sheetH}
}

// blank returns a panel's page with nothing on it.
func (s *panels) blank(p piece) *pdf.Page {
	pg, f := s.c.blank(), s.c.f
	pg.W, pg.H = p.wide(), s.c.sheetH+keyBelow*f
	if s.stacked {
		pg.W, pg.H = s.c.sheetW+keyBeside*f, p.wide()
	}
	return pg
}

// page returns a panel's page.
func (s *panels) page(sheet *pdf.Page, i int) *pdf.Page {
	p := s.pieces[i]
	pg := s.blank(p)
	pg.Label = strconv.Itoa(i + 1)
	pg.Header = s.name(i) + ", " + s.shows(p)
	frame := s.frame(p)
	x, y := p.lead, 0.0
	if s.stacked {
		x, y = 0, p.lead
	}
	pg.Add(pdf.Inset{X: x, Y: y, Frame: frame, Page: part(sheet, frame)})
	if p.from.line > 0 {
		pg.Add(s.joint(i, false)...)
	}
	if p.to.line > 0 {
		pg.Add(s.joint(i, true)...)
	}
	pg.Add(s.keyOps(pg, i)...)
	pg.Add(cropMarks(pg)...)
	return pg
}

// part returns a page with those operations alone that show in a frame, and of
// charts the cells.
func part(sheet *pdf.Page, frame [4]float64) *pdf.Page {
	out := *sheet
	out.Ops = nil
	x0, y0, x1, y1 := frame[0], frame[1], frame[0]+frame[2], frame[1]+frame[3]
	for _, o := range sheet.Ops {
		ax, ay, bx, by := pdf.Bounds(o)
		if bx < x0-1 || ax > x1+1 || by < y0-1 || ay > y1+1 {
			continue
		}
		if a, ok := o.(pdf.Area); ok {
			if a = partOf(a, x0, y0, x1, y1); a.Lattice.Cols < 1 || a.Lattice.Rows < 1 {
				continue
			}
			o = a
		}
		out.Add(o)
	}
	return &out
}

// partOf returns an area with the cells that show in a frame and one more all
// around.
func partOf(a pdf.Area, x0, y0, x1, y1 float64) pdf.Area {
	l := *a.Lattice
	first := func(edge, at float64) int { return max(0, int(math.Floor((edge-at)/a.Pitch))-1) }
	last := func(edge, at float64, n int) int { return min(n, int(math.Ceil((edge-at)/a.Pitch))+1) }
	fx, fy := first(x0, a.X), first(y0, a.Y)
	tx, ty := last(x1, a.X, l.Cols), last(y1, a.Y, l.Rows)
	row, hatch, rows := l.Row, l.Hatch, l.Rows
	l.Cols, l.Rows, l.FirstCol, l.FirstRow = tx-fx, ty-fy, l.FirstCol+fx, l.FirstRow+fy
	l.Row = func(y int) []uint16 { return row(y + fy)[fx:tx] }
	if hatch != nil {
		l.Hatch = func(x, y int) bool { return hatch(x+fx, y+fy) }
	}
	if c := l.Clip; c != nil { // from the lower left
		l.Clip = &[4]float64{c[0] - float64(fx), c[1] - float64(rows-ty), c[2], c[3]}
	}
	return pdf.Area{X: a.X + float64(fx)*a.Pitch, Y: a.Y + float64(fy)*a.Pitch, Pitch: a.Pitch, Lattice: &l}
}

func (s *panels) name(i int) string {
	return "Panel " + strconv.Itoa(i+1) + " of " + strconv.Itoa(len(s.pieces))
}

// span returns the drills of the picture that a panel shows, without the
// overlap.
func (s *panels) span(p piece) span {
	n, at := s.lines()
	end := at + float64(n)*s.c.kit.Pitch.MM()
	out := span{p.from.line, n}
	if p.to.line > 0 {
		out.To = p.to.line
	}
	if p.from.line == 0 && p.from.at >= end {
		out.From = n
	}
	if p.to.line == 0 && p.to.at <= at {
		out.To = 0
	}
	return out
}

// shows says in words what a panel shows.
func (s *panels) shows(p piece) string {
	what := "columns "
	if s.stacked {
		what = "rows "
	}
	if in := s.span(p); in.size() > 0 {
		return what + strconv.Itoa(in.From+1) + "–" + strconv.Itoa(in.To)
	}
	return "the legend"
}

// joint draws what belongs to a cut through the picture: numbers that go on
// beside it, rings and crosses that meet, where to trim, and what comes there.
func (s *panels) joint(i int, behind bool) []pdf.Op {
	p, c, f := s.pieces[i], s.c, s.c.f
	seam, edge := p.lead, p.lead // of the cut, and of what is printed
	if behind {
		seam = p.lead + p.to.at - p.from.at
		edge = seam + p.lap
	}
	var ops []pdf.Op
	// u runs from panel to panel, v along the cut.
	at := func(u, v float64) (x, y float64) {
		if s.stacked {
			return v, u
		}
		return u, v
	}
	line := func(u1, v1, u2, v2, w, dash float64) {
		l := pdf.Line{W: w, Ink: black, Dash: dash}
		l.X1, l.Y1 = at(u1, v1)
		l.X2, l.Y2 = at(u2, v2)
		ops = append(ops, l)
	}
	v0, v1, end := c.y-c.wrap, c.y+c.h+c.wrap, c.sheetH
	if s.stacked {
		v0, v1, end = c.x-c.wrap, c.x+c.w+c.wrap, c.sheetW
	}
	for _, v := range [2]float64{v0 - 12.5*f, v1 + 11.5*f} {
		b := black
		x, y := at(seam, v)
		ops = append(ops, pdf.Circle{X: x, Y: y, R: 1.2 * f, Edge: &b, Line: 0.12})
		line(seam-2.2*f, v, seam+2.2*f, v, 0.12, 0)
		line(seam, v-2.2*f, seam, v+2.2*f, 0.12, 0)
	}
	trim := !behind || p.lap == 0
	if trim {
		line(seam, 0, seam, v0-0.6, 0.25, 1.5)
		line(seam, v1+0.6, seam, end, 0.25, 1.5)
	}
	ops = append(ops, s.jointNumbers(edge, behind, p)...)
	n := pdf.Text{Size: 8 * f, Align: pdf.Center, S: s.jointNote(i, behind)}
	off := 13.5 * f
	turn := 270
	if !behind {
		off, turn = -off, 90
	}
	n.X, n.Y = at(edge+off, (v0+v1)/2)
	if n.Turn = turn; s.stacked {
		n.Turn = 0
		n.Y += letters.CapHeight * n.Size * letters.PointMM / 2
	}
	return append(ops, n)
}

// jointNumbers numbers the drills along a cut.
func (s *panels) jointNumbers(edge float64, behind bool, p piece) []pdf.Op {
	c := s.c
	pitch := c.kit.Pitch.MM()
	n := numbering{X: edge, Y: c.y, Pitch: pitch, Rows: c.kit.Chart.Rows, Gap: 0.8, Size: 8 * c.f}
	if s.stacked {
		n = numbering{X: c.x, Y: edge, Pitch: pitch, Cols: c.kit.Chart.Cols, Gap: 0.8, Size: 8 * c.f}
	}
	return slices.DeleteFunc(n.ops(), func(o pdf.Op) bool {
		x0, y0, x1, y1 := pdf.Bounds(o)
		from, to := x0, x1
		if s.stacked {
			from, to = y0, y1
		}
		if behind {
			return from <= edge
		}
		return to >= edge // so is the number of the one line that has no drills
	})
}

// jointNote says what to do at a cut.
func (s *panels) jointNote(i int, behind bool) string {
	p, first, last := s.pieces[i], "first column", "last column"
	if s.stacked {
		first, last = "first row", "last row"
	}
	before, next := strconv.Itoa(i), strconv.Itoa(i+2)
	switch {
	case !behind && s.pieces[i-1].lap > 0:
		return "trim here, along the " + first + ", and lay it over panel " + before + ", ring on ring"
	case !behind:
		return "trim here, along the " + first + ", and butt it against panel " + before
	case p.lap > 0:
		return "panel " + next + " lies over the last " + s.lapText(p)
	}
	return "trim here, along the " + last + ", and butt it against panel " + next
}

// lapText tells an overlap: "4 columns".
func (s *panels) lapText(p piece) string {
	what := "column"
	if s.stacked {
		what = "row"
	}
	return say.Count(int(math.Round(p.lap/s.c.kit.Pitch.MM())), what)
}

// joining says how panels become one canvas.
func (s *panels) joining() string {
	if !slices.ContainsFunc(s.pieces, func(p piece) bool { return p.to.line > 0 }) {
		return "The picture is in one piece; nothing has to be joined."
	}
	for _, p := range s.pieces {
		if p.lap > 0 {
			return "Trim each panel but the first along its dashed line and glue it over the " + s.lapText(p) + " that are printed twice, ring on ring. For a flat joint cut through both at once and butt them."
		}
	}
	return "Trim the panels along their dashed lines and butt them, ring on ring."
}

// keyOps draws the strip that is trimmed off: which panel of which kit this is,
// all panels in small, and a bar to check the scale.
func (s *panels) keyOps(pg *pdf.Page, i int) []pdf.Op {
	c, f := s.c, s.c.f
	x, y, w, h := safe, c.sheetH+1, pg.W-2*safe, (keyBelow-safe/2)*f
	keyW, keyH := min(60*f, w/3), h-2*f
	if s.stacked {
		x, y, w, h = c.sheetW+1, safe, keyBeside*f-safe-1, pg.H-2*safe
		keyW, keyH = w, min(40*f, h/3)
	}
	ops, kw, kh := s.keyDrawing(x, y, keyW, keyH, i)
	t := &column{x: x, y: y + kh + 3*f, w: w}
	if !s.stacked {
		t = &column{x: x + kw + 5*f, y: y - 1*f, w: w - kw - 5*f}
	}
	t.lines(letters.Bold, big*f, black, 1, s.name(i))
	t.set(letters.Regular, 8*f, black, 2, titleOf(c.kit, c.print)+" · "+stampOf(c.kit, c.print)+" · "+s.shows(s.pieces[i]))
	t.lines(letters.Regular, 8*f, black, 6, s.joining())
	ops = append(ops, t.ops...)
	if bar := 100.0; t.w >= bar+20*f {
		y := t.y + 5*f
		ops = append(ops, barAcross(t.x, y, bar)...)
		ops = append(ops, pdf.Text{X: t.x + bar + 2, Y: y, Size: 8 * f, Face: letters.Bold, S: barText(bar)})
	} else if s.stacked && h-(t.y-y) > bar+5*f {
		ops = append(ops, barDown(t.x+4, t.y+3*f, bar)...)
		ops = append(ops, pdf.Text{X: t.x + 6, Y: t.y + 3*f + bar, Size: 8 * f, Face: letters.Bold, S: barText(bar)})
	}
	return ops
}

// keyDrawing draws the sheet in small with its panels, at most w by h mm; mark
// is the one that is filled, -1 for none. It returns its size.
func (s *panels) keyDrawing(x, y, w, h float64, mark int) (ops []pdf.Op, kw, kh float64) {
	c := s.c
	scale := min(w/c.sheetW, h/c.sheetH)
	kw, kh = c.sheetW*scale, c.sheetH*scale
	edge, pale, filled := black, color{245, 245, 245}, color{190, 190, 190}
	ops = append(ops, pdf.Rect{X: x, Y: y, W: kw, H: kh, Fill: &pale, Edge: &edge, Line: 0.2})
	if mark >= 0 {
		fr := s.frame(s.pieces[mark])
		ops = append(ops, pdf.Rect{X: x + fr[0]*scale, Y: y + fr[1]*scale, W: fr[2] * scale, H: fr[3] * scale, Fill: &filled})
	}
	ops = append(ops, pdf.Rect{X: x + c.x*scale, Y: y + c.y*scale, W: c.w * scale, H: c.h * scale, Edge: &edge, Line: 0.12})
	return append(ops, s.cutLines(x, y, scale)...), kw, kh
}

// cutLines draws the panels' borders and numbers over a sheet in small.
func (s *panels) cutLines(x, y, scale float64) (ops []pdf.Op) {
	for i, p := range s.pieces {
		fr := s.frame(p)
		fr[s.side()] -= p.lap
		size := max(small, min(11*s.c.f, min(fr[2], fr[3])*scale/letters.PointMM*0.7))
		mx, my, w := x+(fr[0]+fr[2]/2)*scale, y+(fr[1]+fr[3]/2)*scale, white
		ops = append(ops, pdf.Circle{X: mx, Y: my, R: 0.75 * size * letters.PointMM, Fill: &w},
			pdf.Text{X: mx, Y: my + letters.CapHeight*size*letters.PointMM/2, Size: size, Face: letters.Bold, Align: pdf.Center, S: strconv.Itoa(i + 1)})
		if i == 0 {
			continue
		}
		l := pdf.Line{X1: x + fr[0]*scale, Y1: y + fr[1]*scale, X2: x + fr[0]*scale, Y2: y + (fr[1]+fr[3])*scale, W: 0.4, Ink: black}
		if s.stacked {
			l.X2, l.Y2 = x+(fr[0]+fr[2])*scale, l.Y1
		}
		ops = append(ops, l)
	}
	return ops
}

// side is which number of a frame is its side in the direction of the panels.
func (s *panels) side() int {
	if s.stacked {
		return 3
	}
	return 2
}

// pageWords says how many pages the canvas has.
func (s *panels) pageWords() string {
	if !s.cut() {
		return "one page"
	}
	return say.Count(len(s.pieces), "page") + ", a panel each"
}

// rollWords says how the sheet goes onto the roll, "" where no roll is named.
func (s *panels) rollWords() string {
	p := s.c.print
	if !p.MediaWidth.Given {
		return ""
	}
	t := "The roll prints " + lengthBoth(p.MediaWidth.Length, p.Units) + " across. "
	switch {
	case s.cut() && s.stacked:
		t += say.Count(len(s.pieces), "panel") + ", each laid turned by a quarter. "
	case s.cut():
		t += say.Count(len(s.pieces), "panel") + ", each laid as it is. "
	case s.turned:
		return t + "Lay the sheet turned by a quarter: it is too wide as it is."
	default:
		return t + "The sheet goes on it as it is."
	}
	return t + s.joining() + " The bars below are whole once the panels are joined; each wide panel has one of 100 mm of its own."
}

// sizeWords tells the sizes of panels: the largest of each side.
func (s *panels) sizeWords() string {
	w, h := 0.0, 0.0
	for _, pg := range s.pages() {
		w, h = max(w, pg.W), max(h, pg.H)
	}
	return say.Number(len(s.pieces)) + ", up to " + sizeBoth(microns(w), microns(h), s.c.print.Units) + " with their joints"
}
