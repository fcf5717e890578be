package render

import (
	"bytes"
	"io"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/chart/symbols"
	"kitwright/internal/checker"
	"kitwright/internal/measure"
	"kitwright/kit"
	"kitwright/render/pdf"
)

// symbolRows returns the chart as the characters of its symbols, row by row.
func symbolRows(k *kit.Kit) []string {
	rows := make([]string, k.Chart.Rows)
	for y := range rows {
		var b strings.Builder
		for x := range k.Chart.Cols {
			b.WriteRune(k.Chart.At(x, y).Symbol.Rune)
		}
		rows[y] = b.String()
	}
	return rows
}

func TestCanvasReadsBackAsTheChart(t *testing.T) {
	checker.Need(t, "pdftotext", "mutool")
	for name, k := range map[string]*kit.Kit{
		"square": testKit(t, 53, 37, 60, kit.Square),
		"round":  testKit(t, 40, 41, 12, kit.Round),
	} {
		for _, look := range []CellLook{LookTint, LookColor, LookInk} {
			p := DefaultPrint()
			p.Look = look
			path := pdfFile(t, func(w io.Writer) error { return Canvas(w, k, p) })

			// By poppler: the text is the chart, then title, numbers and legend.
			lines := strings.Split(run(t, "pdftotext", "-raw", path, "-"), "\n")
			require.Greater(t, len(lines), k.Chart.Rows)
			assert.Equal(t, symbolRows(k), lines[:k.Chart.Rows], "%s %s", name, look)

			// By mupdf: every symbol in its cell.
			c := newCanvas(k, p)
			m := c.page().Margin()
			var at int
			var worst float64
			counts := map[rune]int{}
			for _, g := range trace(t, path, 1) {
				if at == len(k.Chart.Cells) || !strings.HasSuffix(g.font, "Symbols") || g.r == '\u2B24' {
					continue // the legend's symbols, discs, other text
				}
				x, y := at%k.Chart.Cols, at/k.Chart.Cols
				pitch := k.Pitch.MM()
				worst = math.Max(worst, math.Hypot(g.x-(m+c.x+float64(x)*pitch), g.y-(m+c.y+float64(y+1)*pitch)))
				require.Equal(t, k.Chart.At(x, y).Symbol.Rune, g.r, "cell %d, %d", x, y)
				counts[g.r]++
				at++
			}
			require.Equal(t, len(k.Chart.Cells), at)
			assert.LessOrEqual(t, worst, 0.002, "mm from its cell, %s %s", name, look)
			for i, e := range k.Chart.Legend {
				assert.Equal(t, e.Count, counts[e.Symbol.Rune], "color %d", i+1)
			}
		}
	}
}

func TestCanvasLegendSaysWhatTheChartHas(t *testing.T) {
	k := testKit(t, 40, 50, 23, kit.Square)
	for _, place := range []LegendPlace{LegendBeside, LegendBelow, LegendBoth, LegendOff} {
		p := DefaultPrint()
		p.Legend = place
		path := pdfFile(t, func(w io.Writer) error { return Canvas(w, k, p) })
		got := run(t, "pdftotext", "-layout", path, "-")
		times := map[LegendPlace]int{LegendBoth: 2, LegendOff: 0}
		want, ok := times[place]
		if !ok {
			want = 1
		}
		for _, e := range k.Chart.Legend {
			assert.Equal(t, want, strings.Count(got, e.Drill.Code), "%s, %s", place, e.Drill.Code)
		}
		assert.Equal(t, want, strings.Count(strings.Join(strings.Fields(got), " "), "Reference colors, not a supplier's codes"), place)
		assert.Contains(t, got, k.Title)
		assert.Contains(t, got, "100 mm")
		assert.Contains(t, got, "Print at 100 %, no “fit to page”")
	}
}

// scaleOf finds the dark lines that cross a scan of a page and returns their
// centers in mm.
func scaleOf(r *raster, along func(i int) color, n int) []float64 {
	var out []float64
	for i := 0; i < n; {
		sum, weight := 0.0, 0.0
		for ; i < n; i++ {
			v := float64(255 - int(along(i)[1]))
			if v < 128 {
				break
			}
			sum += v * (float64(i) + 0.5)
			weight += v
		}
		if weight > 0 {
			out = append(out, sum/weight*25.4/r.dpi)
		}
		i++
	}
	return out
}

