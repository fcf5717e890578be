package render

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"go/types"
	"io"
	"os"
	"path/filepath"
	"reflect"
	"runtime"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
	"kitwright/kit"
	"kitwright/palettes"
	"kitwright/palettes/gauge"
	"kitwright/render/letters"
)

// prints are the kinds of file that can be written, for tests that hold for
// each.
var prints = []struct {
	name  string
	write func(w io.Writer, k *kit.Kit, p Print) error
	pdfa  bool   // claims PDF/A-1b
	more  bool   // another form of the one before, not worth the validator's time
	of    string // a print of something else than a kit: the function behind it
}{
	{"canvas", Canvas, true, false, ""},
	{"ticket", Ticket, true, false, ""},
	{"test print", TestPrint, true, false, ""},
	{"test print without a kit", func(w io.Writer, _ *kit.Kit, p Print) error { return TestPrint(w, nil, p) }, true, true, ""},
	{"home pages", Sheets, false, false, ""},
	{"home pages to build", func(w io.Writer, k *kit.Kit, p Print) error { p.Sheets = SheetsBuild; return Sheets(w, k, p) }, false, true, ""},
	{"labels", Labels, true, false, ""},
	{"round labels", func(w io.Writer, k *kit.Kit, p Print) error {
		p.LabelRound.Given, p.LabelRound.Length = true, 25000
		return Labels(w, k, p)
	}, true, true, ""},
	{"legend", Legend, true, false, ""},
	{"plan", Plan, true, false, ""},
	{"swatches", func(w io.Writer, k *kit.Kit, p Print) error {
		card := &palettes.Card{Name: "mine", Source: "this kit"}
		for _, e := range k.Chart.Legend {
			card.Drills = append(card.Drills, e.Drill)
		}
		return Swatches(w, card, p)
	}, true, false, "Swatches"},
	{"measuring sheets", func(w io.Writer, k *kit.Kit, p Print) error {
		var codes []string
		for _, e := range k.Chart.Legend {
			codes = append(codes, e.Drill.Code)
		}
		frames, err := gauge.Frames(codes, p.Paper.Size.W.MM(), p.Paper.Size.H.MM())
		if err != nil {
			return err
		}
		return MeasuringSheets(w, frames)
	}, true, false, "MeasuringSheets"},
}

// A print that is exported is in the table above, so that no new one goes
// unchecked.
func TestEveryPrintIsInTheTable(t *testing.T) {
	var exported, listed []string
	files, err := filepath.Glob("*.go")
	require.NoError(t, err)
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		src, err := parser.ParseFile(token.NewFileSet(), name, nil, 0)
		require.NoError(t, err)
		for _, d := range src.Decls {
			f, ok := d.(*ast.FuncDecl)
			if ok && f.Recv == nil && f.Name.IsExported() && len(f.Type.Params.List) > 0 && types.ExprString(f.Type.Params.List[0].Type) == "io.Writer" {
				exported = append(exported, f.Name.Name)
			}
		}
	}
	for _, p := range prints {
		if p.of != "" {
			listed = append(listed, p.of)
			continue
		}
		name := runtime.FuncForPC(reflect.ValueOf(p.write).Pointer()).Name()
		if name = name[strings.LastIndex(name, ".")+1:]; ast.IsExported(name) {
			listed = append(listed, name)
		}
	}
	assert.NotEmpty(t, exported)
	assert.ElementsMatch(t, exported, listed)
}

