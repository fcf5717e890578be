package subject

import (
	"bytes"
	"context"
	"image"
	"image/png"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
	"kitwright/lab"
	"kitwright/photo"
)

// maskOf reads a mask drawn in text: # is subject.
func maskOf(rows ...string) *photo.Mask {
	m := &photo.Mask{Cols: len(rows[0]), Rows: len(rows)}
	for _, r := range rows {
		for _, c := range r {
			m.In = append(m.In, c == '#')
		}
	}
	return m
}

func text(m *photo.Mask) string {
	var b strings.Builder
	for i, in := range m.In {
		if i > 0 && i%m.Cols == 0 {
			b.WriteByte('\n')
		}
		b.WriteByte(".#"[map[bool]int{true: 1}[in]])
	}
	return b.String()
}

func TestMaskResize(t *testing.T) {
	m := maskOf("##..", "##..", "....", "...#")
	assert.Equal(t, "#.\n..", text(resize(m, 2, 2)))
	assert.Equal(t, text(m), text(resize(resize(m, 8, 8), 4, 4)))
	assert.Equal(t, "#", text(resize(maskOf("##.", "##."), 1, 1)))
	assert.Equal(t, ".", text(resize(maskOf("#..", "#.."), 1, 1)))
	assert.Nil(t, resize(nil, 3, 3))
}

func TestMaskNearKeepsWhatTheEllipseTouches(t *testing.T) {
	m := maskOf("##...#", "##...#", ".....#")
	near(m, photo.Ellipse{X: 0, Y: 0, W: 40, H: 60})
	assert.Equal(t, "##....\n##....\n......", text(m))
	m = maskOf("##....", "......", "......")
	near(m, photo.Ellipse{X: 70, Y: 70, W: 20, H: 20})
	assert.Equal(t, 2, m.Count(), "an ellipse on nothing drops nothing")
}

func TestMaskTidy(t *testing.T) {
	m := maskOf(
		"#.......",
		"...####.",
		"...#.##.",
		"...####.",
		"........")
	tidy(m)
	assert.Equal(t, "........\n...####.\n...####.\n...####.\n........", text(m))
}

func TestByOpacity(t *testing.T) {
	m := ByOpacity([]float64{0, 0.49, 0.5, 1}, 2, 2)
	assert.Equal(t, "..\n##", text(m))
	assert.Nil(t, ByOpacity(nil, 2, 2), "an opaque photo")
	assert.Nil(t, ByOpacity([]float64{1, 1, 1, 1}, 2, 2))
	assert.Nil(t, ByOpacity([]float64{0, 0, 0, 0}, 2, 2))
}

func gridOf(cols, rows int, color func(x, y int) lab.Color) *lab.Grid {
	g := lab.NewGrid(cols, rows)
	for y := 0; y < rows; y++ {
		for x := 0; x < cols; x++ {
			g.Set(x, y, color(x, y))
		}
	}
	return g
}

func TestByPlainGround(t *testing.T) {
	disk := func(x, y int) bool { return (x-20)*(x-20)+(y-15)*(y-15) < 100 }
	drawing := gridOf(40, 30, func(x, y int) lab.Color {
		if disk(x, y) && (x-20)*(x-20)+(y-15)*(y-15) >= 9 {
			return lab.Color{L: 50, A: 40, B: 20}
		}
		return lab.Color{L: 95 + float64(x%2), A: 0, B: 2} // an eye in the ground's color stays
	})
	m := ByPlainGround(drawing)
	require.NotNil(t, m)
	assert.Equal(t, "plain ground", m.By)
	for i, in := range m.In {
		assert.Equal(t, disk(i%40, i/40), in, "cell %d,%d", i%40, i/40)
	}

	assert.Nil(t, ByPlainGround(gridOf(40, 30, func(x, y int) lab.Color {
		return lab.Color{L: float64(x + y), A: 5, B: 5}
	})), "a ground that shades is not plain")
	assert.Nil(t, ByPlainGround(gridOf(40, 30, func(x, y int) lab.Color {
		return lab.Color{L: 90}
	})), "nothing on it")
}

func read(t testing.TB, path string) *photo.Photo {
	t.Helper()
	f, err := os.Open(path)
	require.NoError(t, err)
	defer f.Close()
	p, err := photo.Read(context.Background(), f, photo.Limits{})
	require.NoError(t, err)
	return p
}

