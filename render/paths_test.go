package render

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"kitwright/internal/checker"
	"kitwright/kit"
)

// Drawn as paths, letters and symbols look as the fonts do, in poppler and in
// mupdf: no pixel is lighter or darker by half the scale than all that lies
// within one pixel of it in the other picture, save a handful, and hardly one by
// a quarter. That much the renderers' smoothing of text and of paths differs. No
// font is left in the file.
func TestPathsLookLikeFonts(t *testing.T) {
	checker.Slow(t)
	for _, x := range []struct {
		shape kit.Shape
		print func(*testing.T) Print
		look  CellLook
	}{
		{kit.Square, func(*testing.T) Print { return DefaultPrint() }, LookColor}, // white symbols among them
		{kit.Round, func(t *testing.T) Print { return shopPrint(t, true) }, LookTint},
	} {
		p := x.print(t)
		p.Look = x.look
		k := testKit(t, 30, 20, 30, x.shape)
		fonts := written(t, k, p)
		p.Shop.Outlined = true
		paths := written(t, k, p)
		assert.Len(t, fontsIn(t, paths), 0)
		assert.Len(t, fontsIn(t, fonts), 3, "the check sees fonts")
		for _, renderer := range []string{"pdftoppm", "mutool"} {
			a, b := rendered(t, renderer, fonts, 1, 150, true), rendered(t, renderer, paths, 1, 150, true)
			assert.Less(t, beyond(a, b, 128)+beyond(b, a, 128), 10, renderer)
			assert.Less(t, beyond(a, b, 64)+beyond(b, a, 64), a.w*a.h/10_000, renderer)
		}
	}
}

// fontsIn returns the lines in which pdffonts names a font.
func fontsIn(t *testing.T, path string) []string {
	t.Helper()
	out := run(t, "pdffonts", path)
	var fonts []string
	for i, line := range strings.Split(strings.TrimSpace(out), "\n") {
		if i >= 2 {
			fonts = append(fonts, line)
		}
	}
	return fonts
}

// beyond counts the pixels of a that lie outside what b has within one pixel
// around by more than least.
func beyond(a, b *raster, least int) (n int) {
	if a.w != b.w || a.h != b.h {
		return a.w * a.h
	}
	for y := 1; y < a.h-1; y++ {
		for x := 1; x < a.w-1; x++ {
			for i := range 3 {
				v := int(a.pix[3*(y*a.w+x)+i])
				if d := v - int(b.pix[3*(y*a.w+x)+i]); d <= least && d >= -least {
					continue
				}
				lo, hi := 255, 0
				for dy := -1; dy <= 1; dy++ {
					for dx := -1; dx <= 1; dx++ {
						u := int(b.pix[3*((y+dy)*a.w+x+dx)+i])
						lo, hi = min(lo, u), max(hi, u)
					}
				}
				if v < lo-least || v > hi+least {
					n++
					break
				}
			}
		}
	}
	return n
}
