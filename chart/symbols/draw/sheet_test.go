package draw

import (
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"os"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/image/font"
	"golang.org/x/image/font/basicfont"
	"golang.org/x/image/math/fixed"

	"kitwright/chart/symbols"
)

// specimen draws symbols with their names: large, as on paper at 300 dpi,
// and blurred as a tired eye gets them.
func specimen(list []symbols.Symbol) image.Image {
	const columns, w, h, large, small = 10, 150, 152, 110, 30
	img := image.NewGray(image.Rect(0, 0, columns*w, (len(list)+columns-1)/columns*h))
	draw.Draw(img, img.Bounds(), image.White, image.Point{}, draw.Src)
	for i, s := range list {
		x, y := i%columns*w, i/columns*h
		stamp(img, x+2, y+2, large, s.Coverage(large, symbols.Box))
		stamp(img, x+large+4, y+10, small, s.Coverage(small, symbols.Box))
		stamp(img, x+large+4, y+50, small, s.Coverage(small, symbols.LargeBox))
		d := font.Drawer{Dst: img, Src: image.Black, Face: basicfont.Face7x13, Dot: fixed.P(x+4, y+h-22)}
		d.DrawString(s.Name)
	}
	return img
}

func stamp(img *image.Gray, x, y, px int, ink []uint8) {
	for k := range px {
		img.SetGray(x+k, y, color.Gray{Y: 200})
		img.SetGray(x+k, y+px-1, color.Gray{Y: 200})
		img.SetGray(x, y+k, color.Gray{Y: 200})
		img.SetGray(x+px-1, y+k, color.Gray{Y: 200})
	}
	for k, c := range ink {
		if c > 0 {
			img.SetGray(x+k%px, y+k/px, color.Gray{Y: 255 - c})
		}
	}
}

// TestSpecimen writes PNG files to look at, to the folder that
// KITWRIGHT_SPECIMEN names: the symbols in use, and the whole pool.
func TestSpecimen(t *testing.T) {
	dir := os.Getenv("KITWRIGHT_SPECIMEN")
	if dir == "" {
		t.Skip("KITWRIGHT_SPECIMEN names no folder to write to")
	}
	var pool []symbols.Symbol
	for _, s := range Pool() {
		pool = append(pool, symbols.Symbol{Name: s.Name, Paths: s.Paths})
	}
	for name, list := range map[string][]symbols.Symbol{"symbols": symbols.First(symbols.Max), "pool": pool} {
		f, err := os.Create(dir + "/" + name + ".png")
		require.NoError(t, err)
		require.NoError(t, png.Encode(f, specimen(list)))
		require.NoError(t, f.Close())
	}
}
