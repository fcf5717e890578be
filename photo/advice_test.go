package photo

import (
	"bytes"
	"context"
	"fmt"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
	"kitwright/internal/plane"
	"kitwright/lab"
)

func keys(all []Advice) (k []string) {
	for _, a := range all {
		k = append(k, a.Key)
	}
	return k
}

func (l *Linear) softened(sigma float64) *Linear {
	out := &Linear{Cols: l.Cols, Rows: l.Rows, Cells: make([][3]float64, len(l.Cells))}
	for c := 0; c < 3; c++ {
		band := make([]float64, len(l.Cells))
		for i := range band {
			band[i] = l.Cells[i][c]
		}
		for i, v := range plane.Blurred(band, l.Cols, l.Rows, sigma) {
			out.Cells[i][c] = v
		}
	}
	return out
}

func TestAdvise(t *testing.T) {
	cat, err := Read(context.Background(), bytes.NewReader(Demo()), Limits{})
	require.NoError(t, err)
	good := View{PixelsPerDrill: 2.8, Picture: cat.Linear(Crop{}, 160, 106)}
	box := func(x0, y0, x1, y1 int) *Mask {
		m := &Mask{Cols: 160, Rows: 106, In: make([]bool, 160*106)}
		for i := range m.In {
			x, y := i%160, i/160
			m.In[i] = x >= x0 && x < x1 && y >= y0 && y < y1
		}
		return m
	}
	white := func(share int) *Linear {
		l := &Linear{Cols: 160, Rows: 106, Cells: append([][3]float64(nil), good.Picture.Cells...)}
		for i := range l.Cells {
			if i%100 < share {
				l.Cells[i] = [3]float64{1, 1, 0.99}
			}
		}
		return l
	}
	for _, c := range []struct {
		name   string
		change func(v *View)
		want   []Advice
	}{
		{"nothing", func(v *View) {}, nil},
		{"few pixels", func(v *View) { v.PixelsPerDrill = 0.8 }, []Advice{{"resolution",
			"the photo has only 0.8 pixels along each drill, so fine detail will look soft",
			"use the original photo rather than a copy sent by message, or crop less, or choose a canvas of 40 percent of this size"}}},
		{"blur", func(v *View) { v.Picture = v.Picture.softened(2) }, []Advice{{"blur",
			"the photo is blurred over more than one drill, so fur and whiskers will run together",
			"take a sharper photo, or choose a smaller canvas, on which it shows less"}}},
		{"burnt out", func(v *View) { v.Picture = white(8) }, []Advice{{"highlights",
			"8 percent of the picture is burnt out to pure white",
			"take a photo with less light on it; what is pure white holds no fur to paint"}}},
		{"hardly burnt out", func(v *View) { v.Picture = white(4) }, nil},
		{"a small subject", func(v *View) { v.Subject = box(60, 30, 105, 70) }, []Advice{{"subject",
			"the subject is only 45 drills long, too few for much likeness",
			"crop tighter, or choose a canvas 1.4 times as wide and high"}}},
		{"a large subject", func(v *View) { v.Subject = box(60, 30, 120, 50) }, nil},
		{"small eyes", func(v *View) { v.Focus = []Ellipse{{20, 20, 10, 10}, {40, 20, 5, 4}} }, []Advice{{"eyes",
			"an eye is only 4.2 drills across; pupil, color and glint need 6",
			"crop tighter, or choose a canvas 1.5 times as wide and high"}}},
		{"large eyes", func(v *View) { v.Focus = []Ellipse{{20, 20, 10, 10}} }, nil},
	} {
		v := good
		c.change(&v)
		assert.Equal(t, c.want, v.Advise(), c.name)
	}
	assert.Empty(t, cat.Advise(Crop{}, cat.Linear(Crop{}, 160, 106), nil, nil))
	assert.Equal(t, []string{"resolution", "eyes"},
		keys(cat.Advise(cat.Percent(10, 10, 25, 25), cat.Linear(cat.Percent(10, 10, 25, 25), 160, 106), nil, []Ellipse{{12, 12, 0.5, 5}})), "of the crop")
}

func TestAdviseSparesDrawings(t *testing.T) {
	drawing := linearOf(80, 60, func(x, y int) [3]float64 {
		if (x-40)*(x-40)+(y-30)*(y-30) < 400 {
			return [3]float64{0.8, 0.3, 0}
		}
		return [3]float64{1, 1, 1}
	})
	assert.Empty(t, View{PixelsPerDrill: 5, Picture: drawing}.Advise())
	tiny := linearOf(1, 1, func(int, int) [3]float64 { return gray(50) })
	assert.Empty(t, View{PixelsPerDrill: 5, Picture: tiny}.Advise())
}

// blur against scikit-image's blur_effect with h_size 5 (Debian
// python3-skimage) on a noisy picture.
func TestBlurAgainstSkimage(t *testing.T) {
	checker.Need(t, "/usr/bin/python3")
	if exec.Command("/usr/bin/python3", "-c", "import skimage.measure").Run() != nil {
		checker.Missing(t, "scikit-image")
	}
	random := dice(4)
	var in strings.Builder
	l := linearOf(33, 21, func(x, y int) [3]float64 { return gray(float64(random.next(60) + x)) })
	for _, v := range l.Cells {
		fmt.Fprintln(&in, lab.Lightness(lab.Luminance(v)))
	}
	cmd := exec.Command("/usr/bin/python3", "-c", `
import sys, numpy as np, skimage.measure as m
print(m.blur_effect(np.loadtxt(sys.stdin).reshape(21, 33), h_size=5))`)
	cmd.Stdin = strings.NewReader(in.String())
	out, err := cmd.Output()
	require.NoError(t, err)
	var want float64
	_, err = fmt.Sscan(string(out), &want)
	require.NoError(t, err)
	assert.InDelta(t, want, View{Picture: l}.blur(), 1e-9)
}

// Sharp photos are not called blurred, the same out of focus are.
func TestBlurOnPhotos(t *testing.T) {
	folder := checker.Folder(t, "KITWRIGHT_PHOTOS")
	for _, name := range []string{"chelsea.png", "coffee.png", "astronaut.png", "motorcycle_left.png", "camera.png", "rocket.jpg", "ihc.png", "moon.png"} {
		p := read(t, filepath.Join(folder, name))
		for _, cols := range []int{100, 160} {
			l := p.Linear(Crop{}, cols, cols*p.Height/p.Width)
			assert.Less(t, View{Picture: l}.blur(), 0.70, "%s at %d", name, cols)
			assert.Greater(t, View{Picture: l.softened(2)}.blur(), blurredAt, "%s at %d, blurred", name, cols)
		}
	}
}
