package quantize

import (
	"context"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
	"kitwright/lab"
	"kitwright/palettes"
	"kitwright/photo"
)

// The open photos that come with scikit-image: chelsea (a cat, CC0), astronaut
// and rocket (NASA, public domain), coffee (CC0).
var photoNames = []string{"chelsea.png", "astronaut.png", "coffee.png", "rocket.jpg"}

// loadPhoto samples the middle of a photo in the folder named by
// KITWRIGHT_PHOTOS, or skips.
func loadPhoto(t testing.TB, name string, cols, rows int) *lab.Grid {
	t.Helper()
	f, err := os.Open(filepath.Join(checker.Folder(t, "KITWRIGHT_PHOTOS"), name))
	require.NoError(t, err)
	defer f.Close()
	p, err := photo.Read(context.Background(), f, photo.Limits{})
	require.NoError(t, err)
	return p.Sample(middle(p, cols, rows), cols, rows)
}

// middle is the largest crop of the shape of the grid.
func middle(p *photo.Photo, cols, rows int) photo.Crop {
	c := p.Whole()
	if w := c.H * float64(cols) / float64(rows); w < c.W {
		c.X, c.W = (c.W-w)/2, w
	} else {
		h := c.W * float64(rows) / float64(cols)
		c.Y, c.H = (c.H-h)/2, h
	}
	return c
}

// munsell returns the colors of the built-in card.
func munsell(t testing.TB) []lab.Color {
	t.Helper()
	card, err := palettes.Named("munsell")
	require.NoError(t, err)
	colors := make([]lab.Color, len(card.Drills))
	for j, d := range card.Drills {
		colors[j] = d.Lab
	}
	return colors
}
