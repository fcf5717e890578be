package render

import (
	"bytes"
	"encoding/json"
	"fmt"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
	"kitwright/kit"
	"kitwright/lab"
)

// shopPrint is a print for a shop's machine: Ghostscript's profile of four inks.
func shopPrint(t *testing.T, convert bool) Print {
	t.Helper()
	path := "/usr/share/color/icc/ghostscript/default_cmyk.icc"
	data, err := os.ReadFile(path)
	if err != nil {
		checker.Missing(t, "Debian's libgs-common")
	}
	p := DefaultPrint()
	p.Shop.Standard, p.Shop.Convert = PDFX, convert
	require.NoError(t, p.Shop.Profile.Set(path))
	require.NoError(t, p.Shop.Profile.Load(data))
	require.NoError(t, p.Check(nil))
	return p
}

// written writes a print into a file.
func written(t *testing.T, k *kit.Kit, p Print) string {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, Canvas(&b, k, p))
	path := filepath.Join(t.TempDir(), "canvas.pdf")
	require.NoError(t, os.WriteFile(path, b.Bytes(), 0o666))
	return path
}

// What PDF/X-4 asks (ISO 15930-7:2010; from memory, the text was not at hand),
// read off by qpdf.
func TestX4(t *testing.T) {
	checker.Need(t, "qpdf")
	for _, x := range [][2]bool{{false, false}, {true, false}, {true, true}} {
		convert, outlined := x[0], x[1]
		for _, write := range []func(*testing.T, *kit.Kit, Print) string{written, func(t *testing.T, k *kit.Kit, p Print) string {
			path := filepath.Join(t.TempDir(), "test.pdf")
			f, err := os.Create(path)
			require.NoError(t, err)
			require.NoError(t, TestPrint(f, k, p))
			require.NoError(t, f.Close())
			return path
		}} {
			p := shopPrint(t, convert)
			p.Shop.Outlined = outlined
			path := write(t, testKit(t, 40, 30, 12, kit.Square), p)
			out, err := exec.Command("qpdf", "--check", path).CombinedOutput()
			require.NoError(t, err, "%s", out)
			data, err := os.ReadFile(path)
			require.NoError(t, err)
			assert.Equal(t, "%PDF-1.6\n%", string(data[:10]))
			out, err = exec.Command("qpdf", "--json=2", "--json-stream-data=none", path).Output()
			require.NoError(t, err)
			var j struct{ QPDF []json.RawMessage }
			require.NoError(t, json.Unmarshal(out, &j))
			text := string(j.QPDF[1])
			for _, key := range []string{`/Encrypt`, `/AA`, `/OpenAction`, `/AcroForm`, `/Annots`, `/Group`, `/ArtBox`, `/LZWDecode`, `/GTS_PDFA1`, `/Outlines`} {
				assert.False(t, strings.Contains(text, `"`+key+`"`), key)
			}
			for _, key := range []string{`/ID`, `"/Trapped": "/False"`, `"/S": "/GTS_PDFX"`, `/OutputConditionIdentifier`, `/DestOutputProfile`, `/TrimBox`, `/BleedBox`} {
				assert.True(t, strings.Contains(text, key), key)
			}
			assert.Equal(t, 1, strings.Count(text, `"/S": "/GTS_PDFX"`))
			assert.False(t, regexp.MustCompile(`"/(ca|CA)":`).MatchString(text), "nothing is seen through")
			fonts := strings.Count(text, `"/Type": "/FontDescriptor"`)
			assert.Equal(t, outlined, fonts == 0)
			assert.Equal(t, fonts, strings.Count(text, "/FontFile2"), "every font is embedded")
			assert.Equal(t, outlined, !strings.Contains(text, "/Font"), "paths leave no word of fonts")
			assert.Equal(t, !convert, strings.Contains(text, "/DefaultRGB"))
			xmp := string(data[bytes.Index(data, []byte("<?xpacket")):])
			for _, key := range []string{"<pdfxid:GTS_PDFXVersion>PDF/X-4<", "<pdf:Trapped>False<", "<xmpMM:DocumentID>uuid:", "<xmpMM:VersionID>", "<xmpMM:RenditionClass>", "<xmp:MetadataDate>", "<dc:title>"} {
				assert.True(t, strings.Contains(xmp, key), key)
			}
			assert.False(t, strings.Contains(xmp, "pdfaid"))
			again, err := os.ReadFile(write(t, testKit(t, 40, 30, 12, kit.Square), p))
			require.NoError(t, err)
			assert.True(t, bytes.Equal(data, again), "the same bytes each time")
		}
	}
}

