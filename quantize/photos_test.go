package quantize

import (
	"image"
	_ "image/jpeg"
	_ "image/png"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
	"kitwright/lab"
)

// The open photos that come with scikit-image: chelsea (a cat, CC0), astronaut
// and rocket (NASA, public domain), coffee (CC0).
var photoNames = []string{"chelsea.png", "astronaut.png", "coffee.png", "rocket.jpg"}

// loadPhoto samples a photo in the folder named by KITWRIGHT_PHOTOS, or skips.
func loadPhoto(t testing.TB, name string, cols, rows int) *lab.Grid {
	t.Helper()
	f, err := os.Open(filepath.Join(checker.Folder(t, "KITWRIGHT_PHOTOS"), name))
	require.NoError(t, err)
	defer f.Close()
	m, _, err := image.Decode(f)
	require.NoError(t, err)
	return sample(m, cols, rows)
}

// sample crops the middle of a picture to the shape of the grid and takes the
// mean of linear light under each cell, border pixels by the share inside.
func sample(m image.Image, cols, rows int) *lab.Grid {
	b := m.Bounds()
	w, h := float64(b.Dx()), float64(b.Dy())
	if w*float64(rows) > h*float64(cols) {
		w = h * float64(cols) / float64(rows)
	} else {
		h = w * float64(rows) / float64(cols)
	}
	x0, y0 := (float64(b.Dx())-w)/2, (float64(b.Dy())-h)/2
	g := lab.NewGrid(cols, rows)
	for y := range rows {
		for x := range cols {
			top, bottom := y0+h*float64(y)/float64(rows), y0+h*float64(y+1)/float64(rows)
			left, right := x0+w*float64(x)/float64(cols), x0+w*float64(x+1)/float64(cols)
			var sum [3]float64
			area := 0.0
			for v := int(top); v < b.Dy() && float64(v) < bottom; v++ {
				for u := int(left); u < b.Dx() && float64(u) < right; u++ {
					part := (math.Min(right, float64(u+1)) - math.Max(left, float64(u))) * (math.Min(bottom, float64(v+1)) - math.Max(top, float64(v)))
					r, gr, bl, _ := m.At(b.Min.X+u, b.Min.Y+v).RGBA()
					for c, s := range [3]uint32{r, gr, bl} {
						sum[c] += part * float64(lab.Linear[s>>8]) / lab.LinearOne
					}
					area += part
				}
			}
			g.Set(x, y, lab.FromLinear(sum[0]/area, sum[1]/area, sum[2]/area))
		}
	}
	return g
}

// lattice is a made-up card: points of a lattice in L*a*b* that sRGB can show,
// closer together near gray.
func lattice() []lab.Color {
	var card []lab.Color
	for l := 4.0; l < 100; l += 8 {
		for a := -99.0; a <= 99; a += 3 {
			for b := -99.0; b <= 99; b += 3 {
				step := 9.0
				if math.Hypot(a, b) > 32 {
					step = 18
				}
				if math.Mod(a, step) != 0 || math.Mod(b, step) != 0 {
					continue
				}
				c := lab.Color{L: l, A: a, B: b}
				if _, ok := c.SRGB(); ok {
					card = append(card, c)
				}
			}
		}
	}
	return card
}
