package render

import (
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
	"kitwright/kit"
	"kitwright/render/letters"
	"kitwright/render/pdf"
)

const hebrewFont = "/usr/share/fonts/truetype/noto/NotoSansHebrew-Bold.ttf"

func borrowed(t *testing.T, file string) Print {
	t.Helper()
	data, err := os.ReadFile(file)
	if err != nil {
		checker.Missing(t, file)
	}
	p := DefaultPrint()
	require.NoError(t, p.Font.Set(file))
	require.NoError(t, p.Font.Load(data))
	return p
}

// Letters of a font that was given look as FreeType draws them, and stand in the
// order in which they are read.
func TestBorrowedLettersLookAsFreeTypeDrawsThem(t *testing.T) {
	checker.Need(t, "convert", "pdftoppm")
	for _, c := range []struct {
		file, text, seen string
		paths            bool
		turn             int
	}{
		{hebrewFont, "שמא", "אמש", false, 0}, {hebrewFont, "שמא", "אמש", true, 90},
		{"/usr/share/fonts/opentype/urw-base35/C059-Roman.otf", "ҚӘҰ", "ҚӘҰ", false, 90}, // of cubic curves
	} {
		asFreeType(t, c.file, c.text, c.seen, c.paths, c.turn)
	}
}

func asFreeType(t *testing.T, file, text, seen string, paths bool, turn int) {
	p := borrowed(t, file)
	d := pdf.Document{Title: "t", Box: 1, Paths: paths, Pages: []*pdf.Page{{W: 180, H: 180}}}
	d.Pages[0].Add(pdf.Text{X: 90, Y: 90, Size: 150, Turn: turn, Align: pdf.Center, S: letters.CleanWith(text, p.Font.font)})
	path := pdfFile(t, func(w io.Writer) error { return d.Write(w) })
	ours := filepath.Join(t.TempDir(), "ours")
	run(t, "pdftoppm", "-r", "72", "-singlefile", path, ours)
	theirs := filepath.Join(t.TempDir(), "theirs.ppm")
	run(t, "convert", "-font", file, "-pointsize", "150", "-density", "72", "label:"+seen, "-rotate", strconv.Itoa(-turn), theirs)
	for _, f := range []string{ours + ".ppm", theirs} {
		run(t, "convert", f, "-trim", "+repage", "-depth", "8", f)
	}
	a, b := readPPM(t, ours+".ppm", 72), readPPM(t, theirs, 72)
	require.InDelta(t, b.w, a.w, 2)
	require.InDelta(t, b.h, a.h, 2)
	both, either := 0, 0
	for y := range min(a.h, b.h) {
		for x := range min(a.w, b.w) {
			i, j := a.pix[3*(y*a.w+x)] < 128, b.pix[3*(y*b.w+x)] < 128
			if i && j {
				both++
			}
			if i || j {
				either++
			}
		}
	}
	assert.Greater(t, float64(both)/float64(either), 0.9, "of the ink is the same")
}

// A title in another script prints where a font has its letters; what it lacks
// is named once, and a kit that is printed again without the font says so.
func TestTitleInAnotherScript(t *testing.T) {
	k := testKit(t, 30, 20, 4, kit.Square)
	k.Title = "שלום 猫"
	words := func(p Print) string {
		var all []string
		for _, a := range p.Advice(k) {
			all = append(all, a.String())
		}
		return strings.Join(all, "\n")
	}
	p := borrowed(t, hebrewFont)
	assert.Contains(t, words(p), "NotoSansHebrew-Bold.ttf has 猫")
	assert.NotContains(t, words(p), "ש")
	assert.Equal(t, 1, strings.Count(titleOf(k, p), "□"))
	assert.Contains(t, words(DefaultPrint()), "has no שלום猫")
	again := DefaultPrint()
	require.NoError(t, again.Font.Set("NotoSansHebrew-Bold.ttf"))
	assert.Contains(t, words(again), "is not at hand, so שלום猫")
	require.NoError(t, p.Font.Set("Other.ttf"))
	assert.Empty(t, p.Font.Wants(), "what a kit was printed with is a name, and the font at hand stays")

	k.Title = "قطة"
	assert.Contains(t, words(p), "have to be joined")
	for name, write := range map[string]func(io.Writer, *kit.Kit, Print) error{"canvas": Canvas, "ticket": Ticket, "sheets": Sheets, "labels": Labels, "legend": Legend, "plan": Plan} {
		k.Title = "שלום"
		path := pdfFile(t, func(w io.Writer) error { return write(w, k, borrowed(t, hebrewFont)) })
		if _, err := exec.LookPath("qpdf"); err == nil {
			run(t, "qpdf", "--check", path)
		}
		out, err := exec.Command("pdftotext", path, "-").Output()
		require.NoError(t, err, name)
		assert.NotContains(t, string(out), "□", name)
	}
}
