package render

import (
	"fmt"
	"io"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/measure"
	"kitwright/kit"
	"kitwright/render/pdf"
)

func TestDivided(t *testing.T) {
	for _, c := range []struct {
		n, most int
		want    []span
	}{
		{160, 48, []span{{0, 40}, {40, 80}, {80, 120}, {120, 160}}},
		{100, 48, []span{{0, 30}, {30, 60}, {60, 100}}},
		{100, 50, []span{{0, 50}, {50, 100}}},
		{101, 50, []span{{0, 30}, {30, 70}, {70, 101}}},
		{7, 50, []span{{0, 7}}},
		{50, 50, []span{{0, 50}}},
		{51, 50, []span{{0, 30}, {30, 51}}},
		{52, 29, []span{{0, 26}, {26, 52}}},
		{95, 48, []span{{0, 47}, {47, 95}}},
	} {
		got := divided(c.n, c.most)
		assert.Equal(t, c.want, got, "%d by %d", c.n, c.most)
	}
	for n := 1; n < 300; n++ {
		for most := 5; most < 80; most += 3 {
			spans := divided(n, most)
			require.Len(t, spans, (n+most-1)/most, "as few as must be: %d by %d", n, most)
			at, smallest, largest := 0, n, 0
			for _, s := range spans {
				require.Equal(t, at, s.From)
				require.LessOrEqual(t, s.size(), most)
				at, smallest, largest = s.To, min(smallest, s.size()), max(largest, s.size())
			}
			require.Equal(t, n, at)
			require.GreaterOrEqual(t, 2*smallest, largest-1, "no page nearly empty: %d by %d", n, most)
		}
	}
}

// The sheets together are the chart: each cell on one sheet, and its symbol
// there, as poppler reads it; and each sheet's legend counts its own drills.
func TestSheetsReadBackAsTheChart(t *testing.T) {
	for _, shape := range []kit.Shape{kit.Square, kit.Round} {
		for _, kind := range []SheetKind{SheetsRead, SheetsBuild} {
			k := testKit(t, 77, 63, 41, shape)
			p := DefaultPrint()
			p.Sheets = kind
			s, err := newSheets(k, p)
			require.NoError(t, err)
			path := pdfFile(t, func(w io.Writer) error { return Sheets(w, k, p) })
			pages := strings.Split(run(t, "pdftotext", "-raw", path, "-"), "\f")
			panels := s.panels
			more := 2 // the map first, nothing after the last form feed
			if kind == SheetsBuild {
				more++ // one legend for all
			}
			require.Len(t, pages, len(panels)+more)
			rows := symbolRows(k)
			covered := 0
			for i, pl := range panels {
				show := s.withLap(pl)
				var want []string
				for y := show.Rows.From; y < show.Rows.To; y++ {
					want = append(want, string([]rune(rows[y])[show.Cols.From:show.Cols.To]))
				}
				assert.Contains(t, pages[i+1], strings.Join(want, "\n")+"\n", "%s %s sheet %d", shape, kind, i+1)
				covered += pl.Cols.size() * pl.Rows.size()
				_, counts := colorsIn(k.Chart, pl)
				sum := 0
				for _, n := range counts {
					sum += n
				}
				assert.Equal(t, pl.Cols.size()*pl.Rows.size(), sum)
			}
			assert.Equal(t, k.Chart.Drills(), covered)
		}
	}
}

// Sheets to build are true to scale: neighboring symbols are a pitch apart.
func TestSheetsToBuildAreTrueToScale(t *testing.T) {
	k := testKit(t, 90, 60, 20, kit.Square)
	p := DefaultPrint()
	p.Sheets = SheetsBuild
	path := pdfFile(t, func(w io.Writer) error { return Sheets(w, k, p) })
	s, err := newSheets(k, p)
	require.NoError(t, err)
	for i, pl := range s.panels {
		show := s.withLap(pl)
		var glyphs []traced
		for _, g := range trace(t, path, i+2) {
			if strings.HasSuffix(g.font, "Symbols") && len(glyphs) < show.Cols.size()*show.Rows.size() {
				glyphs = append(glyphs, g)
			}
		}
		worst := 0.0
		for j, g := range glyphs {
			x, y := float64(j%show.Cols.size())*2.5, float64(j/show.Cols.size())*2.5
			worst = math.Max(worst, math.Hypot(g.x-glyphs[0].x-x, g.y-glyphs[0].y-y))
		}
		assert.LessOrEqual(t, worst, 0.002, "mm, sheet %d", i+1)
	}
}

