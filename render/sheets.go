package render

import (
	"io"
	"math"
	"strconv"

	"kitwright/internal/measure"
	"kitwright/internal/say"
	"kitwright/kit"
	"kitwright/render/letters"
	"kitwright/render/pdf"
)

// Sheets writes the chart on a home printer's paper: pages to read while
// working, or pages at true scale to be joined and filmed. A first page shows
// the picture and where each sheet lies in it.
func Sheets(w io.Writer, k *kit.Kit, p Print) error {
	if err := p.checkFor(k); err != nil {
		return err
	}
	s, err := newSheets(k, p)
	if err != nil {
		return err
	}
	d := pdf.Document{Title: documentTitle(k, "home pages"), Subject: s.purpose(), Creator: pdf.Producer, Box: s.skin.Box, Layers: true, Pages: s.pages()}
	return d.Write(w)
}

// sheets is the layout of the home pages, everything in mm.
type sheets struct {
	kit    *kit.Kit
	print  Print
	skin   skin
	build  bool
	w, h   float64 // the paper as it lies
	margin float64
	cell   float64
	lap    int // cells of the next sheet printed on this one too
	tiling tiling
	foot   float64 // height of the legend of the fullest page
	apart  bool    // legends stand on pages of their own
	legend *legend // of all colors: pages take their rows from it
}

// Rooms around the cells of a page, mm.
const (
	sheetHead  = 14.0
	readRoom   = 8.0
	buildRoom  = 12.0
	readCell   = 3.6 // the smallest cell that is chosen for reading: symbols of 2.6 mm
	readCellTo = 5.5 // the largest
	lapMM      = 6.0 // what paper needs to be joined
)

// newSheets decides how the paper lies and how it divides the chart.
func newSheets(k *kit.Kit, p Print) (*sheets, error) {
	var best *sheets
	for _, z := range []measure.Size{p.Paper.Size, p.Paper.Size.Turned()} {
		s := &sheets{kit: k, print: p, skin: newSkin(k, p), build: p.Sheets == SheetsBuild, w: z.W.MM(), h: z.H.MM(), margin: p.PaperMargin.MM()}
		if s.build {
			s.margin = p.roomAround(s.margin, s.w, s.h)
		}
		if !s.divide() {
			continue
		}
		if best == nil || s.better(best) {
			best = s
		}
	}
	if best == nil {
		return nil, tooSmall(p)
	}
	return best, nil
}

func (s *sheets) better(o *sheets) bool {
	a, b := len(s.tiling.panels()), len(o.tiling.panels())
	return a < b || a == b && s.cell > o.cell*1.02
}

// room returns the room around the cells for numbers and marks.
func (s *sheets) room() float64 {
	if s.build {
		return buildRoom
	}
	return readRoom
}

// field returns the place that is left for cells with a foot of this height.
func (s *sheets) field(foot float64) (w, h float64) {
	return s.w - 2*s.margin - 2*s.room(), s.h - 2*s.margin - sheetHead - 2*s.room() - foot
}

// divide finds the tiling and the size of the cells. It is false if the paper
// is too small.
func (s *sheets) divide() bool {
	smallest := max(s.kit.Pitch.MM(), readCell)
	switch {
	case s.build:
		smallest = s.kit.Pitch.MM()
		s.lap = int(lapMM/smallest) + 1
	case s.print.SheetCell.Given:
		smallest = s.print.SheetCell.Length.MM()
	}
	if !s.divideFor(smallest) {
		return false
	}
	s.cell = smallest
	if !s.build && !s.print.SheetCell.Given { // grow into what is left
		w, h := s.field(s.foot)
		cols, rows := 0, 0
		for _, pl := range s.tiling.panels() {
			cols, rows = max(cols, pl.Cols.size()), max(rows, pl.Rows.size())
		}
		s.cell = max(smallest, math.Floor(10*min(w/float64(cols), h/float64(rows), readCellTo))/10)
	}
	return true
}

