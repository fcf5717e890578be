package photo

import (
	"bytes"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
	"kitwright/lab"
)

// maskOf reads a mask drawn in text: # is subject.
func maskOf(rows ...string) *Mask {
	m := &Mask{Cols: len(rows[0]), Rows: len(rows)}
	for _, r := range rows {
		for _, c := range r {
			m.In = append(m.In, c == '#')
		}
	}
	return m
}

func (m *Mask) String() string {
	var b strings.Builder
	for i, in := range m.In {
		if i > 0 && i%m.Cols == 0 {
			b.WriteByte('\n')
		}
		b.WriteByte(".#"[map[bool]int{true: 1}[in]])
	}
	return b.String()
}

func TestMaskBoxAndCount(t *testing.T) {
	m := maskOf(".....", "..#..", "...#.", ".....")
	x0, y0, x1, y1 := m.Box()
	assert.Equal(t, [4]int{2, 1, 4, 3}, [4]int{x0, y0, x1, y1})
	assert.Equal(t, 2, m.Count())
	x0, y0, x1, y1 = maskOf("..", "..").Box()
	assert.True(t, x0 == x1 && y0 == y1)
}

func TestMaskResize(t *testing.T) {
	m := maskOf("##..", "##..", "....", "...#")
	assert.Equal(t, "#.\n..", m.resize(2, 2).String())
	assert.Equal(t, m.String(), m.resize(8, 8).resize(4, 4).String())
	assert.Equal(t, "#", maskOf("##.", "##.").resize(1, 1).String())
	assert.Equal(t, ".", maskOf("#..", "#..").resize(1, 1).String())
	assert.Nil(t, (*Mask)(nil).resize(3, 3))
}

func TestMaskNearKeepsWhatTheEllipseTouches(t *testing.T) {
	m := maskOf("##...#", "##...#", ".....#")
	m.near(Ellipse{0, 0, 40, 60})
	assert.Equal(t, "##....\n##....\n......", m.String())
	m = maskOf("##....", "......", "......")
	m.near(Ellipse{70, 70, 20, 20})
	assert.Equal(t, 2, m.Count(), "an ellipse on nothing drops nothing")
}

func TestMaskTidy(t *testing.T) {
	m := maskOf(
		"#.......",
		"...####.",
		"...#.##.",
		"...####.",
		"........")
	m.tidy()
	assert.Equal(t, "........\n...####.\n...####.\n...####.\n........", m.String())
}

func TestByOpacity(t *testing.T) {
	m := ByOpacity([]float64{0, 0.49, 0.5, 1}, 2, 2)
	assert.Equal(t, "..\n##", m.String())
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

func TestWithin(t *testing.T) {
	p := &Photo{Width: 200, Height: 100}
	e := Ellipse{25, 20, 50, 40}
	assert.Equal(t, e, p.Within(Crop{}, e))
	assert.Equal(t, e, p.Within(p.Whole(), e))
	assert.Equal(t, Ellipse{0, 0, 100, 80}, p.Within(Crop{50, 20, 100, 50}, e))
}

func read(t testing.TB, path string) *Photo {
	t.Helper()
	f, err := os.Open(path)
	require.NoError(t, err)
	defer f.Close()
	p, err := Read(f, Limits{})
	require.NoError(t, err)
	return p
}

// Places in percent of real photos, judged by eye, that a hand-drawn ellipse
// must bring in or leave out.
func TestSubjectOfPhotos(t *testing.T) {
	cat, err := Read(bytes.NewReader(Demo()), Limits{})
	require.NoError(t, err)
	type place [2]float64
	for _, c := range []struct {
		name    string
		photo   func(t *testing.T) *Photo
		hand    Ellipse
		in, out []place
	}{
		{"cat", func(*testing.T) *Photo { return cat }, Ellipse{2, 5, 80, 90},
			[]place{{39, 36}, {73, 41}, {57, 81}, {45, 10}, {20, 45}, {45, 70}, {38, 92}},
			[]place{{95, 70}, {92, 20}, {90, 95}, {85, 60}}},
		{"raccoon", func(t *testing.T) *Photo { return read(t, "testdata/subject/raccoon.jpg") }, Ellipse{30, 8, 62, 88},
			[]place{{62, 58}, {52, 43}, {70, 43}, {88, 19}, {49, 14}, {58, 72}, {65, 20}},
			[]place{{10, 80}, {97, 35}, {5, 20}, {20, 95}, {97, 95}}},
		{"astronaut", skimage("astronaut.png"), Ellipse{15, 2, 60, 96},
			[]place{{45, 20}, {45, 8}, {30, 70}, {50, 62}, {62, 55}, {45, 45}},
			[]place{{5, 40}, {80, 40}, {10, 15}, {95, 90}, {75, 30}}},
		{"motorcycle", skimage("motorcycle_left.png"), Ellipse{15, 22, 60, 76},
			[]place{{50, 48}, {24, 68}, {62, 62}, {30, 45}},
			[]place{{90, 30}, {50, 10}, {10, 20}, {60, 95}, {5, 90}}},
	} {
		t.Run(c.name, func(t *testing.T) {
			if testing.Short() && c.name != "cat" {
				t.Skip("skipped: one photo is enough in a hurry")
			}
			p := c.photo(t)
			cols, rows := 160, 160*p.Height/p.Width
			m := p.Subject(Crop{}, cols, rows, &c.hand)
			require.NotNil(t, m)
			assert.Equal(t, "ellipse", m.By)
			at := func(q place) bool { return m.In[int(q[1]*float64(rows)/100)*cols+int(q[0]*float64(cols)/100)] }
			for _, q := range c.in {
				assert.True(t, at(q), "%v is subject", q)
			}
			for _, q := range c.out {
				assert.False(t, at(q), "%v is ground", q)
			}
			assert.Nil(t, p.Subject(Crop{}, cols, rows, nil), "nothing tells by itself")

			other := 1
			if runtime.GOMAXPROCS(0) == 1 {
				other = 4
			}
			defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(other))
			assert.Equal(t, m, p.Subject(Crop{}, cols, rows, &c.hand), "on %d processors", other)
		})
	}
}

func skimage(name string) func(t *testing.T) *Photo {
	return func(t *testing.T) *Photo { return read(t, filepath.Join(checker.Folder(t, "KITWRIGHT_PHOTOS"), name)) }
}

func TestSubjectByTransparency(t *testing.T) {
	p := read(t, "testdata/alpha.png")
	require.True(t, p.HasAlpha)
	m := p.Subject(Crop{}, p.Width, p.Height, nil)
	require.NotNil(t, m)
	assert.Equal(t, "transparency", m.By)
}

func BenchmarkSubject(b *testing.B) {
	p := read(b, "testdata/subject/raccoon.jpg")
	l := p.Linear(Crop{}, working, working*p.Height/p.Width)
	for b.Loop() {
		Cut(l, Ellipse{30, 8, 62, 88})
	}
}