// In the separations that Ghostscript makes, black symbols and lines are black
// ink alone: cyan, magenta and yellow are the same with the symbols and
// without, so that none lies under an edge but the tint's own.
func TestBlackIsOneInk(t *testing.T) {
	checker.Need(t, "gs", "convert")
	p := shopPrint(t, true)
	p.Look = LookTint
	k := testKit(t, 40, 30, 12, kit.Square)
	plates := func(path string) map[string][]byte {
		dir := t.TempDir()
		out, err := exec.Command("gs", "-q", "-dNOPAUSE", "-dBATCH", "-dSAFER", "-sDEVICE=tiffsep", "-r150", "-o", filepath.Join(dir, "s.tif"), path).CombinedOutput()
		require.NoError(t, err, "%s", out)
		all := map[string][]byte{}
		for _, ink := range []string{"Cyan", "Magenta", "Yellow", "Black"} {
			gray, err := exec.Command("convert", filepath.Join(dir, "s("+ink+").tif"), "-depth", "8", "gray:-").Output()
			require.NoError(t, err)
			require.NotEmpty(t, gray)
			all[ink] = gray
		}
		return all
	}
	with := plates(written(t, k, p))
	// The same file without its text and symbols.
	path := written(t, k, p)
	bare := filepath.Join(t.TempDir(), "bare.pdf")
	out, err := exec.Command("qpdf", "--qdf", "--object-streams=disable", path, bare).CombinedOutput()
	require.NoError(t, err, "%s", out)
	data, err := os.ReadFile(bare)
	require.NoError(t, err)
	mute := regexp.MustCompile(`\)\s*Tj`).ReplaceAll(data, []byte(") pop"))
	require.NotEqual(t, len(data), len(mute)+1)
	mute = bytes.ReplaceAll(mute, []byte(") pop"), []byte(")Tj 3 Tr"))
	mute = bytes.ReplaceAll(mute, []byte("BT"), []byte("BT 3 Tr")) // text that paints nothing (PDF Reference, text rendering mode 3)
	require.NoError(t, os.WriteFile(bare, mute, 0o666))
	fixed := bare + ".pdf"
	_ = exec.Command("qpdf", bare, fixed).Run() // lengths have changed: qpdf mends them and warns
	without := plates(fixed)
	for _, ink := range []string{"Cyan", "Magenta", "Yellow"} {
		require.Equal(t, len(without[ink]), len(with[ink]))
		differ := 0
		for i := range with[ink] {
			if d := int(with[ink][i]) - int(without[ink][i]); d < -2 || d > 2 {
				differ++
			}
		}
		assert.Zero(t, differ, "pixels of %s that symbols changed", ink)
	}
	assert.NotEqual(t, with["Black"], without["Black"])

	p.Shop.Outlined = true // paths are in the same ink
	paths := plates(written(t, k, p))
	for _, ink := range []string{"Cyan", "Magenta", "Yellow"} {
		assert.True(t, bytes.Equal(with[ink], paths[ink]), "%s under paths", ink)
	}
	assert.NotEqual(t, paths["Black"], without["Black"])
}

// Colors in inks come out, through the profile, as Little CMS's own way there
// and back does: Ghostscript draws the file, swatches of the legend are
// compared.
func TestInksLookRight(t *testing.T) {
	checker.Need(t, "gs")
	p := shopPrint(t, true)
	k := testKit(t, 40, 30, 12, kit.Square)
	path := written(t, k, p)
	shot := filepath.Join(t.TempDir(), "shot.png")
	out, err := exec.Command("gs", "-q", "-dNOPAUSE", "-dBATCH", "-dSAFER", "-sDEVICE=png16m", "-r100", "-dRenderIntent=1", "-sDefaultCMYKProfile=/usr/share/color/icc/ghostscript/default_cmyk.icc", "-o", shot, path).CombinedOutput()
	require.NoError(t, err, "%s", out)
	f, err := os.Open(shot)
	require.NoError(t, err)
	defer f.Close()
	m, err := png.Decode(f)
	require.NoError(t, err)
	found := map[color]int{}
	for y := m.Bounds().Min.Y; y < m.Bounds().Max.Y; y++ {
		for x := m.Bounds().Min.X; x < m.Bounds().Max.X; x++ {
			r, g, b, _ := m.At(x, y).RGBA()
			found[color{uint8(r >> 8), uint8(g >> 8), uint8(b >> 8)}]++
		}
	}
	for _, e := range k.Chart.Legend {
		fill, _ := newSkin(k, p).cell(e.Drill.RGB)
		want := p.Shop.Profile.press.Seen(p.Shop.ink(fill, false))
		best := 100.0
		for c, n := range found {
			if n >= 4 {
				best = min(best, lab.DeltaE(want, lab.FromSRGB(c)))
			}
		}
		assert.Less(t, best, 2.0, e.Drill.Code)
	}
}

// The limit holds, in areas and where black stands on them, and is told.
func TestInkLimit(t *testing.T) {
	k := testKit(t, 40, 30, 12, kit.Square)
	for _, look := range []CellLook{LookTint, LookColor} {
		p := shopPrint(t, true)
		p.Look = look
		free, _ := p.Ink(k)
		p.Shop.InkLimit = 200
		require.NoError(t, p.Check(nil))
		area, under := p.Ink(k)
		assert.LessOrEqual(t, area, 200.0001)
		assert.LessOrEqual(t, under, 200.0001)
		if look == LookColor {
			assert.Greater(t, free, 200.0, "without a limit there is more")
		}
		assert.Contains(t, fmt.Sprint(p.Advice(k)), fmt.Sprintf("At most %.0f percent of ink", area))
	}
	p := shopPrint(t, true)
	p.Shop.InkLimit = 120
	assert.ErrorContains(t, p.Check(nil), "150% to 400%")
	p = shopPrint(t, false)
	p.Shop.InkLimit = 300
	assert.ErrorContains(t, p.Check(nil), "ink-limit is for colors in inks")
}

// A proof is the canvas in colors that the machine can show.
func TestProof(t *testing.T) {
	p := shopPrint(t, true)
	p.Look = LookColor
	k := testKit(t, 40, 30, 12, kit.Square)
	m, err := Proof(k, p)
	require.NoError(t, err)
	assert.Equal(t, 2400, max(m.Bounds().Dx(), m.Bounds().Dy()))
	r, _, _, _ := m.At(0, 0).RGBA()
	assert.Equal(t, uint32(0xffff), r, "bare material is white")
	for _, x := range p.OutOfReach(k, 2) {
		assert.Greater(t, x.Distance, 2.0)
	}
	all := p.OutOfReach(k, -1)
	assert.Len(t, all, len(k.Chart.Legend))
}