// 200 square drills of 2.5 mm measure 500 mm, in each of three renderers.
func TestTwoHundredDrillsMeasureHalfAMeter(t *testing.T) {
	if testing.Short() {
		t.Skip("skipped: renders at 600 dpi")
	}
	p := DefaultPrint()
	p.Legend, p.Look, p.Bleed = LegendOff, LookInk, 0
	across, down := testKit(t, 200, 2, 5, kit.Square), testKit(t, 2, 200, 5, kit.Square)
	for _, dir := range []struct {
		name string
		kit  *kit.Kit
	}{{"across", across}, {"down", down}} {
		c := newCanvas(dir.kit, p)
		path := pdfFile(t, func(w io.Writer) error { return Canvas(w, dir.kit, p) })
		for _, renderer := range renderers {
			r := rendered(t, renderer, path, 1, 600, false)
			var lines []float64
			var start float64
			if dir.name == "across" { // between the frame of the picture and the symbols of its first row
				y := int((c.y + 0.05*2.5 + 0.1) * 600 / 25.4)
				lines, start = scaleOf(r, func(i int) color { return r.at(i, y) }, r.w), c.x
			} else {
				x := int((c.x + 0.05*2.5 + 0.1) * 600 / 25.4)
				lines, start = scaleOf(r, func(i int) color { return r.at(x, i) }, r.h), c.y
			}
			var tens []float64
			for _, l := range lines {
				if l > start-0.5 && l < start+500.5 {
					tens = append(tens, l)
				}
			}
			require.Len(t, tens, 21, "%s %s: lines every ten", renderer, dir.name)
			worst := 0.0
			for i, l := range tens {
				worst = math.Max(worst, math.Abs(l-(start+25*float64(i))))
			}
			assert.LessOrEqual(t, worst, 0.05, "mm, %s %s", renderer, dir.name)
			t.Logf("%s %s: %.3f mm, no line off by more than %.3f mm", renderer, dir.name, tens[20]-tens[0], worst)
		}
	}
}

// The color at a point of a cell that has no ink is the tint or the drill's
// color, in poppler, which manages colors, and in Ghostscript.
func TestCellsHaveTheirColor(t *testing.T) {
	if testing.Short() {
		t.Skip("skipped: renders at 600 dpi")
	}
	for _, shape := range []kit.Shape{kit.Square, kit.Round} {
		k := testKit(t, 24, 20, 40, shape)
		for _, look := range []CellLook{LookTint, LookColor} {
			p := DefaultPrint()
			p.Look, p.Legend = look, LegendOff
			c := newCanvas(k, p)
			m := c.page().Margin()
			path := pdfFile(t, func(w io.Writer) error { return Canvas(w, k, p) })
			for _, renderer := range []string{"pdftoppm", "gs"} {
				r := rendered(t, renderer, path, 1, 600, false)
				worst := 0
				for y := range k.Chart.Rows {
					for x := range k.Chart.Cols {
						want, _ := c.skin.cell(k.Chart.At(x, y).Drill.RGB)
						pitch := k.Pitch.MM()
						got := r.atMM(m+c.x+(float64(x)+0.5)*pitch, m+c.y+(float64(y)+0.1)*pitch)
						for i := range 3 {
							worst = max(worst, int(math.Abs(float64(got[i])-float64(want[i]))))
						}
					}
				}
				assert.LessOrEqual(t, worst, 1, "%s %s %s", renderer, shape, look)
			}
		}
	}
}

// No white shows between cells where edges are smoothed.
func TestNoWhiteSeams(t *testing.T) {
	k := testKit(t, 90, 70, 9, kit.Square)
	dark := []color{{60, 20, 10}, {10, 50, 70}, {40, 40, 5}, {30, 0, 60}, {70, 0, 0}, {0, 70, 20}, {20, 20, 20}, {66, 40, 0}, {0, 30, 70}}
	l := plainWindow(k.Chart, 0, 0, 90, 70)
	l.Fill = dark
	d := pdf.Document{Title: "seams", Box: 0.72, Pages: []*pdf.Page{{W: 250, H: 200, Ops: []pdf.Op{pdf.Area{X: 10, Y: 10, Pitch: 2.5, Lattice: l}}}}}
	path := pdfFile(t, d.Write)
	for _, renderer := range renderers {
		r := rendered(t, renderer, path, 1, 100, true)
		light := 0 // within 10.7 mm and 184.4 mm, 234.4 mm: half a cell inside
		for y := 42; y < 726; y++ {
			for x := 42; x < 923; x++ {
				c := r.at(x, y)
				if c[0] > 75 || c[1] > 75 || c[2] > 75 {
					light++
				}
			}
		}
		assert.Zero(t, light, "pixels lighter than any cell in %s", renderer)
	}
}

func TestCanvasIsTheSameEveryTime(t *testing.T) {
	k := testKit(t, 60, 80, 30, kit.Round)
	p := DefaultPrint()
	p.Legend, p.Wrap = LegendBoth, 20000
	var first []byte
	times := 20
	if testing.Short() {
		times = 4
	}
	for range times {
		var b bytes.Buffer
		require.NoError(t, Canvas(&b, k, p))
		if first == nil {
			first = b.Bytes()
		}
		require.Equal(t, first, b.Bytes())
	}
}

