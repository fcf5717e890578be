package render

import (
	"fmt"
	"io"
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
	d := documentOf(k, p, "sheets", s.purpose(), s.skin.Box)
	d.Layers, d.Pages = true, s.pages()
	return d.Write(w)
}

// sheets is the layout of the home pages, everything in mm.
type sheets struct {
	kit    *kit.Kit
	print  Print
	skin   skin
	stamp  string // the kit's mark and date
	build  bool
	w, h   float64 // the paper as it lies
	margin float64
	cell   float64
	lap    int // cells of the next sheet printed on this one too
	panels []panel
	across int       // sheets side by side
	down   int       // sheets below each other, where all columns have as many
	apart  bool      // legends stand on pages of their own
	forms  []*legend // of all colors, from roomy to tight: pages take their rows from one
}

// Rooms around the cells of a page, and sizes, mm.
const (
	sheetHead = 14.0
	readRoom  = 8.0
	buildRoom = 12.0
	barRoom   = 5.0
	lapMM     = 6.0 // what paper needs to be joined

	readCell    = 3.6 // the smallest cell that is chosen for reading: symbols of 2.6 mm
	readCellTo  = 5.5 // the largest
	tightCell   = 3.3 // the smallest where it saves a page: symbols of 2.4 mm
	legendAbove = 2.0 // between the numbers and the legend
)

// newSheets decides how the paper lies and how it divides the chart.
func newSheets(k *kit.Kit, p Print) (*sheets, error) {
	var best *sheets
	stamp := stampOf(k, p)
	for _, z := range []measure.Size{p.Paper.Size, p.Paper.Size.Turned()} {
		s := &sheets{kit: k, print: p, skin: newSkin(k, p), stamp: stamp, build: p.Sheets == SheetsBuild, w: z.W.MM(), h: z.H.MM(), margin: p.PaperMargin.MM()}
		if s.build {
			s.margin = p.roomAround(k, s.margin, s.w, s.h)
		}
		s.forms = s.legendForms()
		divide := s.divideToRead
		if s.build {
			divide = s.divideToBuild
		}
		if divide() && (best == nil || s.better(best)) {
			best = s
		}
	}
	if best == nil {
		return nil, tooSmall(p)
	}
	return best, nil
}

func (s *sheets) better(o *sheets) bool {
	a, b := s.count(), o.count()
	return a < b || a == b && s.cell > o.cell*1.02
}

// count returns how many pages show the chart.
func (s *sheets) count() int {
	if s.apart {
		return 2 * len(s.panels)
	}
	return len(s.panels)
}

// room returns the room around the cells for numbers and marks.
func (s *sheets) room() float64 {
	if s.build {
		return buildRoom
	}
	return readRoom
}

// field returns the place that is left for cells, and for a legend below them.
func (s *sheets) field() (w, h float64) {
	if s.build { // the check bar lies below
		return s.w - 2*s.margin - 2*s.room(), s.h - 2*s.margin - sheetHead - 2*s.room() - barRoom
	}
	return s.w - 2*s.margin - 2*s.room(), s.h - 2*s.margin - sheetHead - 2*s.room()
}

// divideToBuild finds the sheets that are joined: all as large as the paper
// lets them be, their cuts in line, legends on a page of their own. It is false
// if the paper is too small.
func (s *sheets) divideToBuild() bool {
	s.cell = s.kit.Pitch.MM()
	s.lap = int(lapMM/s.cell) + 1
	w, h := s.field()
	cols, rows := int(w/s.cell+1e-9), int(h/s.cell+1e-9)
	c := s.kit.Chart
	if cols < c.Cols {
		cols -= s.lap
	}
	if rows < c.Rows {
		rows -= s.lap
	}
	if cols < min(5, c.Cols) || rows < min(5, c.Rows) { // nobody joins such pages
		return false
	}
	t := tiling{Cols: divided(c.Cols, cols), Rows: divided(c.Rows, rows)}
	s.panels, s.across, s.down = t.panels(), len(t.Cols), len(t.Rows)
	return true
}

