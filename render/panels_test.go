package render

import (
	"bytes"
	"io"
	"math"
	"os/exec"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
	"kitwright/internal/measure"
	"kitwright/kit"
	"kitwright/render/pdf"
)

func onRoll(p Print, width, overlap measure.Length) Print {
	p.MediaWidth = measure.Auto{Length: width * measure.Millimeter, Given: true}
	p.PanelOverlap = overlap * measure.Millimeter
	return p
}

// Read by mupdf, the panels hold every drill in its place at true scale, each
// once and those of an overlap twice.
func TestPanelsHoldThePicture(t *testing.T) {
	checker.Need(t, "mutool")
	for _, c := range []struct {
		name         string
		kit          *kit.Kit
		width, over  measure.Length
		wrap         measure.Length
		legend       LegendPlace
		panels       int
		stacked, ink bool
	}{
		{name: "square, overlapping", kit: testKit(t, 120, 60, 12, kit.Square), width: 190, over: 10, legend: LegendOff, panels: 2, stacked: true},
		{name: "round, butting", kit: testKit(t, 71, 96, 12, kit.Round), width: 260, over: 0, legend: LegendBeside, panels: 2},
		{name: "wrapped, in the shop's inks", kit: testKit(t, 80, 90, 12, kit.Square), width: 165, over: 5, wrap: 20, legend: LegendBelow, panels: 3, ink: true},
	} {
		p := onRoll(DefaultPrint(), c.width, c.over)
		if c.ink {
			p = onRoll(shopPrint(t, true), c.width, c.over)
		}
		p.Wrap, p.Legend = c.wrap*measure.Millimeter, c.legend
		require.NoError(t, p.Check(c.kit), c.name)
		cut, err := layCanvas(c.kit, p)
		require.NoError(t, err)
		require.Len(t, cut.pieces, c.panels, c.name)
		assert.Equal(t, c.stacked, cut.stacked, c.name)
		path := pdfFile(t, func(w io.Writer) error { return Canvas(w, c.kit, p) })
		if c.ink {
			out, err := exec.Command("qpdf", "--check", path).CombinedOutput()
			assert.NoError(t, err, "%s", out)
		}
		pitch := c.kit.Pitch.MM()
		times := make([]int, len(c.kit.Chart.Cells))
		worst := 0.0
		for i, pg := range cut.pages() {
			across := pg.W + 2*pg.Margin()
			if cut.stacked {
				across = pg.H + 2*pg.Margin()
			}
			assert.LessOrEqual(t, across, p.MediaWidth.Length.MM()+1e-6, "it goes onto the roll")
			in := pg.Ops[0].(pdf.Inset)
			left, top := pg.Margin()+in.X-in.Frame[0]+cut.c.x, pg.Margin()+in.Y-in.Frame[1]+cut.c.y
			for _, g := range trace(t, path, i+1) {
				x, y := (g.x-left)/pitch, (g.y-top)/pitch-1
				col, row := int(math.Round(x)), int(math.Round(y))
				// Where it is shown, in whole drills: others are beyond the frame.
				fx, fy := g.x-pg.Margin()-in.X+pitch/2, g.y-pg.Margin()-in.Y-pitch/2
				if !strings.HasSuffix(g.font, "Symbols") || g.r == '\u2B24' || col < 0 || row < 0 || col >= c.kit.Chart.Cols || row >= c.kit.Chart.Rows ||
					fx < 0 || fy < 0 || fx > in.Frame[2] || fy > in.Frame[3] {
					continue
				}
				worst = max(worst, pitch*math.Hypot(x-float64(col), y-float64(row)))
				require.Equal(t, c.kit.Chart.At(col, row).Symbol.Rune, g.r, "%s: cell %d, %d", c.name, col, row)
				times[row*c.kit.Chart.Cols+col]++
			}
		}
		assert.LessOrEqual(t, worst, 0.002, "mm from its cell")
		want := make([]int, len(times))
		for i, pc := range cut.pieces {
			in := cut.span(pc)
			lap := int(math.Round(pc.lap / pitch))
			if i < len(cut.pieces)-1 && pc.to.line > 0 {
				assert.Equal(t, int(math.Ceil(p.PanelOverlap.MM()/pitch)), lap, c.name)
			}
			for y := range c.kit.Chart.Rows {
				for x := range c.kit.Chart.Cols {
					at := x
					if cut.stacked {
						at = y
					}
					if at >= in.From && at < in.To+lap {
						want[y*c.kit.Chart.Cols+x]++
					}
				}
			}
		}
		assert.Equal(t, want, times, c.name)
		for _, n := range want {
			require.Positive(t, n)
		}
	}
}

