package render

import (
	"io"
	"strconv"

	"kitwright/chart"
	"kitwright/chart/symbols"
	"kitwright/internal/measure"
	"kitwright/kit"
	"kitwright/lab"
	"kitwright/palettes"
	"kitwright/render/letters"
	"kitwright/render/pdf"
)

// TestPrint writes the page that is printed first on the shop's own material:
// check bars, rows and blocks of cells at five pitches, every symbol at real
// size on its color, and color patches. Without a kit, or with one that has no
// chart yet, it shows all symbols and a set of plain colors; a kit's drill
// shape and pitch are used either way.
func TestPrint(w io.Writer, k *kit.Kit, p Print) error {
	if k != nil && k.Chart == nil {
		if err := p.Check(nil); err != nil {
			return err
		}
	} else if err := p.Check(k); err != nil {
		return err
	}
	k = kitOrSample(k)
	d := documentOf(k, p, "test print", "Print this page first, on the material of the canvas, at 100 %", newSkin(k, p).Box)
	d.Press, d.Paths = p.Shop.press(), p.Shop.Outlined
	d.Pages = testPages(k, p)
	return d.Write(w)
}

// pitches returns five pitches around one, a percent apart, in hundredths of a
// millimeter.
func pitches(nominal measure.Length) []measure.Length {
	const step = 10 * measure.Micrometer
	out := make([]measure.Length, 5)
	for i := range out {
		out[i] = (nominal*measure.Length(98+i)/100 + step/2) / step * step
	}
	out[2] = nominal
	return out
}

// kitOrSample returns a kit that has a chart: the given one, or one with a
// color for every symbol.
func kitOrSample(k *kit.Kit) *kit.Kit {
	if k != nil && k.Chart != nil {
		return k
	}
	s := kit.DefaultOrder().Bare()
	s.Title = "Any kit"
	if k != nil {
		s.Drill = k.Drill
		if k.Pitch > 0 {
			s.Pitch = k.Pitch
		}
		if k.Title != "" {
			s.Title = k.Title
		}
	}
	s.Card.Name = "plain colors"
	s.Chart = &chart.Chart{Cols: symbols.Max, Rows: 1}
	// Sixteen colors that a printer must tell apart, over and over.
	plain := []struct {
		name string
		rgb  color
	}{
		{"black", black}, {"dark gray", color{64, 64, 64}}, {"mid gray", color{128, 128, 128}}, {"pale gray", color{205, 205, 205}},
		{"red", color{190, 30, 45}}, {"rust", color{165, 82, 42}}, {"orange", color{242, 133, 0}}, {"ginger", color{214, 148, 90}},
		{"yellow", color{248, 214, 60}}, {"olive", color{110, 112, 40}}, {"green", color{34, 130, 76}}, {"sea green", color{70, 170, 160}},
		{"sky", color{120, 180, 225}}, {"blue", color{30, 80, 170}}, {"purple", color{105, 60, 135}}, {"pink", color{235, 160, 180}},
	}
	for i, sym := range symbols.First(symbols.Max) {
		c := plain[i%len(plain)]
		s.Chart.Cells = append(s.Chart.Cells, uint16(i))
		s.Chart.Legend = append(s.Chart.Legend, chart.Entry{Symbol: sym, Count: 1,
			Drill: palettes.Drill{Code: c.name, Name: c.name, RGB: c.rgb, Lab: lab.FromSRGB(c.rgb)}})
	}
	return s
}

func testPages(k *kit.Kit, p Print) []*pdf.Page {
	paper := p.deskPaper()
	pg := &pdf.Page{W: paper.Size.W.MM(), H: paper.Size.H.MM(), Scale: p.printerScale(k), FixedBox: true}
	m := p.roomAround(k, p.deskMargin(), pg.W, pg.H)
	s := newSkin(k, p)
	across, down := 150.0, 200.0 // as long as a page has room for
	if pg.W-2*m < across+30 {
		across = 100
	}
	if pg.H-2*m < down+45 {
		down = 150
	}
	ops, y := pageTitle(m, m, pg.W-2*m, "Test print", titleOf(k, p)+" · "+stampOf(k, p))
	pg.Add(ops...)
	f := &column{x: m, y: y, w: pg.W - 2*m}
	for _, l := range []string{
		"Print this page on the shop's own material at 100 %, with no “fit to page”.",
		"1. Measure both bars, as finely as you can read. If they are off by more than .3 mm, give what you measured as --measured.",
		"2. Lay your own drills on the rows: at the right pitch they lie with a little slack, and none has to be pushed in.",
		"3. Read the symbols under the lamp you work by. If they are hard to tell, try --large or another --look.",
		"4. Hold your drills against the patches. Print is never quite the color of a drill; it must not mislead you.",
	} {
		f.lines(letters.Regular, 9, black, 2, l)
	}
	if t := p.scaledFor(k); t != "" {
		f.lines(letters.Bold, 9, black, 2, t+" The bars must be "+barText(across)+" and "+barText(down)+" now.")
	}
	pg.Add(f.ops...)
	y = f.y + 6

	x, w := m+13, pg.W-2*m-13
	pg.Add(barDown(m+5, y, down)...)
	pg.Add(pdf.Text{X: m + 1.4, Y: y + down, Size: 8, Face: letters.Bold, Turn: 90, S: barText(down) + " down"})
	pg.Add(barAcross(x, y, across)...)
	pg.Add(pdf.Text{X: x + across + 3, Y: y, Size: 8, Face: letters.Bold, S: barText(across)})
	y += 6

	ops, y = pitchOps(k, s, x, y, w)
	pg.Add(ops...)
	return patchPages(k, p, s, pg, m, x, y, w)
}