// Every file passes qpdf's check, has all fonts embedded, its boxes nested and
// no words of the PDF library's.
func TestFilesAreSound(t *testing.T) {
	checker.Need(t, "qpdf", "pdffonts", "pdfinfo")
	for i, shape := range []kit.Shape{kit.Square, kit.Round} {
		if i > 0 && testing.Short() {
			break
		}
		k := testKit(t, 40, 30, 33, shape)
		k.Title = "A “cat” \U0001F431 & <more> (50 % \\ of it), ł"
		p := DefaultPrint()
		p.Wrap, p.FrameLip = 20000, 5000
		for _, pr := range prints {
			path := pdfFile(t, func(w io.Writer) error { return pr.write(w, k, p) })
			assert.Contains(t, run(t, "qpdf", "--check", path), "No syntax or stream encoding errors found", pr.name)
			fonts := strings.Split(strings.TrimSpace(run(t, "pdffonts", path)), "\n")[2:]
			assert.NotEmpty(t, fonts)
			for _, f := range fonts {
				fields := strings.Fields(f)
				require.Greater(t, len(fields), 5)
				assert.Equal(t, []string{"yes", "yes", "yes"}, fields[len(fields)-5:len(fields)-2], "embedded, subset tag, Unicode: %s", f)
			}
			info := run(t, "pdfinfo", "-box", path)
			if pr.name != "test print without a kit" && pr.of == "" {
				assert.Contains(t, info, "Title:           A “cat” \U0001F431 & <more> (50 % \\ of it), ł")
			}
			if xmp := run(t, "pdfinfo", "-meta", path); pr.of == "" && pr.name != "test print without a kit" {
				assert.Contains(t, xmp, "<dc:identifier>kit "+k.Chart.Mark()+"</dc:identifier>", pr.name)
				pages := strings.Split(strings.TrimSuffix(run(t, "pdftotext", "-raw", path, "-"), "\f"), "\f")
				for n, words := range pages {
					assert.Contains(t, words, "kit "+k.Chart.Mark(), "%s, page %d", pr.name, n+1)
				}
			}
			assert.Contains(t, info, "Producer:        kitwright")
			assert.Contains(t, info, "Metadata Stream: yes")
			assert.Contains(t, info, "JavaScript:      no")
		}
	}
}

func TestCanvasBoxes(t *testing.T) {
	k := testKit(t, 40, 30, 5, kit.Square)
	p := DefaultPrint()
	p.Bleed = 4000
	path := pdfFile(t, func(w io.Writer) error { return Canvas(w, k, p) })
	c := newCanvas(k, p)
	box := func(name string) (v [4]float64) {
		for _, l := range strings.Split(run(t, "pdfinfo", "-box", path), "\n") {
			if rest, ok := strings.CutPrefix(l, name+":"); ok {
				_, err := fmt.Sscan(rest, &v[0], &v[1], &v[2], &v[3])
				require.NoError(t, err)
			}
		}
		return v
	}
	media, bleed, trim := box("MediaBox"), box("BleedBox"), box("TrimBox")
	mm := func(points float64) float64 { return points * letters.PointMM }
	assert.InDelta(t, c.sheetW, mm(trim[2]-trim[0]), 0.01)
	assert.InDelta(t, c.sheetH, mm(trim[3]-trim[1]), 0.01)
	for i, sign := range [4]float64{1, 1, -1, -1} {
		assert.InDelta(t, 4, sign*mm(trim[i]-bleed[i]), 0.01, "bleed side %d", i)
		assert.InDelta(t, slug, sign*mm(bleed[i]-media[i]), 0.01, "room for marks, side %d", i)
	}
}

// preflight runs the PDF/A-1b validator of Apache PDFBox on all files of a
// folder and returns the names of those that it finds valid.
func preflight(t *testing.T, dir string) []string {
	t.Helper()
	checker.Need(t, "java")
	var jars []string
	for _, j := range []string{"preflight", "pdfbox2", "fontbox2", "xmpbox", "commons-logging", "javax.activation", "jaxb-api"} {
		jar := filepath.Join("/usr/share/java", j+".jar")
		if _, err := os.Stat(jar); err != nil {
			checker.Missing(t, jar)
		}
		jars = append(jars, jar)
	}
	run(t, "java", "-cp", strings.Join(jars, ":"), "org.apache.pdfbox.preflight.Validator_A1b", "xml", "batch", dir)
	results, err := filepath.Glob(filepath.Join(dir, "*.preflight.xml"))
	require.NoError(t, err)
	require.NotEmpty(t, results)
	var valid []string
	for _, r := range results {
		b, err := os.ReadFile(r)
		require.NoError(t, err)
		name := strings.TrimSuffix(filepath.Base(r), ".pdf.preflight.xml")
		if strings.Contains(string(b), `<isValid type="PDF/A1-b">true</isValid>`) {
			valid = append(valid, name)
		} else if !strings.Contains(name, "home pages") {
			t.Log(string(b))
		}
	}
	return valid
}