func TestSheetsHaveLayersLabelsAndOutline(t *testing.T) {
	k := testKit(t, 97, 73, 12, kit.Square)
	path := pdfFile(t, func(w io.Writer) error { return Sheets(w, k, DefaultPrint()) })
	root := run(t, "mutool", "show", path, "trailer/Root/OCProperties")
	assert.Equal(t, 3, strings.Count(strings.SplitN(root, "/OCGs", 2)[1][:30], "R"), root)
	outline := run(t, "mutool", "show", path, "outline")
	assert.Contains(t, outline, `"Map"`)
	assert.Contains(t, outline, `"Sheet 2: columns `)
	assert.Contains(t, run(t, "mutool", "show", path, "trailer/Root/PageLabels"), "Nums")

	// With the tint layer off, poppler would show bare paper; Ghostscript and
	// poppler have no switch for it, so the operators are read.
	content := run(t, "qpdf", "--qdf", "--object-streams=disable", path, "-")
	for _, layer := range []string{"/OC /OC0 BDC", "/OC /OC1 BDC", "/OC /OC2 BDC"} {
		assert.Greater(t, strings.Count(content, layer), 1, layer)
	}
}

func TestSheetsOfAnyPaper(t *testing.T) {
	k := testKit(t, 200, 280, 60, kit.Square)
	for _, paper := range []string{"a4", "letter", "a3", "legal", "tabloid", "14x18cm"} {
		for _, kind := range []SheetKind{SheetsRead, SheetsBuild} {
			p := DefaultPrint()
			p.Sheets = kind
			require.NoError(t, p.Paper.Set(paper))
			s, err := newSheets(k, p)
			require.NoError(t, err, paper)
			w, h := 0, 0
			for _, pl := range s.panels {
				w, h = max(w, pl.Cols.size()), max(h, pl.Rows.size())
			}
			fw, fh := s.field()
			assert.LessOrEqual(t, float64(w)*s.cell, fw+1e-6, "%s %s", paper, kind)
			assert.LessOrEqual(t, float64(h)*s.cell, fh+1e-6, "%s %s", paper, kind)
			t.Logf("%s %s: %d sheets of %d x %d cells of %.1f mm", paper, kind, len(s.panels), w, h, s.cell)
		}
	}
	p := DefaultPrint()
	require.NoError(t, p.SheetCell.Set("20mm"))
	require.NoError(t, p.Paper.Set("14x18cm"))
	require.NoError(t, p.PaperMargin.Set("5mm"))
	_, err := newSheets(k, p)
	require.NoError(t, err, "five cells across are enough")
	require.NoError(t, p.Paper.Set("11x18cm"))
	_, err = newSheets(k, p)
	require.ErrorContains(t, err, "no room")
}

// Where a page has room beside the legend, names use it.
func TestSheetLegendTellsNamesWhereThereIsRoom(t *testing.T) {
	k := testKit(t, 80, 60, 12, kit.Square)
	k.Chart.Legend[5].Drill.Name = "light grayish reddish brown"
	p := DefaultPrint()
	p.Sheets = SheetsBuild
	s, err := newSheets(k, p)
	require.NoError(t, err)
	assert.Equal(t, "light grayish reddish brown", s.forms[0].rows[5].name)
	assert.LessOrEqual(t, s.forms[0].widthOf(s.blocksOf(s.forms[0])), s.w-2*s.margin)
}

// The chart of 100 x 150 cm in 100 colors, every third part of it busy, and how
// many pages it takes; the rows of every page of a strip begin where those of
// the one before end, on tens where that costs nothing.
func TestSheetsWasteNoPage(t *testing.T) {
	k := testKit(t, 400, 600, 100, kit.Square)
	p := DefaultPrint()
	s, err := newSheets(k, p)
	require.NoError(t, err)
	_, h := s.field()
	seen := make([]bool, len(k.Chart.Cells))
	tens, cuts := 0, 0
	for i, pl := range s.panels {
		entries, _ := colorsIn(k.Chart, pl)
		form := s.formFor(len(entries), s.legendRoom(s.cell, pl))
		blocks := s.blocksOf(form)
		assert.LessOrEqual(t, float64(pl.Rows.size())*s.cell+legendAbove+form.height((len(entries)+blocks-1)/blocks), h+1e-6, "sheet %d", i+1)
		for y := pl.Rows.From; y < pl.Rows.To; y++ {
			for x := pl.Cols.From; x < pl.Cols.To; x++ {
				require.False(t, seen[y*400+x])
				seen[y*400+x] = true
			}
		}
		if pl.Rows.From > 0 {
			cuts++
			if pl.Rows.From%10 == 0 {
				tens++
			}
		}
	}
	assert.NotContains(t, seen, false)
	t.Logf("%d sheets, cells of %.1f mm, %d of %d cuts on tens", len(s.panels), s.cell, tens, cuts)
	p.SheetCell = measure.Auto{Length: 3000, Given: true}
	smaller, err := newSheets(k, p)
	require.NoError(t, err)
	assert.Less(t, len(smaller.panels), len(s.panels))

	// What would take fewer pages is told, and is so.
	large := DefaultPrint()
	large.Paper = paperNamed("a3")
	a3, err := newSheets(k, large)
	require.NoError(t, err)
	assert.Equal(t, fmt.Sprintf("Your own printer needs %d sheets of paper; with sheet-cell 3mm it is %d, with paper a3 %d.", len(s.panels), len(smaller.panels), len(a3.panels)),
		DefaultPrint().fewerSheets(k).String())
	few := DefaultPrint().fewerSheets(testKit(t, 90, 60, 9, kit.Square))
	assert.True(t, few.Empty())
}

