package tone

import (
	"bytes"
	"context"
	"math"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
	"kitwright/internal/plane"
	"kitwright/lab"
	"kitwright/photo"
)

// dice is a fixed sequence of numbers in 0..n-1.
type dice uint32

func (s *dice) next(n int) int {
	*s = *s*1664525 + 1013904223
	return int(*s>>8) % n
}

func linearOf(cols, rows int, color func(x, y int) [3]float64) *photo.Linear {
	l := &photo.Linear{Cols: cols, Rows: rows}
	for i := 0; i < cols*rows; i++ {
		l.Cells = append(l.Cells, color(i%cols, i/cols))
	}
	return l
}

func gray(l float64) [3]float64 { y := lab.Lit(l); return [3]float64{y, y, y} }

func lightnessAt(l *photo.Linear, x, y int) float64 {
	return lab.Lightness(lab.Luminance(l.Cells[y*l.Cols+x]))
}

func TestExposureOnlyForTheDim(t *testing.T) {
	at := func(l float64) []float64 { return []float64{5, 10, l} }
	assert.Equal(t, 1.0, exposure(at(60)))
	assert.Equal(t, 1.0, exposure(at(95)))
	assert.InDelta(t, lab.Lit(82)/lab.Lit(59), exposure(at(59)), 1e-12)
	assert.Equal(t, 8.0, exposure(at(12)))
	assert.Equal(t, 8.0, exposure([]float64{0, 0}), "black stays finite")
	assert.Equal(t, 1.0, exposure(nil))
}

func TestExposedKeepsHueAndStaysBelowFull(t *testing.T) {
	dim := linearOf(3, 1, func(x, _ int) [3]float64 {
		return [][3]float64{{0.01, 0.02, 0.03}, {0.2, 0.1, 0.05}, {0, 0, 0}}[x]
	})
	out := exposed(dim, 8)
	assert.InDeltaSlice(t, []float64{0.08, 0.16, 0.24}, out.Cells[0][:], 1e-6, "below the shoulder: times 8")
	c := out.Cells[1]
	assert.InDelta(t, 2, c[0]/c[1], 1e-5)
	assert.InDelta(t, 4, c[0]/c[2], 1e-5)
	assert.InDelta(t, 0.75+0.25*(1-math.Exp(-(1.6-0.75)/0.25)), c[0], 1e-6)
	assert.Less(t, c[0], 1.0)
	assert.Equal(t, [3]float64{}, out.Cells[2])
	assert.Same(t, dim, exposed(dim, 1))
}

func TestLifted(t *testing.T) {
	assert.Equal(t, 0.0, lifting([]float64{26, 30}))
	assert.Equal(t, 8.0, lifting([]float64{2, 2, 40}))
	assert.InDelta(t, 0.6*6, lifting([]float64{20, 20, 20}), 1e-12)

	ramp := linearOf(101, 1, func(x, _ int) [3]float64 { return gray(float64(x)) })
	out := lifted(ramp, 8)
	for x := 0; x <= 100; x++ {
		l := float64(x)
		want := math.Min(100, l+8*l/25*math.Exp(1-l/25))
		assert.InDelta(t, want, lightnessAt(out, x, 0), 0.01)
	}
	assert.InDelta(t, 33, lightnessAt(out, 25, 0), 0.01)
	assert.Same(t, ramp, lifted(ramp, 0))
}

func TestLocalContrastIsBounded(t *testing.T) {
	flat := linearOf(20, 20, func(int, int) [3]float64 { return gray(40) })
	for _, v := range lightnesses(localContrast(flat), nil) {
		assert.InDelta(t, 40, v, 1e-4)
	}
	step := linearOf(60, 60, func(x, y int) [3]float64 {
		l := 20.0
		if x >= 30 {
			l = 80
		}
		return gray(l + float64((x+y)%2*4))
	})
	out := localContrast(step)
	before, after := lightnesses(step, nil), lightnesses(out, nil)
	for i := range before {
		assert.Less(t, math.Abs(after[i]-before[i]), 6.001)
	}
	at := func(v []float64, x, y int) float64 { return v[y*60+x] }
	assert.Greater(t, at(after, 10, 11)-at(after, 10, 10), 5.5, "texture of 4 grows")
	assert.InDelta(t, at(before, 29, 10), at(after, 29, 10), 2.5, "no halo at the edge")
}

