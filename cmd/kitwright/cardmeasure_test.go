package main

import (
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf16"

	"github.com/disintegration/imaging"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
	"kitwright/lab"
	"kitwright/palettes"
	"kitwright/palettes/gauge"
)

// seaside is the demo's card: an invented supplier's table.
const seaside = "testdata/seaside-drills.csv"

func seasideCard(t *testing.T) (*palettes.Card, string) {
	t.Helper()
	path, err := filepath.Abs(filepath.Join("..", "..", filepath.FromSlash(seaside)))
	require.NoError(t, err)
	name := path
	card, err := cardPlaces{}.open(env{}, &name)
	require.NoError(t, err)
	return card, path
}

// A measuring sheet printed (as another program, poppler, sees it), filled
// with drills that lie a little askew, photographed by uneven light onto a
// table: measured, it leads to a chart in its codes.
func TestMeasuredSheetLeadsToAChart(t *testing.T) {
	checker.Slow(t)
	checker.Need(t, "pdftoppm")
	card, _ := seasideCard(t)
	into(t, nil)
	var codes []string
	for i := 0; len(codes) < 40; i += 5 {
		codes = append(codes, card.Drills[i].Address())
	}
	require.NoError(t, os.WriteFile("owned.txt", []byte(strings.Join(codes, "\n")), 0o644))
	code, out, errs := kitwright(t, "card", "frame", "--file", "owned.txt", "--paper", "a4", "-o", "frame.pdf")
	require.Equal(t, 0, code, errs)
	assert.Contains(t, out, "frame.pdf  1 page for 40 codes; about 20 minutes")
	require.NoError(t, exec.Command("pdftoppm", "-r", "150", "-png", "-singlefile", "frame.pdf", "frame").Run())
	shot := photographed(t, "frame.png", card, codes)
	f, err := os.Create("shot.jpg")
	require.NoError(t, err)
	require.NoError(t, jpeg.Encode(f, shot, &jpeg.Options{Quality: 92}))
	require.NoError(t, f.Close())

	code, out, errs = kitwright(t, "card", "measure", "--frame", "--file", "owned.txt", "shot.jpg", "--paper-color", "100,0,0", "-o", "mine.csv") // the page is white as it was painted
	require.Equal(t, 0, code, errs)
	assert.Contains(t, out, "mine.csv  40 colors\nmine.seen.png  what was read")
	assert.Contains(t, out, fmt.Sprintf("shot.jpg: read as %s at the upper left and %s at the lower right; see that they lie there.", codes[0], codes[39]))
	assert.Contains(t, out, "No target was in the picture: expect 1.5 to 2.5 off in daylight or scanned")
	name := "mine.csv"
	mine, err := cardPlaces{}.open(env{}, &name)
	require.NoError(t, err)
	sum := 0.0
	for _, d := range mine.Drills {
		i, ok := card.Index(d.Address())
		require.True(t, ok, d.Address())
		sum += lab.DeltaE(d.Lab, card.Drills[i].Lab) / float64(len(mine.Drills))
	}
	t.Logf("mean %.2f\n%s", sum, out)
	assert.Less(t, sum, 2.0)
	first, err := os.ReadFile("mine.csv")
	require.NoError(t, err)
	code, _, errs = kitwright(t, "card", "measure", "--frame", "--file", "owned.txt", "shot.jpg", "--paper-color", "100,0,0", "-o", "again.csv")
	require.Equal(t, 0, code, errs)
	again, err := os.ReadFile("again.csv")
	require.NoError(t, err)
	assert.Equal(t, string(first), string(again))

	code, _, errs = kitwright(t, "chart", "--demo", "--quiet", "--grid", "24x18", "--colors", "8", "--card", "mine.csv", "-o", "kit")
	require.Equal(t, 0, code, errs)
	assert.Empty(t, errs, "a card of ours is read without a guess")
	list, err := os.ReadFile("kit/kit.csv")
	require.NoError(t, err)
	assert.Equal(t, 10, strings.Count(string(list), "\n"), "heads, colors and sums")
	assert.Contains(t, string(list), ",SR-")

	if dir := os.Getenv("KITWRIGHT_SAMPLES"); dir != "" && dir != "none" {
		seen, err := os.ReadFile("mine.seen.png")
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(filepath.Join(dir, "card-seen.png"), seen, 0o644))
	}

	// what is refused leaves nothing behind
	code, _, errs = kitwright(t, "card", "measure", "--frame", "--codes", "SR-001,SR-002", "shot.jpg", "-o", "no.csv")
	assert.Equal(t, 1, code)
	assert.Contains(t, errs, "shot.jpg: the picture shows sheet 1 of 1 of a measuring sheet for other codes")
	assert.NoFileExists(t, "no.csv")
	assert.NoFileExists(t, "no.seen.png")
}