// divideToRead finds the sheets that are read, column by column: each has as
// many rows as its own legend leaves room for. Of all sizes of cells the one
// that takes the fewest pages is chosen; of those with as few, the largest
// that shows names on the most pages. It is false if the paper is too small.
func (s *sheets) divideToRead() bool {
	cells := s.cellSizes()
	pages := make([]int, len(cells))
	fewest := 0
	sets := map[string][]colorSets{}
	for i, cell := range cells {
		pages[i] = s.pagesOf(cell, sets)
		if pages[i] > 0 && (fewest == 0 || pages[i] < fewest) {
			fewest = pages[i]
		}
	}
	if fewest == 0 {
		return s.divideApart(cells[len(cells)-1])
	}
	named, tried := -1, 0
	for i, cell := range cells {
		if pages[i] != fewest || tried > 0 && (cell < readCell || tried == 8) {
			continue
		}
		tried++
		panels, across := s.stripsOf(cell, sets)
		n := 0
		for _, pl := range panels {
			entries, _ := colorsIn(s.kit.Chart, pl)
			if s.formFor(len(entries), s.legendRoom(cell, pl)).name > 0 {
				n++
			}
		}
		if n > named {
			named = n
			s.cell, s.panels, s.across = cell, panels, across
		}
	}
	return true
}

// cellSizes returns the sizes of cells to choose from, largest first.
func (s *sheets) cellSizes() []float64 {
	if s.print.SheetCell.Given {
		return []float64{s.print.SheetCell.Length.MM()}
	}
	pitch := s.kit.Pitch.MM()
	var out []float64
	for tenths := int(10 * readCellTo); float64(tenths)/10 >= tightCell-1e-9; tenths-- {
		if cell := float64(tenths) / 10; cell >= pitch {
			out = append(out, cell)
		}
	}
	if len(out) == 0 {
		out = append(out, pitch)
	}
	return out
}

// strips returns the columns of sheets for cells of a size, none if the paper
// is too small.
func (s *sheets) strips(cell float64) []span {
	w, _ := s.field()
	most, cols := int(w/cell+1e-9), s.kit.Chart.Cols
	if most < min(5, cols) {
		return nil
	}
	return divided(cols, most)
}

// fits returns whether rows and the tightest legend have room on a page.
func (s *sheets) fits(cell float64) func(rows, colors int) bool {
	_, h := s.field()
	tight := s.forms[len(s.forms)-1]
	blocks := s.blocksOf(tight)
	return func(rows, colors int) bool {
		return float64(rows)*cell+legendAbove+tight.height((colors+blocks-1)/blocks) <= h+1e-9
	}
}

// setsOf returns the colors of the strips, which are kept by where they lie.
func (s *sheets) setsOf(strips []span, kept map[string][]colorSets) []colorSets {
	key := fmt.Sprint(strips)
	out, ok := kept[key]
	if !ok {
		for _, cols := range strips {
			out = append(out, newColorSets(s.kit.Chart, cols))
		}
		kept[key] = out
	}
	return out
}

// leastRows is how few rows a page may have where there are more.
const leastRows = 5

// pagesOf returns how many pages cells of a size take, 0 if they don't fit.
func (s *sheets) pagesOf(cell float64, kept map[string][]colorSets) int {
	n, fits := 0, s.fits(cell)
	for _, set := range s.setsOf(s.strips(cell), kept) {
		pages := set.fewest(leastRows, fits)
		if pages == 0 {
			return 0
		}
		n += pages
	}
	return n
}

// stripsOf divides the chart, strip by strip.
func (s *sheets) stripsOf(cell float64, kept map[string][]colorSets) (panels []panel, across int) {
	strips, fits := s.strips(cell), s.fits(cell)
	for i, set := range s.setsOf(strips, kept) {
		for j, rows := range set.flowed(leastRows, fits) {
			panels = append(panels, panel{Col: i, Row: j, Cols: strips[i], Rows: rows})
		}
	}
	return panels, len(strips)
}

// divideApart is for paper on which a legend leaves too little of a page:
// legends follow on pages of their own.
func (s *sheets) divideApart(cell float64) bool {
	w, h := s.field()
	cols, rows := int(w/cell+1e-9), int(h/cell+1e-9)
	c := s.kit.Chart
	if cols < min(5, c.Cols) || rows < min(5, c.Rows) {
		return false
	}
	t := tiling{Cols: divided(c.Cols, cols), Rows: divided(c.Rows, rows)}
	s.cell, s.panels, s.across, s.down, s.apart = cell, t.panels(), len(t.Cols), len(t.Rows), true
	return true
}

func (s *sheets) purpose() string {
	if s.build {
		return "True scale, to be joined and filmed: print at 100 %, no “fit to page”"
	}
	return "To read while working; cells are larger than drills"
}

