package look

import (
	"bytes"
	"context"
	"image"
	"image/png"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
	"kitwright/kit"
	"kitwright/photo"
)

// The guide shows what the canvas cuts off, and draws each mark where it is
// told to be.
func TestGuide(t *testing.T) {
	checker.Slow(t)
	o := kit.DefaultOrder()
	require.NoError(t, o.Grid.Set("40x40"))
	require.NoError(t, o.Subject.Set("E3-P19"))
	o.Focus = []kit.Focus{{Box: kit.Box{X: 40, Y: 30, W: 10, H: 10}, Weight: 3}}
	src, err := kit.Open(context.Background(), bytes.NewReader(photo.Demo()), photo.DemoName)
	require.NoError(t, err)
	p, err := src.Lay(context.Background(), o.Canvas, o.Light)
	require.NoError(t, err)
	var b, plain bytes.Buffer
	require.NoError(t, Guide(&b, p, o.Choice, o.Subject))
	img, err := png.Decode(&b)
	require.NoError(t, err)
	w, h := img.Bounds().Dx()-120, img.Bounds().Dy()-180
	assert.Equal(t, guideLong, max(w, h))
	assert.InDelta(t, float64(p.Photo.Width)/float64(p.Photo.Height), float64(w)/float64(h), 0.01)
	at := func(img image.Image, x, y float64) [3]int { // of percent
		r, g, b, _ := img.At(60+int(x*float64(w)/100), 60+int(y*float64(h)/100)).RGBA()
		return [3]int{int(r >> 8), int(g >> 8), int(b >> 8)}
	}
	yellow, blue := [3]int{255, 210, 0}, [3]int{0, 160, 255}
	for _, p := range [][2]float64{{50, 10}, {20, 52.5}, {80, 52.5}, {50, 95}} { // the ellipse touches its box in the middle of each side
		assert.Equal(t, yellow, at(img, p[0], p[1]), p)
	}
	for _, p := range [][2]float64{{45, 30}, {40, 35}, {50, 35}, {45, 40}} {
		assert.Equal(t, blue, at(img, p[0], p[1]), p)
	}

	// The left edge of the photo is cut off by a square canvas: it is dark.
	require.NoError(t, Guide(&plain, p, kit.DefaultOrder().Choice, kit.Box{}))
	without, err := png.Decode(&plain)
	require.NoError(t, err)
	whole := p.Photo.Sample(p.Photo.Whole(), w, h)
	rgb, _ := whole.At(w/100, h/2+7).SRGB()
	assert.Less(t, at(without, 1, 50.6)[0], int(rgb[0])*2/3)
	assert.Greater(t, green(without), 0, "the outline is drawn")
	again := bytes.Buffer{}
	require.NoError(t, Guide(&again, p, o.Choice, o.Subject))
	second, err := png.Decode(&again)
	require.NoError(t, err)
	assert.Equal(t, img, second)
}

func green(img image.Image) (n int) {
	for y := range img.Bounds().Dy() {
		for x := range img.Bounds().Dx() {
			if r, g, b, _ := img.At(x, y).RGBA(); r>>8 == 0 && g>>8 == 190 && b>>8 == 90 {
				n++
			}
		}
	}
	return n
}