// divideFor finds the tiling for cells of a size. A longer foot leaves less
// room for cells, so that fewer colors are on a page: the shortest that holds
// the legend of every page is taken, with names if six rows hold them. If it
// would take nearly half of the page, legends get pages of their own.
func (s *sheets) divideFor(cell float64) bool {
	const namedRows = 6
	for _, names := range []bool{true, false} {
		s.legend = s.newPageLegend(names)
		for each := 1; ; each++ {
			foot := s.legend.height(each) + 2
			if names && each > namedRows || foot > 0.45*(s.h-2*s.margin) {
				break
			}
			t, ok := s.tilingAt(cell, foot)
			if !ok {
				break
			}
			if s.mostColors(t) <= each*s.blocks() {
				s.tiling, s.foot = t, foot
				return true
			}
		}
	}
	t, ok := s.tilingAt(cell, 0)
	s.tiling, s.foot, s.apart = t, 0, true
	return ok
}

// mostColors returns how many colors the most colorful page has.
func (s *sheets) mostColors(t tiling) int {
	most := 0
	for _, pl := range t.panels() {
		entries, _ := colorsIn(s.kit.Chart, pl)
		most = max(most, len(entries))
	}
	return most
}

func (s *sheets) tilingAt(cell, foot float64) (tiling, bool) {
	w, h := s.field(foot)
	cols, rows := int(w/cell+1e-9), int(h/cell+1e-9)
	c := s.kit.Chart
	if cols < c.Cols {
		cols -= s.lap
	}
	if rows < c.Rows {
		rows -= s.lap
	}
	if cols < 5 || rows < 5 { // nobody joins such pages
		if cols < min(5, c.Cols) || rows < min(5, c.Rows) {
			return tiling{}, false
		}
	}
	return tiling{Cols: divided(c.Cols, cols), Rows: divided(c.Rows, rows)}, true
}

// newPageLegend lays out the legend of pages, tight and with boxes to tick
// off, with names or without. Its columns are as wide as all colors need, so
// they are the same on every page.
func (s *sheets) newPageLegend(names bool) *legend {
	const widest = 26
	laid := func(widest float64) *legend {
		l := newLegend(s.kit, s.skin, allEntries(s.kit), nil, 7.5, widest)
		l.gap, l.apart, l.tick = 1.6, 5, 3.6
		return l
	}
	l := laid(widest)
	if blocks := s.blocksOf(l); names {
		// Names grow into what their blocks leave free.
		if free := s.w - 2*s.margin - 0.01 - l.widthOf(blocks); free > 0 {
			if wider := laid(widest + free/float64(blocks)); s.blocksOf(wider) == blocks {
				l = wider
			}
		}
	} else {
		l.name = 0
		for i := range l.rows {
			l.rows[i].name = ""
		}
	}
	return l
}

// blocks returns how many blocks of the legend stand side by side on a page.
func (s *sheets) blocks() int { return s.blocksOf(s.legend) }

func (s *sheets) blocksOf(l *legend) int {
	return max(1, int((s.w-2*s.margin+l.apart)/(l.width()+l.apart)))
}

// legendOf returns the legend of one page, and how long its blocks are.
func (s *sheets) legendOf(entries, counts []int) (l legend, each int) {
	l = *s.legend
	l.rows = make([]legendRow, len(entries))
	for i, e := range entries {
		l.rows[i] = s.legend.rows[e]
		l.rows[i].count = say.Number(counts[i])
	}
	return l, (len(entries) + s.blocks() - 1) / s.blocks()
}

func (s *sheets) purpose() string {
	if s.build {
		return "True scale, to be joined and filmed: print at 100 %, no “fit to page”"
	}
	return "To read while working; cells are larger than drills"
}

// pages returns the map and the sheets.
func (s *sheets) pages() []*pdf.Page {
	panels := s.tiling.panels()
	out := []*pdf.Page{s.mapPage(panels)}
	for i, pl := range panels {
		out = append(out, s.sheet(i, len(panels), pl)...)
	}
	for _, pg := range out {
		pg.FixedBox = true
		if s.build {
			pg.Scale = s.print.Measured.scale()
		}
	}
	return out
}

