package photo

import (
	"bytes"
	"context"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
	"kitwright/lab"
)

func linearOf(cols, rows int, color func(x, y int) [3]float64) *Linear {
	l := &Linear{Cols: cols, Rows: rows}
	for i := 0; i < cols*rows; i++ {
		l.Cells = append(l.Cells, color(i%cols, i/cols))
	}
	return l
}

func gray(l float64) [3]float64 { y := lab.Lit(l); return [3]float64{y, y, y} }

func TestFlat(t *testing.T) {
	drawing := linearOf(80, 60, func(x, y int) [3]float64 {
		if (x-40)*(x-40)+(y-30)*(y-30) < 400 {
			return [3]float64{0.8, 0.3, float64(x/20) / 10}
		}
		return [3]float64{1, 1, 1}
	})
	assert.True(t, drawing.Flat())
	cat, err := Read(context.Background(), bytes.NewReader(Demo()), Limits{})
	require.NoError(t, err)
	l := cat.Linear(Crop{}, 120, 80)
	assert.False(t, l.Flat())
	for i := range l.Cells { // the cat cut out on white
		if x, y := i%120, i/120; (x-60)*(x-60)+(y-40)*(y-40) > 900 {
			l.Cells[i] = [3]float64{1, 1, 1}
		}
	}
	assert.False(t, l.Flat())
}

func TestFlatOnPictures(t *testing.T) {
	folder := checker.Folder(t, "KITWRIGHT_PHOTOS")
	for name, want := range map[string]bool{
		"phantom.png": true, "horse.png": true,
		"chelsea.png": false, "coffee.png": false, "astronaut.png": false, "rocket.jpg": false,
		"camera.png": false, "moon.png": false, "page.png": false, "hubble_deep_field.jpg": false,
		"ihc.png": false, "motorcycle_left.png": false, "coins.png": false, "retina.jpg": false,
	} {
		p := read(t, filepath.Join(folder, name))
		l := p.Linear(Crop{}, 160, 160*p.Height/p.Width)
		assert.Equal(t, want, l.Flat(), name)
		dark := linearOf(l.Cols, l.Rows, func(x, y int) (c [3]float64) {
			for k, v := range l.Cells[y*l.Cols+x] {
				c[k] = 0.05 * v
			}
			return c
		})
		assert.Equal(t, want, dark.Flat(), "%s in the dark", name)
	}
}
