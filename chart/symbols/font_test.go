package symbols

import (
	"bytes"
	"crypto/sha256"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/jung-kurt/gofpdf"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"

	"kitwright/internal/checker"
	"kitwright/internal/golden"
)

// The Go project's own font reader takes the font and finds every glyph with
// the advance and the box that we meant.
func TestFontIsReadBySfnt(t *testing.T) {
	for _, box := range []float64{Box, LargeBox} {
		f, err := sfnt.Parse(FontAt(box))
		require.NoError(t, err)
		assert.EqualValues(t, em, f.UnitsPerEm())
		assert.Equal(t, Max+3, f.NumGlyphs())
		var buf sfnt.Buffer
		runes := []rune{' ', Disc}
		for _, s := range table {
			runes = append(runes, s.Rune)
		}
		for _, r := range runes {
			g, err := f.GlyphIndex(&buf, r)
			require.NoError(t, err)
			require.NotZero(t, g, "%U", r)
			b, adv, err := f.GlyphBounds(&buf, g, fixed.I(em), font.HintingNone)
			require.NoError(t, err)
			assert.Equal(t, fixed.I(em), adv, "%U", r)
			if r == ' ' {
				continue
			}
			lo, hi := fixed.I(int(500-500*box-1)), fixed.I(int(500+500*box+1))
			if r == Disc {
				lo, hi = 0, fixed.I(em)
			}
			assert.True(t, b.Min.X >= lo && b.Max.X <= hi && -b.Max.Y >= lo && -b.Min.Y <= hi, "%U %v", r, b)
			_, err = f.LoadGlyph(&buf, g, fixed.I(em), nil)
			assert.NoError(t, err)
		}
	}
}

// On any machine: the hashes were made on amd64.
func TestFontIsAlwaysTheSame(t *testing.T) {
	golden.Equal(t, "font.sha256", fmt.Appendf(nil, "%x\n%x\n", sha256.Sum256(Font()), sha256.Sum256(FontAt(LargeBox))))
	assert.NotEqual(t, Font(), FontAt(LargeBox))
}

// sheet is a PDF with all symbols in rows of ten, cells of 20 mm, and a last
// row of disc, space, disc.
func sheet(t *testing.T) string {
	t.Helper()
	pdf := gofpdf.NewCustom(&gofpdf.InitType{UnitStr: "mm", Size: gofpdf.SizeType{Wd: 200, Ht: 220}})
	pdf.AddUTF8FontFromBytes("symbols", "", Font())
	pdf.SetFont("symbols", "", 20/25.4*72)
	pdf.AddPage()
	for i := 0; i < Max; i += 10 {
		row := ""
		for _, s := range table[i:min(i+10, Max)] {
			row += string(s.Rune)
		}
		pdf.Text(0, float64(i/10+1)*20, row)
	}
	pdf.Text(0, 220, string(Disc)+" "+string(Disc))
	path := filepath.Join(t.TempDir(), "sheet.pdf")
	require.NoError(t, pdf.OutputFileAndClose(path))
	return path
}

// Poppler reads each code point back exactly, in order, without extra spaces.
func TestPopplerReadsEveryCodePoint(t *testing.T) {
	checker.Need(t, "pdftotext", "pdffonts")
	path := sheet(t)
	out, err := exec.Command("pdftotext", "-raw", "-enc", "UTF-8", path, "-").Output()
	require.NoError(t, err)
	lines := strings.Split(strings.TrimRight(string(out), "\n\f"), "\n")
	require.Len(t, lines, Max/10+1)
	for i, line := range lines[:Max/10] {
		want := ""
		for _, s := range table[i*10 : i*10+10] {
			want += string(s.Rune)
		}
		assert.Equal(t, want, line)
	}
	assert.Equal(t, string(Disc)+" "+string(Disc), lines[Max/10])

	out, err = exec.Command("pdffonts", path).CombinedOutput()
	require.NoError(t, err)
	assert.Contains(t, string(out), "CID TrueType")
	assert.Contains(t, string(out), "yes no  yes")
}

// What poppler and MuPDF paint is the ink of the contours, upright and in place,
// but for the pixel to which poppler rounds the place of a glyph (a sixth of a
// millimeter here).
func TestRenderersPaintTheContours(t *testing.T) {
	checker.Need(t, "pdftoppm", "mutool")
	path := sheet(t)
	dir := filepath.Dir(path)
	for _, c := range [][]string{
		{"pdftoppm", "-r", "152.4", "-gray", "-png", "-singlefile", path, filepath.Join(dir, "poppler")}, // 120 px a cell
		{"mutool", "draw", "-q", "-r", "152.4", "-c", "gray", "-o", filepath.Join(dir, "mupdf.png"), path},
	} {
		out, err := exec.Command(c[0], c[1:]...).CombinedOutput()
		require.NoError(t, err, "%s", out)
	}
	for _, name := range []string{"poppler", "mupdf"} {
		data, err := os.ReadFile(filepath.Join(dir, name+".png"))
		require.NoError(t, err)
		img, err := png.Decode(bytes.NewReader(data))
		require.NoError(t, err)
		for i, s := range table {
			want := s.ink(cell, 4, Box)
			assert.Less(t, meanDifference(img, i%10*cell, i/10*cell, want), 4.0, "%s paints %q otherwise", name, s.Name)
		}
		round := 0
		for k := range cell * cell {
			round += 255 - int(color.GrayModel.Convert(img.At(k%cell, 10*cell+k/cell)).(color.Gray).Y)
		}
		assert.InDelta(t, DiscShare*DiscShare*math.Pi/4, float64(round)/(255*cell*cell), .01, "%s: the disc has its share of the cell", name)
	}
}

// cell is the side of a cell in the renderings, in pixels.
const cell = 120

// meanDifference compares a cell of a rendering with the ink counted in 16
// points a pixel, in levels of 255, at the best of nine places.
func meanDifference(img image.Image, x0, y0 int, want []uint16) float64 {
	best := math.Inf(1)
	for move := range 9 {
		sum := 0
		for k, w := range want {
			at := img.At(x0+k%cell+move%3-1, y0+k/cell+move/3-1)
			got := 255 - int(color.GrayModel.Convert(at).(color.Gray).Y)
			sum += abs(got - int(w)*255/16)
		}
		best = min(best, float64(sum)/float64(len(want)))
	}
	return best
}

// Fontconfig (which reads with FreeType) accepts it.
func TestFontconfigAcceptsTheFont(t *testing.T) {
	checker.Need(t, "fc-scan")
	path := filepath.Join(t.TempDir(), "symbols.ttf")
	require.NoError(t, os.WriteFile(path, Font(), 0o666))
	out, err := exec.Command("fc-scan", "-f", "%{family} %{fontformat} %{scalable} %{spacing}", path).Output()
	require.NoError(t, err)
	assert.Equal(t, "Kitwright Symbols TrueType True 100", string(out))
}