// sheet returns one sheet and, where legends stand apart, its legend.
func (s *sheets) sheet(i, of int, pl panel) []*pdf.Page {
	k := s.kit
	pg := &pdf.Page{W: s.w, H: s.h, Label: "Sheet " + strconv.Itoa(i+1), Header: "Sheet " + strconv.Itoa(i+1) + ": " + placeText(pl)}
	m := s.margin
	entries, counts := colorsIn(k.Chart, pl)
	drills := pl.Cols.size() * pl.Rows.size()

	pg.Add(pdf.Text{X: m, Y: m + 4.4, Size: 14, Face: letters.Bold, S: "Sheet " + strconv.Itoa(i+1) + " of " + strconv.Itoa(of)})
	mapW, mapH := s.miniMap(pg, pl)
	_ = mapH
	line2 := titleOf(k) + " · " + placeText(pl) + " · " + say.Count(drills, "drill") + " in " + say.Count(len(entries), "color")
	pg.Add(pdf.Text{X: m, Y: m + 9.2, Size: 8.5, Ink: dim, S: letters.Shorten(letters.Regular, 8.5, s.w-2*m-mapW-22, line2)})
	e := black
	pg.Add(pdf.Rect{X: s.w - m - mapW - 8, Y: m + 1, W: 4, H: 4, Edge: &e, Line: 0.25},
		pdf.Text{X: s.w - m - mapW - 9.2, Y: m + 4.2, Size: 8.5, Align: pdf.Right, S: "done"})

	x, y := m+s.room(), m+sheetHead+s.room()
	show := s.withLap(pl)
	w, h := float64(show.Cols.size())*s.cell, float64(show.Rows.size())*s.cell
	fw, _ := s.field(s.foot)
	x += (fw - w) / 2
	pg.Add(pdf.Area{X: x, Y: y, Pitch: s.cell, Lattice: s.skin.window(k.Chart, show.Cols.From, show.Rows.From, show.Cols.size(), show.Rows.size())})
	pg.Add(numbering{X: x, Y: y, Pitch: s.cell, Cols: show.Cols.size(), Rows: show.Rows.size(), FirstCol: show.Cols.From, FirstRow: show.Rows.From, Gap: 0.6, Size: 7.5}.ops()...)
	if s.build {
		pg.Add(s.joinOps(i, pl, x, y, w, h)...)
	}
	l, each := s.legendOf(entries, counts)
	if !s.apart {
		pg.Add(l.ops(m, max(y+h+s.room(), s.h-m-s.foot+2), each)...)
		return []*pdf.Page{pg}
	}
	out := []*pdf.Page{pg}
	rows := l.fit(s.h - 2*m - sheetHead)
	blocks := s.blocks()
	all := l.rows
	for at := 0; at < len(all); at += rows * blocks {
		lp := &pdf.Page{W: s.w, H: s.h, Label: "Sheet " + strconv.Itoa(i+1) + ", legend"}
		lp.Add(pdf.Text{X: m, Y: m + 4.4, Size: 14, Face: letters.Bold, S: "Legend of sheet " + strconv.Itoa(i+1)})
		l.rows = all[at:min(at+rows*blocks, len(all))]
		lp.Add(l.ops(m, m+sheetHead, min(rows, (len(l.rows)+blocks-1)/blocks))...)
		out = append(out, lp)
	}
	return out
}

// withLap returns a panel with the cells of its right and lower neighbors that
// are printed on it too.
func (s *sheets) withLap(pl panel) panel {
	pl.Cols.To = min(pl.Cols.To+s.lap, s.kit.Chart.Cols)
	pl.Rows.To = min(pl.Rows.To+s.lap, s.kit.Chart.Rows)
	return pl
}

func placeText(pl panel) string {
	return "columns " + strconv.Itoa(pl.Cols.From+1) + "–" + strconv.Itoa(pl.Cols.To) + ", rows " + strconv.Itoa(pl.Rows.From+1) + "–" + strconv.Itoa(pl.Rows.To)
}

