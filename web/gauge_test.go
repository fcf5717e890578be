package web

import (
	"bytes"
	"context"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/lab"
	"kitwright/palettes/gauge"
	"kitwright/photo"
)

// paintedCard is a supplier's card as a scanner sees it: 6 by 4 invented
// colors on white. It returns the file, the codes as they lie, the outer
// corners of the colors, and the colors.
func paintedCard(t *testing.T) (file []byte, codes string, corners [4]gauge.Point, colors map[string]color.NRGBA) {
	const pitch, left, top = 100, 130, 90
	wide := int(gauge.Fill * pitch)
	img := image.NewNRGBA(image.Rect(0, 0, 860, 580))
	draw.Draw(img, img.Bounds(), image.NewUniform(color.NRGBA{236, 240, 243, 255}), image.Point{}, draw.Src)
	colors = map[string]color.NRGBA{}
	var b strings.Builder
	for r := range 4 {
		for c := range 6 {
			code := fmt.Sprintf("SR-%02d", 6*r+c)
			v := color.NRGBA{uint8(60 + 30*c), uint8(60 + 40*r), uint8(200 - 20*c), 255}
			colors[code] = v
			draw.Draw(img, image.Rect(left+pitch*c, top+pitch*r, left+pitch*c+wide, top+pitch*r+wide), image.NewUniform(v), image.Point{}, draw.Src)
			b.WriteString(code + map[bool]string{true: "\n", false: ","}[c == 5])
		}
	}
	right, bottom := float64(left+5*pitch+wide), float64(top+3*pitch+wide)
	var out bytes.Buffer
	require.NoError(t, png.Encode(&out, img))
	return out.Bytes(), b.String(), [4]gauge.Point{{X: left, Y: top}, {X: right, Y: top}, {X: right, Y: bottom}, {X: left, Y: bottom}}, colors
}

// A card is measured through the page's requests as the command measures it,
// and kept; what cannot be is said.
func TestACardIsMeasured(t *testing.T) {
	o := openTable(t, Config{Home: t.TempDir()})
	file, codes, corners, colors := paintedCard(t)
	var in struct {
		Picture       string
		Width, Height int
	}
	o.want("POST", "/api/gauge?name=card.png", file, &in)
	assert.Equal(t, []int{860, 580}, []int{in.Width, in.Height})
	var got struct {
		Colors []struct{ Address, Hex, Sure, Why string }
		First  string
		Last   string
	}
	o.want("POST", "/api/gauge/"+in.Picture, map[string]any{"codes": codes, "corners": corners}, &got)
	require.Len(t, got.Colors, 24)
	assert.Equal(t, "SR-00", got.First)
	assert.Equal(t, "SR-23", got.Last)
	for _, c := range got.Colors {
		want := colors[c.Address]
		rgb, ok := lab.ParseHex(c.Hex)
		require.True(t, ok, c.Hex)
		// The white of the paper is the measure, so all colors shift a little with it.
		assert.Less(t, lab.DeltaE(lab.FromSRGB([3]uint8{want.R, want.G, want.B}), lab.FromSRGB(rgb)), 2.5, c.Address)
	}
	is, err := shown(false, codes)
	require.NoError(t, err)
	p, err := photo.Read(context.Background(), bytes.NewReader(file), photo.Limits{}) // as the command reads it
	require.NoError(t, err)
	img, _ := p.Upto(gauge.LongSide)
	r, _, err := is.Read(img, &corners, gauge.Options{})
	require.NoError(t, err)
	want := gauge.Combine("", []*gauge.Reading{r}).Card
	o.want("POST", "/api/gauge/"+in.Picture+"/keep", map[string]string{"name": "hers"}, nil)
	kept, err := o.shelf.Open("hers")
	require.NoError(t, err)
	assert.Equal(t, want.Drills, kept.Drills)

	for name, c := range map[string]struct {
		path string
		ask  any
		want string
	}{
		"another card of that name": {"/keep", map[string]string{"name": "Hers"}, "choose another name"},
		"a name that cannot be":     {"/keep", map[string]string{"name": "../x"}, "cannot be a card"},
		"no codes":                  {"", map[string]any{"codes": "", "corners": corners}, "holds no codes"},
		"corners outside":           {"", map[string]any{"codes": codes, "corners": [4]gauge.Point{{X: -9}, {X: 900}, {X: 9, Y: 9}, {}}}, "outside the picture"},
		"no sheet in the picture":   {"", map[string]any{"codes": codes, "sheet": true}, "no measuring sheet"},
		"another picture by now":    {"x", map[string]any{"codes": codes}, "no longer in hand"},
	} {
		code, body := o.ask("POST", "/api/gauge/"+in.Picture+c.path, c.ask)
		assert.GreaterOrEqual(t, code, 400, name)
		assert.Contains(t, strings.ToLower(string(body)), c.want, name)
		assert.NotContains(t, string(body), "--", name)
	}
	code, body := o.ask("GET", "/api/gauge/sheets.pdf?codes="+url.QueryEscape("SR-01\nSR-02"), nil)
	assert.Equal(t, 200, code)
	assert.True(t, bytes.HasPrefix(body, []byte("%PDF")))
}