// photographed lays drills on a printed sheet, three by three in each cell, and
// lights them unevenly on a table.
func photographed(t *testing.T, sheet string, card *palettes.Card, codes []string) *image.NRGBA {
	t.Helper()
	f, err := os.Open(sheet)
	require.NoError(t, err)
	defer f.Close()
	page, err := png.Decode(f)
	require.NoError(t, err)
	img := imaging.Clone(page)
	rng := rand.New(rand.NewPCG(5, 5))
	const mm = 150 / 25.4
	w, h := float64(img.Bounds().Dx())/mm, float64(img.Bounds().Dy())/mm
	for i, address := range codes {
		j, ok := card.Index(address)
		require.True(t, ok)
		c := card.Drills[j].RGB
		// where card frame draws its cells: 5 across, 8 down, 9 mm each
		x0 := 20 + (w-40)/5*float64(i%5) + ((w-40)/5-9)/2 + 0.3*rng.NormFloat64()*0.5
		y0 := 56 + (h-92)/8*float64(i/5) + 0.3*rng.NormFloat64()*0.5
		for k := range 9 {
			dx, dy := x0+0.3+2.8*float64(k%3)+0.06*rng.NormFloat64(), y0+0.3+2.8*float64(k/3)+0.06*rng.NormFloat64()
			for py := int(dy * mm); py < int((dy+2.7)*mm); py++ {
				for px := int(dx * mm); px < int((dx+2.7)*mm); px++ {
					x, y := (float64(px)/mm-dx)/2.7, (float64(py)/mm-dy)/2.7
					shade := 1.0
					switch {
					case x < 0.18:
						shade = 0.8
					case y < 0.18:
						shade = 1.12
					case x > 0.82 || y > 0.82:
						shade = 0.75
					}
					img.SetNRGBA(px, py, color.NRGBA{dimmed(c[0], shade), dimmed(c[1], shade), dimmed(c[2], shade), 255})
				}
			}
		}
	}
	out := imaging.New(img.Bounds().Dx()+200, img.Bounds().Dy()+200, color.NRGBA{150, 110, 70, 255})
	out = imaging.Paste(out, img, image.Pt(90, 110))
	out = imaging.Rotate(out, 3, color.NRGBA{150, 110, 70, 255})
	for y := range out.Bounds().Dy() {
		for x := range out.Bounds().Dx() {
			c := out.NRGBAAt(x, y)
			light := 0.8 - 0.25*float64(x)/float64(out.Bounds().Dx()) + 0.1*float64(y)/float64(out.Bounds().Dy())
			n := rng.NormFloat64()
			out.SetNRGBA(x, y, color.NRGBA{noisy(dimmed(c.R, light*1.02), n), noisy(dimmed(c.G, light), n), noisy(dimmed(c.B, light*0.97), n), 255})
		}
	}
	return out
}

// dimmed is an encoded value in so much light.
func dimmed(v uint8, light float64) uint8 {
	l := float64(lab.Linear[v]) / lab.LinearOne * light
	e := 12.92 * l
	if l > 0.0031308 {
		e = 1.055*math.Pow(l, 1/2.4) - 0.055
	}
	return uint8(math.Round(255 * min(1, e)))
}

func noisy(v uint8, n float64) uint8 { return uint8(min(255, max(0, float64(v)+n))) }

func TestMeasureRefuses(t *testing.T) {
	into(t, map[string]string{"codes.csv": "A,B\nC,D\n", "twice.csv": "A,A\n", "empty.csv": "", "open.csv": "\"A,B\n"})
	gray := imaging.New(400, 300, color.NRGBA{200, 200, 200, 255})
	require.NoError(t, imaging.Save(gray, "gray.png"))
	good := "10,10,390,10,390,290,10,290"
	for _, c := range []struct {
		args []string
		code int
		says string
	}{
		{[]string{}, 2, "no photo was named"},
		{[]string{"gray.png"}, 2, "it has to be said what the photo shows"},
		{[]string{"gray.png", "--layout", "codes.csv"}, 2, "--corners are needed"},
		{[]string{"gray.png", "--layout", "codes.csv", "--corners", "1,2,3"}, 2, "it takes 8 numbers"},
		{[]string{"gray.png", "--layout", "codes.csv", "--corners", "10,10,390,10,390,290,10,NaN"}, 2, "not a number of pixels"},
		{[]string{"gray.png", "--layout", "codes.csv", "--corners", "10,10,1000,10,390,290,10,290"}, 2, "lies outside the picture"},
		{[]string{"gray.png", "--layout", "codes.csv", "--corners", "390,10,10,10,390,290,10,290"}, 2, "do not go around clockwise"},
		{[]string{"gray.png", "--layout", "codes.csv", "--corners", good}, 1, "white"},
		{[]string{"gray.png", "--layout", "twice.csv", "--corners", good}, 1, "names A twice"},
		{[]string{"gray.png", "--layout", "empty.csv", "--corners", good}, 1, "the layout holds no codes"},
		{[]string{"gray.png", "--layout", "open.csv", "--corners", good}, 1, "cannot be read"},
		{[]string{"gray.png", "--layout", "gone.csv", "--corners", good}, 1, "gone.csv"},
		{[]string{"gray.png", "--layout", "codes.csv", "--corners", good, "--target", "1999"}, 2, "--target takes 2005 or 2014"},
		{[]string{"gray.png", "--layout", "codes.csv", "--corners", good, "--target", "2005"}, 2, "--target-corners are needed"},
		{[]string{"gray.png", "--layout", "codes.csv", "--corners", good, "--fill", "1.5"}, 2, "--fill takes"},
		{[]string{"gray.png", "--layout", "codes.csv", "--corners", good, "--paper-color", "20,0,0"}, 2, "--paper-color takes"},
		{[]string{"gray.png", "--frame", "--codes", "A,B"}, 1, "no measuring sheet was found"},
		{[]string{"gray.png", "--frame"}, 2, "no codes were named"},
		{[]string{"codes.csv", "--frame", "--codes", "A"}, 1, "codes.csv"},
	} {
		code, _, errs := kitwright(t, append([]string{"card", "measure"}, c.args...)...)
		assert.Equal(t, c.code, code, "%v: %s", c.args, errs)
		assert.Contains(t, errs, c.says, fmt.Sprint(c.args))
	}
}