// hatched returns which drills of a canvas are shaded for the frame.
func hatched(c *canvas) map[[2]int]bool {
	out := map[[2]int]bool{}
	for _, o := range c.grid() {
		a, ok := o.(pdf.Area)
		if !ok || a.Lattice.Hatch == nil {
			continue
		}
		for y := range a.Lattice.Rows {
			for x := range a.Lattice.Cols {
				if a.Lattice.Hatch(x, y) {
					out[[2]int{x, y}] = true
				}
			}
		}
	}
	return out
}

// Every drill that the lip touches is shaded, be it by a hair, and no other.
func TestFrameLipShadesWhatItTouches(t *testing.T) {
	k := testKit(t, 30, 20, 5, kit.Square) // 2.5 mm
	for _, c := range []struct{ lip, hidden int }{{1, 1}, {2500, 1}, {2501, 2}, {5000, 2}, {6000, 3}, {7500, 3}} {
		p := DefaultPrint()
		p.FrameLip = measure.Length(c.lip)
		want := map[[2]int]bool{}
		for y := range 20 {
			for x := range 30 {
				if min(x, y, 29-x, 19-y) < c.hidden {
					want[[2]int{x, y}] = true
				}
			}
		}
		assert.Equal(t, want, hatched(newCanvas(k, p)), "a lip of %d micrometers", c.lip)
	}
	assert.Empty(t, hatched(newCanvas(k, DefaultPrint())))
}

// wrapCells returns the color of every cell beyond the picture, by column and
// row, as the bands of the wrap have it.
func wrapCells(c *canvas) map[[2]int]uint16 {
	out := map[[2]int]uint16{}
	pitch := c.kit.Pitch.MM()
	for _, o := range c.wrapOps() {
		a, ok := o.(pdf.Area)
		if !ok {
			continue
		}
		x0, y0 := int(math.Round((a.X-c.x)/pitch)), int(math.Round((a.Y-c.y)/pitch))
		for y := range a.Lattice.Rows {
			for x, v := range a.Lattice.Row(y) {
				cx, cy := x0+x, y0+y
				if cx < 0 || cy < 0 || cx >= c.kit.Chart.Cols || cy >= c.kit.Chart.Rows {
					out[[2]int{cx, cy}] = v
				}
			}
		}
	}
	return out
}

// The first drill beyond an edge repeats the one at the edge, the second the
// one behind it: the picture folds at its edge and nowhere else.
func TestWrapMirrorsAtTheEdge(t *testing.T) {
	k := testKit(t, 30, 20, 60, kit.Square)
	p := DefaultPrint()
	p.Wrap = 10000 // four drills
	c := newCanvas(k, p)
	cells := wrapCells(c)
	for y := -4; y < 24; y++ {
		for x := -4; x < 34; x++ {
			if x >= 0 && x < 30 && y >= 0 && y < 20 {
				continue
			}
			fold := func(i, n int) int {
				if i < 0 {
					return -i - 1
				}
				if i >= n {
					return n - 1 - (i - n)
				}
				return i
			}
			v, ok := cells[[2]int{x, y}]
			if assert.True(t, ok, "column %d, row %d is bare", x, y) {
				assert.Equal(t, k.Chart.Cells[fold(y, 20)*30+fold(x, 30)], v, "column %d, row %d", x, y)
			}
		}
	}
	p.WrapFill = WrapEdge
	cells = wrapCells(newCanvas(k, p))
	for i := 1; i <= 4; i++ {
		assert.Equal(t, k.Chart.Cells[7*30], cells[[2]int{-i, 7}], "drawn out to the left")
		assert.Equal(t, k.Chart.Cells[19*30+11], cells[[2]int{11, 19 + i}], "drawn out below")
	}
}

// The symbols of a large print are larger, as measured on the page that mupdf
// renders.
func TestLargeEnlarges(t *testing.T) {
	k := kitOf(t, 8, 6, testCard(1), make([]uint16, 48), kit.Square)
	inked := func(large bool) float64 {
		p := DefaultPrint()
		p.Look, p.Large, p.Legend = LookInk, large, LegendOff
		c := newCanvas(k, p)
		path := pdfFile(t, func(w io.Writer) error { return Canvas(w, k, p) })
		r := rendered(t, "mutool", path, 1, 600, false)
		m := c.page().Margin()
		cell := k.Pitch.MM()
		top, low := math.Inf(1), 0.0
		for y := 0.2; y < cell-0.2; y += 0.01 { // within the lines of the third cell of the third row
			for x := 0.2; x < cell-0.2; x += 0.02 {
				if r.atMM(m+c.x+2*cell+x, m+c.y+2*cell+y)[1] < 100 {
					top, low = math.Min(top, y), math.Max(low, y)
				}
			}
		}
		return (low - top) / cell
	}
	plain, large := inked(false), inked(true)
	t.Logf("symbols are %.3f and, large, %.3f of the cell high", plain, large)
	assert.InDelta(t, symbols.LargeBox/symbols.Box, large/plain, 0.03)
	assert.Greater(t, large, 1.05*plain)
}