// By mouse and keys: the corners are dragged, one is moved by arrows, the
// colors and their certainty are seen, and the card is kept.
func TestACardIsMeasuredByHand(t *testing.T) {
	inBrowser(t)
	o := openTable(t, Config{Home: t.TempDir()})
	id := o.made("40x30", "8")
	file, codes, corners, colors := paintedCard(t)
	path := filepath.Join(t.TempDir(), "card.png")
	require.NoError(t, os.WriteFile(path, file, 0o644))
	b := browse(t, o, desktop)
	b.open("/kit/" + id + "/drills")
	b.until(`document.getElementById("gaugefile")`)
	b.do(chromedp.SetUploadFiles(chromedp.CSS("#gaugefile"), []string{path}))
	b.until(`document.querySelector("#gaugephoto img")?.naturalWidth > 0`)
	b.do(chromedp.ScrollIntoView(chromedp.CSS("#gaugephoto")))
	for i, c := range corners {
		at := eval[[]float64](b, fmt.Sprintf(`(() => { const r = document.getElementById("corner%d").getBoundingClientRect(), p = document.querySelector("#gaugephoto img").getBoundingClientRect(); return [r.left + r.width / 2, r.top + r.height / 2, p.left + %g * p.width / 860, p.top + %g * p.height / 580] })()`, i, c.X, c.Y))
		b.do(chromedp.DragAndDropXY(at[0], at[1], at[2], at[3], 4))
	}
	b.shot("gauge-drag")
	b.do(chromedp.Focus(chromedp.CSS("#corner0")))
	before := eval[string](b, `document.getElementById("corner0").getAttribute("aria-label")`)
	b.key(kb.ArrowRight)
	assert.NotEqual(t, before, eval[string](b, `document.getElementById("corner0").getAttribute("aria-label")`), "a corner is spoken")
	b.key(kb.ArrowLeft)
	b.do(chromedp.SetValue(chromedp.CSS("#gaugecodes"), codes))
	b.click("#gaugego")
	b.until(`document.querySelectorAll(".measured li").length === ` + js(len(colors)))
	assert.Equal(t, len(colors), eval[int](b, `[...document.querySelectorAll(".measured .quiet")].filter(e => e.textContent.startsWith("good")).length`), "flat colors are sure")
	if os.Getenv("KITWRIGHT_AXE") != "" && os.Getenv("KITWRIGHT_AXE") != "none" {
		b.axe("drills, a card measured")
	}
	b.shot("gauge")
	b.click("#gaugekeep")
	b.until(`document.querySelector("#gaugekept .toast")`)
	kept, err := o.shelf.Open("card")
	require.NoError(t, err)
	for _, d := range kept.Drills {
		want := colors[d.Code]
		assert.Less(t, lab.DeltaE(lab.FromSRGB([3]uint8{want.R, want.G, want.B}), d.Lab), 2.5, d.Code)
	}
	b.clean()
}
