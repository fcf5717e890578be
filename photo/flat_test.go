package photo

import (
	"bytes"
	"context"
	"path/filepath"
	"slices"
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

// Drawings of flat shapes with softened edges, from few and large to many and
// small: one is a drawing as long as a good part of its cells lies inside the
// shapes.
func TestFlatSeesThroughSoftEdges(t *testing.T) {
	checker.Slow(t)
	for _, c := range []struct {
		cols  int
		parts int // shapes across
	}{{200, 3}, {200, 8}, {120, 8}, {120, 15}, {60, 8}, {120, 25}, {120, 30}, {60, 12}, {60, 15}, {60, 20}} {
		random := dice(c.parts)
		palette := [6][3]float64{{0.8, 0.3, 0.1}, {0.1, 0.25, 0.3}, {0.25, 0.27, 0.05}, {0.6, 0.6, 0.62}, {0.02, 0.02, 0.03}, {0.35, 0.1, 0.12}}
		const fine = 6
		n := c.cols * fine
		type disc struct{ x, y, r, color int }
		var discs []disc
		for range c.parts * c.parts {
			discs = append(discs, disc{random.next(n), random.next(n), n/c.parts/3 + random.next(n/c.parts), random.next(len(palette))})
		}
		at := func(x, y int) [3]float64 {
			for _, d := range slices.Backward(discs) { // the last one lies on top
				if (x-d.x)*(x-d.x)+(y-d.y)*(y-d.y) < d.r*d.r {
					return palette[d.color]
				}
			}
			return [3]float64{1, 1, 1}
		}
		l := linearOf(c.cols, c.cols, func(x, y int) (sum [3]float64) {
			for k := range fine * fine {
				for i, v := range at(x*fine+k%fine, y*fine+k/fine) {
					sum[i] += v / fine / fine
				}
			}
			return sum
		})
		assert.True(t, l.Flat(), "%d shapes across %d drills", c.parts, c.cols)
	}
}

// Photos of animals are none, whatever lies around them.
func TestFlatOnAnimals(t *testing.T) {
	files, err := filepath.Glob(filepath.Join(checker.Folder(t, "KITWRIGHT_ANIMALS"), "*.webp"))
	require.NoError(t, err)
	require.NotEmpty(t, files)
	for _, f := range files {
		p := read(t, f)
		for _, cols := range []int{80, 160} {
			assert.False(t, p.Linear(Crop{}, cols, cols*p.Height/p.Width).Flat(), "%s at %d", f, cols)
		}
	}
}