// Joined, the panels are the sheet: poppler draws the same on them, but for
// where title and legend moved.
func TestPanelsShowTheSheet(t *testing.T) {
	if testing.Short() {
		t.Skip("skipped: renders at 300 dpi")
	}
	k := testKit(t, 40, 34, 9, kit.Round)
	p := onRoll(DefaultPrint(), 140, 10)
	p.Legend, p.Wrap = LegendOff, 10*measure.Millimeter
	whole := p
	whole.MediaWidth = measure.Auto{}
	cut := laid(k, p)
	require.Greater(t, len(cut.pieces), 1)
	sheet := newCanvas(k, whole)
	one := rendered(t, "pdftoppm", pdfFile(t, func(w io.Writer) error { return Canvas(w, k, whole) }), 1, 300, false)
	path := pdfFile(t, func(w io.Writer) error { return Canvas(w, k, p) })
	for i, pg := range cut.pages() {
		part := rendered(t, "pdftoppm", path, i+1, 300, false)
		in := pg.Ops[0].(pdf.Inset)
		m, pitch, n := pg.Margin(), k.Pitch.MM(), 0
		for y := -3; y < k.Chart.Rows+3; y++ {
			for x := -3; x < k.Chart.Cols+3; x++ {
				// Between four drills' discs, off the lines.
				dx, dy := (float64(x)+0.1)*pitch, (float64(y)+0.12)*pitch
				fx, fy := cut.c.x+dx-in.Frame[0], cut.c.y+dy-in.Frame[1]
				if fx < 0.5 || fy < 0.5 || fx > in.Frame[2]-0.5 || fy > in.Frame[3]-0.5 || x < 1 || y < 1 {
					continue
				}
				was, is := one.atMM(m+sheet.x+dx, m+sheet.y+dy), part.atMM(m+in.X+fx, m+in.Y+fy)
				for c := range 3 {
					if d := int(was[c]) - int(is[c]); d > 40 || d < -40 { // neighbors are further apart; edges are smoothed
						n++
					}
				}
			}
		}
		assert.LessOrEqual(t, n, k.Chart.Cols*k.Chart.Rows/50, "panel %d", i+1)
	}
}

// There are no fewer panels: where only the picture is cut, going as far as the
// roll allows each time takes as many.
func TestFewestPanels(t *testing.T) {
	k := testKit(t, 157, 300, 9, kit.Square)
	for width := measure.Length(150); width <= 560; width += 26 {
		p := onRoll(DefaultPrint(), width, 10)
		p.Legend = LegendOff
		room := p.MediaWidth.Length.MM() - 2*(p.Bleed.MM()+slug)
		s := panelsAcross(k, p, room)
		require.NotNil(t, s, width)
		at, n := cutPlace{}, 0
		for at.at < s.length() {
			n++
			far := at
			for _, to := range s.places() {
				lead, trail := s.beyond(at), s.beyond(to)
				if to.at > at.at && (to.line == 0 || at.line == 0 || to.line-at.line >= panelLines) && lead+to.at-at.at+s.lap(to)+trail <= room {
					far = to
				}
			}
			require.Greater(t, far.at, at.at)
			at = far
		}
		assert.Len(t, s.pieces, n, "%d mm", width)
		for _, pc := range s.pieces {
			assert.LessOrEqual(t, pc.wide(), room)
		}
	}
}

func TestNoPanelsWhereTheSheetFits(t *testing.T) {
	k := testKit(t, 60, 40, 9, kit.Square)
	plain := DefaultPrint()
	c := newCanvas(k, plain)
	var a, b bytes.Buffer
	require.NoError(t, Canvas(&a, k, plain))
	around := 2 * (plain.Bleed.MM() + slug)
	for _, width := range []float64{c.sheetW + around, min(c.sheetW, c.sheetH) + around} {
		b.Reset()
		p := onRoll(plain, 0, 10)
		p.MediaWidth.Length = microns(width + 0.001)
		cut := laid(k, p)
		assert.False(t, cut.cut())
		assert.Equal(t, width < c.sheetW+around, cut.turned)
		require.NoError(t, Canvas(&b, k, p))
		assert.True(t, bytes.Equal(a.Bytes(), b.Bytes()), "the very sheet")
		p.MediaWidth.Length = microns(min(c.sheetW, c.sheetH) + around - 0.01)
		assert.True(t, laid(k, p).cut())
	}
}

func TestPanelsAreRefused(t *testing.T) {
	k := testKit(t, 100, 120, 9, kit.Square)
	err := onRoll(DefaultPrint(), 101, 100).Check(k)
	require.ErrorContains(t, err, "narrower than the smallest panel of this canvas")
	assert.ErrorContains(t, onRoll(DefaultPrint(), 60, 10).Check(k), "takes 100mm to 5000mm")
	assert.ErrorContains(t, onRoll(DefaultPrint(), 300, 101).Check(k), "takes 100mm at most")
	// What the hint names is enough.
	p := onRoll(DefaultPrint(), 101, 100)
	for p.Check(k) != nil {
		p.MediaWidth.Length += 10 * measure.Millimeter
		require.Less(t, p.MediaWidth.Length, 400*measure.Millimeter)
	}
	said := err.Error()
	assert.Contains(t, said+p.MediaWidth.Length.String(), p.MediaWidth.Length.String())
}

// Nothing of the legend is cut through, and titles keep to one panel.
func TestPanelsCutNoLegend(t *testing.T) {
	for _, width := range []measure.Length{230, 300, 420, 610} {
		for _, place := range []LegendPlace{LegendBeside, LegendBelow, LegendBoth} {
			for _, size := range [][2]int{{190, 260}, {260, 190}, {350, 350}} {
				k := testKit(t, size[0], size[1], 48, kit.Square)
				p := onRoll(DefaultPrint(), width, 10)
				p.Legend = place
				cut := laid(k, p)
				require.NoError(t, p.Check(k))
				whole := append(cut.c.legends(), cut.c.headerOps()...)
				for i, pc := range cut.pieces[:max(0, len(cut.pieces)-1)] {
					for _, o := range whole {
						x0, y0, x1, y1 := pdf.Bounds(o)
						if cut.stacked {
							x0, x1 = y0, y1
						}
						assert.False(t, x0 < pc.to.at-0.01 && x1 > pc.to.at+0.01, "%v %s %v, cut %d: %v", width, place, size, i+1, o)
					}
				}
			}
		}
	}
}
