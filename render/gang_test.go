package render

import (
	"bytes"
	"context"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
	"kitwright/internal/measure"
	"kitwright/kit"
)

func onOneRoll(width measure.Length, turn bool, p Print) Roll {
	return Roll{Width: width * measure.Millimeter, Gap: 10 * measure.Millimeter, Turn: turn, Print: p}
}

func newGang(t testing.TB, kits []Ganged, r Roll) *Gang {
	t.Helper()
	g, err := NewGang(context.Background(), kits, r)
	require.NoError(t, err)
	return g
}

// contents returns the operators of a file's pages, as qpdf reads them.
func contents(t testing.TB, path string) (pages []string) {
	t.Helper()
	out := filepath.Join(t.TempDir(), "plain.pdf")
	run(t, "qpdf", "--qdf", "--coalesce-contents", "--object-streams=disable", path, out)
	data, err := os.ReadFile(out)
	require.NoError(t, err)
	for _, m := range regexp.MustCompile(`(?s)%% Contents for page \d+\n.*?stream\n(.*?)endstream`).FindAllSubmatch(data, -1) {
		pages = append(pages, string(m[1]))
	}
	return pages
}

// Every canvas on a roll, upright or turned, square or round, in sRGB or in the
// shop's inks, is drawn by the very operators of its own file: read by qpdf,
// they stand in the roll's page unchanged, behind one transformation that moves
// and turns and does not scale.
func TestGangDrawsTheVeryCanvases(t *testing.T) {
	checker.Need(t, "qpdf")
	paths := DefaultPrint()
	paths.Shop.Outlined = true
	for _, p := range []Print{DefaultPrint(), shopPrint(t, true), paths} {
		a, b, c := testKit(t, 30, 20, 6, kit.Square), testKit(t, 20, 40, 9, kit.Round), testKit(t, 28, 24, 5, kit.Square)
		q := p
		q.Bleed = 0
		kits := []Ganged{{"mia", a, p, 1}, {"tom", b, p, 2}, {"ada", c, q, 1}}
		g := newGang(t, kits, onOneRoll(420, true, p))
		path := pdfFile(t, g.Write)
		out, err := exec.Command("qpdf", "--check", path).CombinedOutput()
		require.NoError(t, err, "%s", out)
		page := contents(t, path)
		require.Len(t, page, 1)
		moved := regexp.MustCompile(`(?m)^q (1 0 0 1|0 1 -1 0) [\d.-]+ [\d.-]+ cm [\d.-]+ [\d.-]+ [\d.-]+ [\d.-]+ re W n$`)
		assert.Len(t, moved.FindAllString(page[0], -1), 4)
		turned := 0
		for _, k := range kits {
			var single bytes.Buffer
			require.NoError(t, Canvas(&single, k.Kit, k.Print))
			file := filepath.Join(t.TempDir(), "canvas.pdf")
			require.NoError(t, os.WriteFile(file, single.Bytes(), 0o666))
			own := strings.TrimSpace(contents(t, file)[0])
			// What gofpdf sets at the begin of every page, and which of two sets of
			// symbols has which name, is the file's and not the canvas's.
			begin := strings.Index(own, "cm\n") // of the chart
			own = own[strings.LastIndex(own[:begin], "\n")+1:]
			require.Equal(t, !p.Shop.Outlined, strings.Contains(own, "Tj"))
			assert.Equal(t, k.Copies, strings.Count(plainFonts(page[0]), plainFonts(own)), k.Name)
		}
		for _, c := range g.Canvases {
			if c.Turned {
				turned++
			}
		}
		assert.Positive(t, turned)
	}
}

func plainFonts(s string) string {
	return regexp.MustCompile(`/F[0-9a-f]+|/S\d+\.`).ReplaceAllString(s, "/F")
}