// Places in percent of real photos, judged by eye, that a hand-drawn ellipse
// must bring in or leave out.
func TestSubjectOfPhotos(t *testing.T) {
	cat, err := photo.Read(context.Background(), bytes.NewReader(photo.Demo()), photo.Limits{})
	require.NoError(t, err)
	type place [2]float64
	for _, c := range []struct {
		name    string
		photo   func(t *testing.T) *photo.Photo
		hand    photo.Ellipse
		in, out []place
	}{
		{"cat", func(*testing.T) *photo.Photo { return cat }, photo.Ellipse{X: 0, Y: 0, W: 86, H: 100},
			[]place{{39, 36}, {73, 41}, {57, 81}, {45, 10}, {20, 45}, {45, 70}, {38, 92}},
			[]place{{95, 70}, {92, 20}, {90, 95}, {85, 60}}},
		{"raccoon", func(t *testing.T) *photo.Photo { return read(t, "testdata/raccoon.jpg") }, photo.Ellipse{X: 30, Y: 8, W: 62, H: 88},
			[]place{{62, 58}, {52, 43}, {70, 43}, {88, 19}, {49, 14}, {58, 72}},
			[]place{{10, 80}, {97, 35}, {5, 20}, {20, 95}, {97, 95}}},
		{"astronaut", skimage("astronaut.png"), photo.Ellipse{X: 15, Y: 2, W: 60, H: 96},
			[]place{{45, 20}, {45, 8}, {30, 70}, {50, 62}, {62, 55}, {45, 45}},
			[]place{{5, 40}, {80, 40}, {10, 15}, {95, 90}, {75, 30}}},
		{"motorcycle", skimage("motorcycle_left.png"), photo.Ellipse{X: 15, Y: 22, W: 60, H: 76},
			[]place{{50, 48}, {24, 68}, {62, 62}, {30, 45}},
			[]place{{90, 30}, {50, 10}, {10, 20}, {60, 95}, {5, 90}}},
	} {
		t.Run(c.name, func(t *testing.T) {
			if testing.Short() && c.name != "cat" {
				t.Skip("skipped: one photo is enough in a hurry")
			}
			p := c.photo(t)
			cols, rows := 160, 160*p.Height/p.Width
			m := Locate(p, photo.Crop{}, Hints{About: []photo.Ellipse{c.hand}}).On(photo.Crop{}, cols, rows)
			require.NotNil(t, m)
			assert.Equal(t, "ellipse", m.By)
			at := func(q place) bool { return m.In[int(q[1]*float64(rows)/100)*cols+int(q[0]*float64(cols)/100)] }
			for _, q := range c.in {
				assert.True(t, at(q), "%v is subject", q)
			}
			for _, q := range c.out {
				assert.False(t, at(q), "%v is ground", q)
			}
			assert.Nil(t, Locate(p, photo.Crop{}, Hints{}), "nothing tells by itself")

			other := 1
			if runtime.GOMAXPROCS(0) == 1 {
				other = 4
			}
			defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(other))
			assert.Equal(t, m, Locate(p, photo.Crop{}, Hints{About: []photo.Ellipse{c.hand}}).On(photo.Crop{}, cols, rows), "on %d processors", other)
		})
	}
}

func skimage(name string) func(t *testing.T) *photo.Photo {
	return func(t *testing.T) *photo.Photo {
		return read(t, filepath.Join(checker.Folder(t, "KITWRIGHT_PHOTOS"), name))
	}
}

func TestSubjectByTransparency(t *testing.T) {
	p := read(t, "../testdata/alpha.png")
	require.True(t, p.HasAlpha)
	m := Locate(p, photo.Crop{}, Hints{}).On(photo.Crop{}, p.Width, p.Height)
	require.NotNil(t, m)
	assert.Equal(t, "transparency", m.By)
}

func BenchmarkSubject(b *testing.B) {
	p := read(b, "testdata/raccoon.jpg")
	for b.Loop() {
		Locate(p, photo.Crop{}, Hints{About: []photo.Ellipse{{X: 30, Y: 8, W: 62, H: 88}}}).On(photo.Crop{}, 160, 120)
	}
}

// What is said by hand counts, whatever the colors say, and the rest of the
// picture may follow it.
func TestAddAndCut(t *testing.T) {
	cat, err := photo.Read(context.Background(), bytes.NewReader(photo.Demo()), photo.Limits{})
	require.NoError(t, err)
	h := Hints{
		About: []photo.Ellipse{{X: 2, Y: 5, W: 80, H: 90}},
		Add:   []photo.Ellipse{{X: 88, Y: 60, W: 10, H: 20}},
		Cut:   []photo.Ellipse{{X: 30, Y: 30, W: 20, H: 20}, {X: 94, Y: 60, W: 10, H: 20}},
	}
	o := Locate(cat, photo.Crop{}, h)
	m := o.On(photo.Crop{}, 200, 133)
	plain := Locate(cat, photo.Crop{}, Hints{About: h.About}).On(photo.Crop{}, 200, 133)
	for i, in := range m.In {
		switch {
		case h.Cut[0].Center2(i, 200, 133) < 1 || h.Cut[1].Center2(i, 200, 133) < 1:
			assert.False(t, in, "cell %d was cut", i)
		case h.Add[0].Center2(i, 200, 133) < 1:
			assert.True(t, in, "cell %d was added", i)
		}
	}
	assert.True(t, plain.In[53*200+80], "the cut part is subject otherwise")
	assert.False(t, plain.In[90*200+182], "the added one is not")
	b := o.Box()
	assert.Greater(t, b.X+b.W, 0.88*float64(cat.Width), "the box holds what was added")

	// On a part of the photo the same cells are subject.
	part := m
	half := o.On(photo.Crop{X: 0, Y: 0, W: float64(cat.Width) / 2, H: float64(cat.Height)}, 100, 133)
	differ := 0
	for i, in := range half.In {
		if in != part.In[i/100*200+i%100] {
			differ++
		}
	}
	assert.Less(t, differ, 14, "cells that differ between a part and the whole")

	// A ground of one color is corrected, too.
	drawing := image.NewNRGBA(image.Rect(0, 0, 80, 60))
	for i := range drawing.Pix {
		drawing.Pix[i] = 255
		if x, y := i/4%80, i/4/80; i%4 < 2 && x > 20 && x < 50 && y > 20 && y < 50 {
			drawing.Pix[i] = 40
		}
	}
	var file bytes.Buffer
	require.NoError(t, png.Encode(&file, drawing))
	p, err := photo.Read(context.Background(), &file, photo.Limits{})
	require.NoError(t, err)
	o = Locate(p, photo.Crop{}, Hints{Cut: []photo.Ellipse{{X: 25, Y: 33, W: 20, H: 50}}})
	require.NotNil(t, o)
	assert.Equal(t, "plain ground", o.By)
	m = o.On(photo.Crop{}, 80, 60)
	assert.True(t, m.In[35*80+45])
	assert.False(t, m.In[35*80+28], "cut")
}