// A picture that is in the way is said before anything is measured or written.
func TestMeasureOverwritesNoPicture(t *testing.T) {
	into(t, map[string]string{"mine.seen-2.png": "hers"})
	gray := imaging.New(400, 300, color.NRGBA{200, 200, 200, 255})
	require.NoError(t, imaging.Save(gray, "gray.png"))
	code, _, errs := kitwright(t, "card", "measure", "--frame", "--codes", "A,B", "gray.png", "gray.png", "-o", "mine.csv")
	assert.Equal(t, 1, code)
	assert.Contains(t, errs, "mine.seen-2.png exists already")
	assert.NoFileExists(t, "mine.seen.png")
}

// The demo's card is what it says: 200 colors, 194 codes, six of them AB too.
func TestSeasideCard(t *testing.T) {
	card, path := seasideCard(t)
	assert.Len(t, card.Drills, 200)
	ab := 0
	for i, d := range card.Drills {
		assert.Regexp(t, `^SR-\d{3}$`, d.Code)
		if d.Finish == "AB" {
			ab++
			assert.Equal(t, d.Code, card.Drills[i-1].Code)
		}
	}
	assert.Equal(t, 6, ab)
	assert.Contains(t, card.Source, "invented")
	into(t, nil)
	code, out, errs := kitwright(t, "card", "show", path, "--pdf", "swatches.pdf", "--paper", "a4")
	assert.Equal(t, 0, code, errs)
	assert.Equal(t, "swatches.pdf  200 colors\n", out)
	if _, err := exec.LookPath("pdftotext"); err == nil {
		text, err := exec.Command("pdftotext", "swatches.pdf", "-").Output()
		require.NoError(t, err)
		for _, d := range card.Drills {
			assert.Contains(t, string(text), d.Code)
		}
	}
}

// Lists of codes and layouts come as spreadsheets and editors save them.
func TestCodesInAnyEncoding(t *testing.T) {
	wide := func(text string) string {
		out := "\xff\xfe"
		for _, c := range utf16.Encode([]rune(text)) {
			out += string([]byte{byte(c), byte(c >> 8)})
		}
		return out
	}
	into(t, map[string]string{"owned.txt": wide("SR-001\r\nSR-Möwe\r\n"), "strip.csv": wide("A\tB\r\nC\tDüne\r\n"), "old.txt": "SR-M\xf6we\r\n"})
	codes, err := readCodes("owned.txt")
	require.NoError(t, err)
	assert.Equal(t, []string{"SR-001", "SR-Möwe"}, codes)
	codes, err = readCodes("old.txt")
	require.NoError(t, err)
	assert.Equal(t, []string{"SR-Möwe"}, codes)
	rows, err := readLayout("strip.csv")
	require.NoError(t, err)
	assert.Equal(t, [][]string{{"A", "B"}, {"C", "Düne"}}, rows)
}

// Corners, lists of codes and layouts are read or refused with a sentence;
// what is read is written back the same.
func FuzzWhatIsTyped(f *testing.F) {
	f.Add("1,2,3,4,5,6,7,8;1,2,3,4,5,6,7,8")
	f.Add("code\nSR-001\n\"A,1\"\n")
	f.Add("A,,B/AB\nC;D\n")
	f.Fuzz(func(t *testing.T, text string) {
		var p, back pointList
		if p.Set(text) == nil {
			require.NoError(t, back.Set(p.String()))
			require.Equal(t, p, back)
		}
		var codes, again []string
		if (codeList{&codes}).Set(text) == nil {
			require.NoError(t, codeList{&again}.Set(codeList{&codes}.String()))
			require.Equal(t, codes, again)
		}
		if list, err := gauge.ParseCodes("owned.txt", text); err == nil {
			for _, c := range list {
				require.NotEmpty(t, c)
			}
		}
		if rows, err := gauge.ParseLayout("codes.csv", text); err == nil && len(rows) < 50 {
			if sheet, err := gauge.Grid(rows, gauge.Fill); err == nil {
				require.NotEmpty(t, sheet.Patches)
			}
		}
	})
}