// Sheets lie inside the roll, a gap from each other and clear of its edges.
func TestGangKeepsItsGaps(t *testing.T) {
	p := DefaultPrint()
	kits := []Ganged{{"a", testKit(t, 90, 60, 9, kit.Square), p, 3}, {"b", testKit(t, 50, 40, 9, kit.Round), p, 2}, {"c", testKit(t, 130, 190, 9, kit.Square), p, 1}}
	for _, width := range []measure.Length{430, 610, 1067} {
		for _, turn := range []bool{false, true} {
			r := onOneRoll(width, turn, p)
			g := newGang(t, kits, r)
			var sheets float64
			for i, c := range g.Canvases {
				w, h := c.lies()
				assert.True(t, !c.Turned || turn)
				assert.True(t, c.X >= r.edge() && c.Y >= r.edge() && c.X+w <= r.Width-r.edge() && c.Y+h <= g.long(c.Run)-r.edge(), "%v", c.Name)
				for _, o := range g.Canvases[:i] {
					ow, oh := o.lies()
					assert.True(t, o.Run != c.Run || c.X >= o.X+ow+r.Gap || o.X >= c.X+w+r.Gap || c.Y >= o.Y+oh+r.Gap || o.Y >= c.Y+h+r.Gap)
				}
				sheets += c.page.W * c.page.H
			}
			assert.InDelta(t, 100*(1-sheets/r.Width.MM()/g.Length().MM()), float64(g.Waste())/10, 0.051)
			if width == 430 && !turn {
				assert.Greater(t, len(g.Canvases), 6, "the wide one is laid in panels")
			}
			var once, again bytes.Buffer
			require.NoError(t, g.Ticket(&once))
			require.NoError(t, newGang(t, kits, r).Ticket(&again))
			assert.True(t, bytes.Equal(once.Bytes(), again.Bytes()), "the same bytes each time")
		}
	}
}

// A crop of the roll looks as the canvas's own page does.
func TestGangLooksLikeTheCanvas(t *testing.T) {
	if testing.Short() {
		t.Skip("skipped: renders at 254 dpi")
	}
	p := DefaultPrint()
	k := testKit(t, 30, 24, 6, kit.Square)
	one := rendered(t, "pdftoppm", pdfFile(t, func(w io.Writer) error { return Canvas(w, k, p) }), 1, 254, false)
	g := newGang(t, []Ganged{{"mia", k, p, 1}}, onOneRoll(400, false, p))
	all := rendered(t, "pdftoppm", pdfFile(t, g.Write), 1, 254, false)
	c := newCanvas(k, p)
	m := p.Bleed.MM() + slug
	at := g.Canvases[0]
	off, n := 0, 0
	for y := 0.5; y < c.sheetH; y += 0.3 {
		for x := 0.5; x < c.sheetW; x += 0.3 {
			n++
			a, b := one.atMM(m+x, m+y), all.atMM(at.X.MM()+p.Bleed.MM()+x, at.Y.MM()+p.Bleed.MM()+y)
			for i := range 3 {
				if d := int(a[i]) - int(b[i]); d > 60 || d < -60 {
					off++
					break
				}
			}
		}
	}
	assert.Less(t, off, n/50, "of %d places", n)
}

func TestGangRefuses(t *testing.T) {
	p := DefaultPrint()
	k := testKit(t, 60, 40, 9, kit.Square)
	for want, c := range map[string]struct {
		roll Roll
		kits []Ganged
	}{
		"{media-width} takes 100mm to 5000mm":                          {onOneRoll(50, false, p), []Ganged{{"mia", k, p, 1}}},
		"{gap} takes 6mm to 100mm":                                     {Roll{Width: 610000, Gap: 2000, Print: p}, []Ganged{{"mia", k, p, 1}}},
		"mia: {media-width} 100mm is narrower than the smallest panel": {onOneRoll(100, false, p), []Ganged{{"mia", k, p, 1}}},
		"a roll takes 500 canvases at most":                            {onOneRoll(610, false, p), []Ganged{{"mia", k, p, 501}}},
	} {
		_, err := NewGang(context.Background(), c.kits, c.roll)
		require.Error(t, err, want)
		assert.Contains(t, err.Error(), strings.NewReplacer("{", "", "}", "").Replace(want))
	}
}