// Home pages have layers, which PDF/A-1 forbids: that the validator sees them
// shows that it looks.
func TestFilesAreValidPDFA(t *testing.T) {
	if testing.Short() {
		t.Skip("skipped: starts a validator")
	}
	dir := t.TempDir()
	var want []string
	for i, pr := range prints {
		k := testKit(t, 40, 30, 33, []kit.Shape{kit.Square, kit.Round}[i%2])
		if pr.more {
			continue
		}
		p := DefaultPrint()
		p.Wrap, p.FrameLip = 20000, 5000
		f, err := os.Create(filepath.Join(dir, pr.name+".pdf"))
		require.NoError(t, err)
		require.NoError(t, pr.write(f, k, p))
		require.NoError(t, f.Close())
		if pr.pdfa {
			want = append(want, pr.name)
		}
	}
	for name, write := range map[string]func(io.Writer, *kit.Kit, Print) error{"canvas in paths": Canvas, "test print in paths": TestPrint} {
		p := DefaultPrint()
		p.Shop.Outlined = true
		f, err := os.Create(filepath.Join(dir, name+".pdf"))
		require.NoError(t, err)
		require.NoError(t, write(f, testKit(t, 40, 30, 33, kit.Round), p))
		require.NoError(t, f.Close())
		want = append(want, name)
	}
	assert.ElementsMatch(t, want, preflight(t, dir))
}

// Ghostscript names what PDF/X forbids when it meets it; it must meet nothing.
// Three renderers that share no code show the same first page of every print.
func TestThreeRenderersAgree(t *testing.T) {
	if testing.Short() {
		t.Skip("skipped: renders every print three times")
	}
	checker.Slow(t)
	checker.Need(t, "pdftoppm", "mutool", "gs")
	k := testKit(t, 40, 30, 12, kit.Square)
	for _, pr := range prints {
		if pr.more {
			continue
		}
		path := pdfFile(t, func(w io.Writer) error { return pr.write(w, k, DefaultPrint()) })
		var pages []*raster
		for _, renderer := range []string{"pdftoppm", "mutool", "gs"} {
			pages = append(pages, rendered(t, renderer, path, 1, 80, true))
		}
		for i, p := range pages[1:] {
			require.InDelta(t, pages[0].w, p.w, 1, pr.name)
			require.InDelta(t, pages[0].h, p.h, 1, pr.name)
			off, ink := 0, 0 // of blocks of 6 mm, as fine strokes are softened in three ways
			for y := 0; y+20 <= min(pages[0].h, p.h); y += 20 {
				for x := 0; x+20 <= min(pages[0].w, p.w); x += 20 {
					a, b := pages[0].mean(x, y, 20), p.mean(x, y, 20)
					if a < 250 || b < 250 {
						ink++
						if d := a - b; d > 24 || d < -24 {
							off++
						}
					}
				}
			}
			require.Positive(t, ink, pr.name)
			assert.Less(t, float64(off), 0.03*float64(ink), "%s: renderer %d shows other ink in %d of %d places", pr.name, i+1, off, ink)
		}
	}
}

func TestGhostscriptFindsNothingForbidden(t *testing.T) {
	if testing.Short() {
		t.Skip("skipped: Ghostscript writes the file again")
	}
	checker.Need(t, "gs")
	k := testKit(t, 40, 30, 33, kit.Round)
	path := pdfFile(t, func(w io.Writer) error { return Canvas(w, k, DefaultPrint()) })
	out := run(t, "gs", "-q", "-dBATCH", "-dNOPAUSE", "-sDEVICE=pdfwrite", "-dPDFX", "-sColorConversionStrategy=UseDeviceIndependentColor",
		"-o", os.DevNull, path)
	assert.Empty(t, out)
}