func TestSharpenedStaysNearItsNeighbors(t *testing.T) {
	random := dice(5)
	l := linearOf(24, 18, func(int, int) [3]float64 {
		return [3]float64{float64(random.next(1000)) / 1000, float64(random.next(1000)) / 1000, float64(random.next(1000)) / 1000}
	})
	out := sharpened(l)
	rose, fell := 0, 0
	for y := 0; y < 18; y++ {
		for x := 0; x < 24; x++ {
			least, most := 100.0, 0.0
			for ny := max(0, y-1); ny <= min(17, y+1); ny++ {
				for nx := max(0, x-1); nx <= min(23, x+1); nx++ {
					least, most = math.Min(least, lightnessAt(l, nx, ny)), math.Max(most, lightnessAt(l, nx, ny))
				}
			}
			got := lightnessAt(out, x, y)
			assert.GreaterOrEqual(t, got, least-2.001)
			assert.LessOrEqual(t, got, most+2.001)
			if got > lightnessAt(l, x, y)+1 {
				rose++
			} else if got < lightnessAt(l, x, y)-1 {
				fell++
			}
			c := out.Cells[y*24+x]
			assert.LessOrEqual(t, max(c[0], c[1], c[2]), 1.0)
		}
	}
	assert.Greater(t, rose, 50)
	assert.Greater(t, fell, 50)
	flat := linearOf(5, 5, func(int, int) [3]float64 { return gray(60) })
	for _, v := range lightnesses(sharpened(flat), nil) {
		assert.InDelta(t, 60, v, 1e-4)
	}
}

// A cat photographed in the dark: made from the daylight photo, it comes back
// about as light as that, and by the subject alone.
func TestToneOfADarkCat(t *testing.T) {
	cat, err := photo.Read(context.Background(), bytes.NewReader(photo.Demo()), photo.Limits{})
	require.NoError(t, err)
	day := cat.Linear(photo.Crop{}, 160, 106)
	dark := scaled(day, func(int, [3]float64) float64 { return 0.1 })
	out, tone := Apply(dark, nil, false)
	assert.Equal(t, 3.0, tone.Stops)
	assert.True(t, tone.Local && tone.Sharp)
	was, got, aim := lightnesses(dark, nil), lightnesses(out, nil), lightnesses(day, nil)
	t.Logf("median L*: dark %.1f, toned %.1f, by day %.1f", plane.Quantile(was, 0.5), plane.Quantile(got, 0.5), plane.Quantile(aim, 0.5))
	assert.Less(t, plane.Quantile(was, 0.5), 18.0)
	assert.InDelta(t, plane.Quantile(aim, 0.5), plane.Quantile(got, 0.5), 6)

	_, tone = Apply(day, nil, true)
	assert.Equal(t, Changes{Local: true}, tone, "by day neither exposure nor lift; easy to place: no sharpening")

	// A white wall behind a dark cat does not keep it dark.
	wall := &photo.Linear{Cols: 160, Rows: 106, Cells: append([][3]float64(nil), dark.Cells...)}
	m := &photo.Mask{Cols: 160, Rows: 106, In: make([]bool, len(wall.Cells))}
	for i := range wall.Cells {
		if m.In[i] = i%160 > 50; !m.In[i] {
			wall.Cells[i] = [3]float64{1, 1, 1}
		}
	}
	_, tone = Apply(wall, m, false)
	assert.Equal(t, 3.0, tone.Stops)
	_, tone = Apply(wall, nil, false)
	assert.Equal(t, 0.0, tone.Stops)
}

// Colors out of sRGB and odd sizes come through finite.
func TestToneOfOddOnes(t *testing.T) {
	for _, size := range [][2]int{{1, 1}, {1, 9}, {5, 1}, {30, 20}} {
		random := dice(2)
		l := linearOf(size[0], size[1], func(int, int) [3]float64 {
			return [3]float64{float64(random.next(150))/100 - 0.2, float64(random.next(150))/100 - 0.2, float64(random.next(150))/100 - 0.2}
		})
		out, _ := Apply(l, nil, false)
		require.Len(t, out.Cells, len(l.Cells))
		for _, c := range out.Cells {
			for _, v := range c {
				assert.False(t, math.IsNaN(v) || math.IsInf(v, 0))
			}
		}
		Apply(l, &photo.Mask{Cols: size[0], Rows: size[1], In: make([]bool, len(l.Cells))}, false)
	}
}

func TestToneLeavesDrawingsAlone(t *testing.T) {
	drawing := linearOf(80, 60, func(x, y int) [3]float64 {
		if (x-40)*(x-40)+(y-30)*(y-30) < 400 {
			return [3]float64{0.8, 0.3, float64(x/20) / 10}
		}
		return [3]float64{1, 1, 1}
	})
	out, tone := Apply(drawing, nil, false)
	assert.Same(t, drawing, out)
	assert.Equal(t, Changes{}, tone)
}

func BenchmarkTone(b *testing.B) {
	cat, err := photo.Read(context.Background(), bytes.NewReader(photo.Demo()), photo.Limits{})
	require.NoError(b, err)
	l := cat.Linear(photo.Crop{}, 200, 133)
	for b.Loop() {
		Apply(l, nil, false)
	}
}