// flowed is held against trying every way to cut a few rows.
func TestFlowedIsTheBestWay(t *testing.T) {
	const rows = 15
	k := testKit(t, 6, rows, 12, kit.Square)
	sets := newColorSets(k.Chart, span{0, 6})
	for most := 5; most <= rows+4; most++ {
		fits := func(n, colors int) bool { return n+colors/3 <= most }
		ok := func(from, to int) bool {
			entries, _ := colorsIn(k.Chart, panel{Cols: span{0, 6}, Rows: span{from, to}})
			return fits(to-from, len(entries))
		}
		type way struct{ pages, off, squares int }
		best := way{pages: rows + 1}
		for mask := range 1 << (rows - 1) { // a cut behind each row or not
			w, from, possible := way{}, 0, true
			unit := 0 // 0: tens, 1: fives, 2: others
			for y := 1; y <= rows && possible; y++ {
				if y < rows && mask>>(y-1)&1 == 0 {
					continue
				}
				if y < rows && y%10 != 0 {
					unit = max(unit, 1)
				}
				if y < rows && y%5 != 0 {
					unit = 2
				}
				possible = ok(from, y)
				w.pages, w.squares, from = w.pages+1, w.squares+(y-from)*(y-from), y
			}
			w.off = unit
			if possible && (w.pages < best.pages || w.pages == best.pages && (w.off < best.off || w.off == best.off && w.squares < best.squares)) {
				best = w
			}
		}
		got := sets.flowed(1, fits)
		if best.pages > rows {
			assert.Nil(t, got)
			continue
		}
		squares := 0
		for _, s := range got {
			assert.True(t, ok(s.From, s.To))
			squares += s.size() * s.size()
		}
		assert.Len(t, got, best.pages, "at most %d", most)
		assert.Equal(t, best.squares, squares, "at most %d", most)
	}
}

// At every seam of sheets to build, two marks remain on what is kept when left
// and upper edges are trimmed, and every sheet has a bar of 50 mm.
func TestMarksOfSeamsAreKept(t *testing.T) {
	k := testKit(t, 220, 300, 12, kit.Square)
	p := DefaultPrint()
	p.Sheets = SheetsBuild
	s, err := newSheets(k, p)
	require.NoError(t, err)
	require.Greater(t, min(s.across, s.down), 2)
	for i, pl := range s.panels {
		pg := s.sheet(i)[0]
		var x, y float64
		var marks [][2]float64
		bar := 0.0
		for _, o := range pg.Ops {
			switch o := o.(type) {
			case pdf.Area:
				x, y = o.X, o.Y
			case pdf.Circle:
				marks = append(marks, [2]float64{o.X, o.Y})
			case pdf.Line:
				if o.Y1 == o.Y2 && o.W == 0.25 && o.Dash == 0 {
					bar = max(bar, o.X2-o.X1)
				}
			}
		}
		assert.Equal(t, 50.0, bar, "sheet %d", i+1)
		kept := func(m [2]float64) bool {
			return (pl.Col == 0 || m[0] > x-0.01) && (pl.Row == 0 || m[1] > y-0.01)
		}
		count := func(along int, at float64) (n int) {
			for _, m := range marks {
				if kept(m) && math.Abs(m[along]-at) < 0.01 {
					n++
				}
			}
			return n
		}
		ownW, ownH := float64(pl.Cols.size())*s.cell, float64(pl.Rows.size())*s.cell
		for _, seam := range []struct {
			is    bool
			along int
			at    float64
		}{{pl.Col > 0, 0, x}, {pl.Col < s.across-1, 0, x + ownW}, {pl.Row > 0, 1, y}, {pl.Row < s.down-1, 1, y + ownH}} {
			if seam.is {
				assert.GreaterOrEqual(t, count(seam.along, seam.at), 2, "sheet %d", i+1)
			}
		}
	}
}