// miniMap draws the tiling in the upper right corner, this panel filled, and
// returns its size.
func (s *sheets) miniMap(pg *pdf.Page, pl panel) (w, h float64) {
	c := s.kit.Chart
	f := min(26/float64(c.Cols), 12.5/float64(c.Rows))
	w, h = float64(c.Cols)*f, float64(c.Rows)*f
	x, y := s.w-s.margin-w, s.margin
	e, here, pale := gray, black, color{240, 240, 240}
	pg.Add(pdf.Rect{X: x, Y: y, W: w, H: h, Fill: &pale})
	pg.Add(pdf.Rect{X: x + float64(pl.Cols.From)*f, Y: y + float64(pl.Rows.From)*f, W: float64(pl.Cols.size()) * f, H: float64(pl.Rows.size()) * f, Fill: &here})
	for _, v := range s.tiling.Cols {
		pg.Add(pdf.Line{X1: x + float64(v.From)*f, Y1: y, X2: x + float64(v.From)*f, Y2: y + h, W: hair, Ink: gray})
	}
	for _, v := range s.tiling.Rows {
		pg.Add(pdf.Line{X1: x, Y1: y + float64(v.From)*f, X2: x + w, Y2: y + float64(v.From)*f, W: hair, Ink: gray})
	}
	pg.Add(pdf.Rect{X: x, Y: y, W: w, H: h, Edge: &e, Line: 0.18})
	return w, h
}

// joinOps draws what joining needs: where to trim, which sheet lies over the
// lap, and crosses that meet.
func (s *sheets) joinOps(i int, pl panel, x, y, w, h float64) []pdf.Op {
	var ops []pdf.Op
	nx := len(s.tiling.Cols)
	ownW, ownH := float64(pl.Cols.size())*s.cell, float64(pl.Rows.size())*s.cell
	const off = 9.2 // beyond the numbers
	cross := func(cx, cy float64) {
		b := black
		ops = append(ops, pdf.Circle{X: cx, Y: cy, R: 1.2, Edge: &b, Line: 0.12},
			pdf.Line{X1: cx - 2.2, Y1: cy, X2: cx + 2.2, Y2: cy, W: 0.12, Ink: black}, pdf.Line{X1: cx, Y1: cy - 2.2, X2: cx, Y2: cy + 2.2, W: 0.12, Ink: black})
	}
	note := func(cx, cy float64, turn int, t string) {
		ops = append(ops, pdf.Text{X: cx, Y: cy, Size: small, Align: pdf.Center, Turn: turn, S: t})
	}
	if pl.Col > 0 {
		for _, cy := range [2]float64{y - off, y + h + off} {
			cross(x, cy)
		}
		ops = append(ops, pdf.Line{X1: x, Y1: y - 7, X2: x, Y2: y, W: 0.25, Ink: black, Dash: 1}, pdf.Line{X1: x, Y1: y + h, X2: x, Y2: y + h + 7, W: 0.25, Ink: black, Dash: 1})
		note(x-off, y+ownH/2, 90, "trim here, along the first column; lay over sheet "+strconv.Itoa(i))
	}
	if pl.Row > 0 {
		for _, cx := range [2]float64{x - off, x + w + off} {
			cross(cx, y)
		}
		ops = append(ops, pdf.Line{X1: x - 7, Y1: y, X2: x, Y2: y, W: 0.25, Ink: black, Dash: 1}, pdf.Line{X1: x + w, Y1: y, X2: x + w + 7, Y2: y, W: 0.25, Ink: black, Dash: 1})
		note(x+ownW/2, y-off+1, 0, "trim here, along the first row; lay over sheet "+strconv.Itoa(i-nx+1))
	}
	if pl.Col < nx-1 {
		for _, cy := range [2]float64{y - off, y + h + off} {
			cross(x+ownW, cy)
		}
		note(x+w+off, y+ownH/2, 270, "sheet "+strconv.Itoa(i+2)+" lies over the last "+strconv.Itoa(s.lap)+" columns")
	}
	if pl.Row < len(s.tiling.Rows)-1 {
		for _, cx := range [2]float64{x - off, x + w + off} {
			cross(cx, y+ownH)
		}
		note(x+ownW/2, y+h+off+1, 0, "sheet "+strconv.Itoa(i+nx+1)+" lies over the last "+strconv.Itoa(s.lap)+" rows")
	}
	return ops
}