// What is dark where no subject is known may be water or night: it is not
// lifted. Where one is known, it is.
func TestNoLiftWithoutASubject(t *testing.T) {
	random := dice(4)
	water := linearOf(40, 40, func(x, y int) [3]float64 {
		if (x-20)*(x-20)+(y-20)*(y-20) < 60 {
			return gray(75 + float64(random.next(1000))/50)
		}
		return gray(12 + float64(random.next(100))/50)
	})
	_, changes := Apply(water, nil, true)
	assert.Equal(t, Changes{Local: true}, changes)
	m := &photo.Mask{Cols: 40, Rows: 40, In: make([]bool, 1600)}
	for i := range m.In {
		m.In[i] = i < 800
	}
	_, changes = Apply(water, m, true)
	assert.Greater(t, changes.Lift, 5.0)
}

// A bright bird on dark water has no dark ring: the water beside it is at most
// half an L* darker than the water far off.
func TestNoHaloOnWater(t *testing.T) {
	random := dice(6)
	water := linearOf(120, 90, func(x, y int) [3]float64 {
		if (x-60)*(x-60)+(y-45)*(y-45) < 400 {
			return gray(75 + float64(random.next(1000))/50)
		}
		return gray(20 + float64(random.next(100))/250)
	})
	out, changes := Apply(water, nil, true)
	require.True(t, changes.Local)
	darkest := 100.0
	for y := range 90 {
		for x := range 120 {
			if (x-60)*(x-60)+(y-45)*(y-45) >= 400 {
				darkest = math.Min(darkest, lightnessAt(out, x, y))
			}
		}
	}
	t.Logf("the darkest water is of L* %.2f", darkest)
	assert.Greater(t, darkest, 19.5)
	assert.InDelta(t, 20, lightnessAt(out, 3, 3), 0.5)
}

// An eye of a few cells in light fur is a detail, not ground beside something
// bright: it gets as dark as ever.
func TestEyesAreMadePlainer(t *testing.T) {
	fur := linearOf(120, 90, func(x, y int) [3]float64 {
		if x/3 == 20 && y/3 == 15 {
			return gray(35)
		}
		return gray(75)
	})
	out := localContrast(fur)
	assert.Less(t, lightnessAt(out, 61, 46), 32.0)
	assert.InDelta(t, 75, lightnessAt(out, 57, 46), 1)
}

// nearBlack returns how much of the darks of the subject is nearly black.
func nearBlack(l *photo.Linear, m *photo.Mask) float64 {
	n, all := 0, 0
	for i, c := range l.Cells {
		if m == nil || m.In[i] {
			all++
			if lab.Lightness(lab.Luminance(c)) < 3 {
				n++
			}
		}
	}
	return float64(n) / float64(all)
}

// Neither black fur nor anything else dark is crushed: what was not nearly
// black before does not become it.
func TestBlackFurIsNotCrushed(t *testing.T) {
	random := dice(3)
	fur := linearOf(60, 60, func(int, int) [3]float64 { return gray(1 + float64(random.next(900))/100) })
	before := nearBlack(fur, nil)
	require.Greater(t, before, 0.1)
	for _, m := range []*photo.Mask{nil, {Cols: 60, Rows: 60, In: slices.Repeat([]bool{true}, 3600)}} {
		lifted, _ := Apply(fur, m, false)
		assert.LessOrEqual(t, nearBlack(lifted, m), before)
	}
	files, err := filepath.Glob(filepath.Join(checker.Folder(t, "KITWRIGHT_ANIMALS"), "*.webp"))
	require.NoError(t, err)
	require.NotEmpty(t, files)
	for _, name := range files {
		f, err := os.Open(name)
		require.NoError(t, err)
		p, err := photo.Read(context.Background(), f, photo.Limits{})
		require.NoError(t, err)
		require.NoError(t, f.Close())
		l := p.Linear(photo.Crop{}, 160, 160*p.Height/p.Width)
		out, changes := Apply(l, nil, false)
		was, is := nearBlack(l, nil), nearBlack(out, nil)
		t.Logf("%-20s near black %.2f %% before, %.2f %% after (%s)", filepath.Base(name), 100*was, 100*is, changes.Words())
		assert.LessOrEqual(t, is, 1.1*was+1e-9, name)
	}
}

func TestWords(t *testing.T) {
	assert.Equal(t, "made 4.0 times as bright, darks lifted", Changes{Stops: 2, Lift: 3}.Words())
	assert.Equal(t, "fur made plainer, sharpened", Changes{Local: true, Sharp: true}.Words())
	assert.Empty(t, Changes{}.Words())
}