// pitchOps draws rows and blocks of cells at five pitches, w mm wide, and
// returns where the page goes on.
func pitchOps(k *kit.Kit, s skin, x, y, w float64) ([]pdf.Op, float64) {
	var ops []pdf.Op
	add := func(o pdf.Op) { ops = append(ops, o) }
	five := pitches(k.Pitch)
	widest := five[4].MM()
	n := min(50, int((w-22)/widest))
	add(pdf.Text{X: x, Y: y + 3, Size: 9, Face: letters.Bold, S: "Rows of " + strconv.Itoa(n) + " and blocks, drill to drill"})
	y += 5
	for _, pitch := range five {
		add(pdf.Area{X: x, Y: y, Pitch: pitch.MM(), Lattice: testCells(s, k.Chart, n, 1)})
		t := mmText(pitch)
		if pitch == k.Pitch {
			t += ", as ordered"
		}
		add(pdf.Text{X: x + float64(n)*pitch.MM() + 2, Y: y + pitch.MM()/2 + 1, Size: 8, S: letters.Shorten(letters.Regular, 8, w-float64(n)*pitch.MM()-2, t)})
		y += pitch.MM() + 1.8
	}
	y += 2
	side := min(10, int((w-4*3)/5/widest))
	bx := x
	for _, pitch := range five {
		add(pdf.Area{X: bx, Y: y, Pitch: pitch.MM(), Lattice: testCells(s, k.Chart, side, side)})
		add(pdf.Text{X: bx, Y: y + float64(side)*pitch.MM() + 3.6, Size: 8, S: mmText(pitch)})
		bx += float64(side)*widest + 3
	}
	y += float64(side)*widest + 9
	return ops, y
}

// patchPages draws every color as a patch with its symbol at real size on its
// ground and its code, from x, y on the page and on as many more as it takes,
// and returns all pages. m is the margin of those, w the width of the patches.
func patchPages(k *kit.Kit, p Print, s skin, pg *pdf.Page, m, x, y, w float64) []*pdf.Page {
	pages := []*pdf.Page{pg}
	patches := &column{x: x, y: y, w: w}
	patches.heading("Colors and symbols at real size")
	pg.Add(patches.ops...)
	y = patches.y
	left := x
	// As large as the page allows, down to ten in a row.
	perRow, pw, ph := 10, 0.0, 0.0
	for n := 4; n <= 10; n++ {
		pw = (w+1.5)/float64(n) - 1.5
		ph = 0.42*(pw-k.Pitch.MM()-1.5) + 6
		perRow = n
		if rows := (len(k.Chart.Legend) + n - 1) / n; y+float64(rows)*ph <= pg.H-m {
			break
		}
	}
	swatchH := ph - 6
	for i := range k.Chart.Legend {
		e := &k.Chart.Legend[i]
		if i > 0 && i%perRow == 0 {
			y += ph
		}
		if i%perRow == 0 && y+ph > pg.H-m {
			pg = &pdf.Page{W: pg.W, H: pg.H, Scale: pg.Scale, FixedBox: true}
			pages = append(pages, pg)
			more, top := pageTitle(m, m, pg.W-2*m, "Test print, continued", titleOf(k, p)+" · "+markOf(k))
			pg.Add(more...)
			y = top + 4
		}
		px := left + float64(i%perRow)*(pw+1.5)
		c, edge := e.Drill.RGB, gray
		pg.Add(pdf.Rect{X: px, Y: y, W: pw - k.Pitch.MM() - 1.5, H: swatchH, Fill: &c, Edge: &edge, Line: 0.1})
		pg.Add(s.drillOps(e, px+pw-k.Pitch.MM(), y, k.Pitch.MM())...)
		pg.Add(pdf.Text{X: px, Y: y + swatchH + 3, Size: small, S: letters.Shorten(letters.Regular, small, pw, codeText(k, e.Drill))})
	}
	return pages
}

// testCells returns cells in which all colors of a chart follow each other.
func testCells(s skin, c *chart.Chart, cols, rows int) *pdf.Lattice {
	l := s.window(c, 0, 0, c.Cols, c.Rows)
	l.Cols, l.Rows = cols, rows
	l.Row = func(y int) []uint16 {
		row := make([]uint16, cols)
		for x := range row {
			row[x] = uint16((y*cols + x) % len(c.Legend))
		}
		return row
	}
	return l
}