// pages returns the map, the sheets and, where they are joined, the legend.
func (s *sheets) pages() []*pdf.Page {
	out := s.mapPages()
	for i := range s.panels {
		out = append(out, s.sheet(i)...)
	}
	if s.build {
		out = append(out, s.legendPages("Legend", allEntries(s.kit), nil)...)
	}
	for _, pg := range out {
		pg.FixedBox = true
		if s.build {
			pg.Scale = s.print.printerScale(s.kit)
		}
	}
	return out
}

// sheet returns one sheet and, where legends stand apart, its legend.
func (s *sheets) sheet(i int) []*pdf.Page {
	k, pl := s.kit, s.panels[i]
	name := "Sheet " + strconv.Itoa(i+1)
	pg := &pdf.Page{W: s.w, H: s.h, Label: name, Header: name + ": " + placeText(pl)}
	m := s.margin
	entries, counts := colorsIn(k.Chart, pl)

	pg.Add(pdf.Text{X: m, Y: m + 4.4, Size: 14, Face: letters.Bold, S: name + " of " + strconv.Itoa(len(s.panels))})
	mapW := s.miniMap(pg, pl)
	line2 := titleOf(k, s.print) + " · " + s.stamp + " · " + placeText(pl) + " · " + say.Count(pl.Cols.size()*pl.Rows.size(), "drill") + " in " + say.Count(len(entries), "color")
	pg.Add(pdf.Text{X: m, Y: m + 9.2, Size: 8.5, Ink: dim, S: letters.Shorten(letters.Regular, 8.5, s.w-2*m-mapW-22, line2)})
	e := black
	pg.Add(pdf.Rect{X: s.w - m - mapW - 8, Y: m + 1, W: 4, H: 4, Edge: &e, Line: 0.25},
		pdf.Text{X: s.w - m - mapW - 9.2, Y: m + 4.2, Size: 8.5, Align: pdf.Right, S: "done"})

	show := s.withLap(pl)
	w, h := float64(show.Cols.size())*s.cell, float64(show.Rows.size())*s.cell
	x, y := (s.w-w)/2, m+sheetHead+s.room()
	pg.Add(pdf.Area{X: x, Y: y, Pitch: s.cell, Lattice: s.skin.window(k.Chart, show.Cols.From, show.Rows.From, show.Cols.size(), show.Rows.size())})
	pg.Add(numbering{X: x, Y: y, Pitch: s.cell, Cols: show.Cols.size(), Rows: show.Rows.size(), FirstCol: show.Cols.From, FirstRow: show.Rows.From, Gap: 0.6, Size: 7.5}.ops()...)
	switch {
	case s.build:
		pg.Add(s.joinOps(i, pl, x, y, w, h)...)
	case s.apart:
		return append([]*pdf.Page{pg}, s.legendPages("Legend of sheet "+strconv.Itoa(i+1), entries, counts)...)
	default:
		l, each := s.legendOf(s.formFor(len(entries), s.legendRoom(s.cell, pl)), entries, counts)
		pg.Add(l.ops(m, y+h+s.room()+legendAbove, each)...)
	}
	return []*pdf.Page{pg}
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

// miniMap draws all sheets in the upper right corner, this one filled, and
// returns its width.
func (s *sheets) miniMap(pg *pdf.Page, pl panel) (w float64) {
	c := s.kit.Chart
	f := min(26/float64(c.Cols), 12.5/float64(c.Rows))
	w, h := float64(c.Cols)*f, float64(c.Rows)*f
	x, y := s.w-s.margin-w, s.margin
	e, here, pale := gray, black, color{240, 240, 240}
	at := func(q panel) pdf.Rect {
		return pdf.Rect{X: x + float64(q.Cols.From)*f, Y: y + float64(q.Rows.From)*f, W: float64(q.Cols.size()) * f, H: float64(q.Rows.size()) * f}
	}
	pg.Add(pdf.Rect{X: x, Y: y, W: w, H: h, Fill: &pale})
	filled := at(pl)
	filled.Fill = &here
	pg.Add(filled)
	for _, q := range s.panels {
		r := at(q)
		pg.Add(pdf.Line{X1: r.X, Y1: r.Y, X2: r.X + r.W, Y2: r.Y, W: hair, Ink: gray}, pdf.Line{X1: r.X, Y1: r.Y, X2: r.X, Y2: r.Y + r.H, W: hair, Ink: gray})
	}
	pg.Add(pdf.Rect{X: x, Y: y, W: w, H: h, Edge: &e, Line: 0.18})
	return w
}
