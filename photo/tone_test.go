package photo

import (
	"bytes"
	"fmt"
	"math"
	"os/exec"
	"path/filepath"
	"strings"
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

func gray(l float64) [3]float64 { y := lit(l); return [3]float64{y, y, y} }

func (l *Linear) lightnessAt(x, y int) float64 { return lightness(luminance(l.Cells[y*l.Cols+x])) }

func TestLightness(t *testing.T) {
	for l := 0.0; l <= 100; l += 0.5 {
		y := lit(l)
		assert.InDelta(t, l, lightness(y), 1e-12)
		assert.InDelta(t, l, lab.FromXYZ(y*lab.White[0], y, y*lab.White[2]).L, 1e-9)
	}
	// Middle gray: 18.42 percent is L* 50 (CIE 15; every handbook).
	assert.InDelta(t, 50, lightness(0.18418651851), 1e-8)
}

func TestExposureOnlyForTheDim(t *testing.T) {
	at := func(l float64) []float64 { return []float64{5, 10, l} }
	assert.Equal(t, 1.0, exposure(at(60)))
	assert.Equal(t, 1.0, exposure(at(95)))
	assert.InDelta(t, lit(82)/lit(59), exposure(at(59)), 1e-12)
	assert.Equal(t, 8.0, exposure(at(12)))
	assert.Equal(t, 8.0, exposure([]float64{0, 0}), "black stays finite")
	assert.Equal(t, 1.0, exposure(nil))
}

func TestExposedKeepsHueAndStaysBelowFull(t *testing.T) {
	dim := linearOf(3, 1, func(x, _ int) [3]float64 {
		return [][3]float64{{0.01, 0.02, 0.03}, {0.2, 0.1, 0.05}, {0, 0, 0}}[x]
	})
	out := dim.Exposed(8)
	assert.InDeltaSlice(t, []float64{0.08, 0.16, 0.24}, out.Cells[0][:], 1e-6, "below the shoulder: times 8")
	c := out.Cells[1]
	assert.InDelta(t, 2, c[0]/c[1], 1e-5)
	assert.InDelta(t, 4, c[0]/c[2], 1e-5)
	assert.InDelta(t, 0.75+0.25*(1-math.Exp(-(1.6-0.75)/0.25)), c[0], 1e-6)
	assert.Less(t, c[0], 1.0)
	assert.Equal(t, [3]float64{}, out.Cells[2])
	assert.Same(t, dim, dim.Exposed(1))
}

func TestLifted(t *testing.T) {
	assert.Equal(t, 0.0, lifting([]float64{26, 30}))
	assert.Equal(t, 8.0, lifting([]float64{2, 2, 40}))
	assert.InDelta(t, 0.6*6, lifting([]float64{20, 20, 20}), 1e-12)

	ramp := linearOf(101, 1, func(x, _ int) [3]float64 { return gray(float64(x)) })
	out := ramp.Lifted(8)
	for x := 0; x <= 100; x++ {
		l := float64(x)
		want := math.Min(100, l+8*l/25*math.Exp(1-l/25))
		assert.InDelta(t, want, out.lightnessAt(x, 0), 0.01)
	}
	assert.InDelta(t, 33, out.lightnessAt(25, 0), 0.01)
	assert.Same(t, ramp, ramp.Lifted(0))
}

func TestLocalContrastIsBounded(t *testing.T) {
	flat := linearOf(20, 20, func(int, int) [3]float64 { return gray(40) })
	for _, v := range flat.LocalContrast().lightnesses(nil) {
		assert.InDelta(t, 40, v, 1e-4)
	}
	step := linearOf(60, 60, func(x, y int) [3]float64 {
		l := 20.0
		if x >= 30 {
			l = 80
		}
		return gray(l + float64((x+y)%2*4))
	})
	out := step.LocalContrast()
	before, after := step.lightnesses(nil), out.lightnesses(nil)
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
	out := l.Sharpened()
	rose, fell := 0, 0
	for y := 0; y < 18; y++ {
		for x := 0; x < 24; x++ {
			least, most := 100.0, 0.0
			for ny := max(0, y-1); ny <= min(17, y+1); ny++ {
				for nx := max(0, x-1); nx <= min(23, x+1); nx++ {
					least, most = math.Min(least, l.lightnessAt(nx, ny)), math.Max(most, l.lightnessAt(nx, ny))
				}
			}
			got := out.lightnessAt(x, y)
			assert.GreaterOrEqual(t, got, least-2.001)
			assert.LessOrEqual(t, got, most+2.001)
			if got > l.lightnessAt(x, y)+1 {
				rose++
			} else if got < l.lightnessAt(x, y)-1 {
				fell++
			}
			c := out.Cells[y*24+x]
			assert.LessOrEqual(t, max(c[0], c[1], c[2]), 1.0)
		}
	}
	assert.Greater(t, rose, 50)
	assert.Greater(t, fell, 50)
	flat := linearOf(5, 5, func(int, int) [3]float64 { return gray(60) })
	for _, v := range flat.Sharpened().lightnesses(nil) {
		assert.InDelta(t, 60, v, 1e-4)
	}
}

// The filters against SciPy's ndimage (Debian python3-scipy): its Gaussian,
// and a guided filter put together from its box means in the plainest way.
func TestFiltersAgainstSciPy(t *testing.T) {
	checker.Need(t, "/usr/bin/python3")
	if exec.Command("/usr/bin/python3", "-c", "import scipy.ndimage").Run() != nil {
		checker.Missing(t, "SciPy")
	}
	const cols, rows = 31, 17
	random := dice(9)
	p := make([]float64, cols*rows)
	var in strings.Builder
	for i := range p {
		p[i] = float64(random.next(10000)) / 100
		fmt.Fprintln(&in, p[i])
	}
	cmd := exec.Command("/usr/bin/python3", "-c", `
import sys, numpy as np, scipy.ndimage as nd
p = np.loadtxt(sys.stdin).reshape(17, 31)
def box(a, r):
    k = dict(size=2*r+1, mode="constant", cval=0)
    return nd.uniform_filter(a, **k) / nd.uniform_filter(np.ones_like(a), **k)
m = box(p, 3); v = box(p*p, 3) - m*m; a = v/(v+60); b = m - a*m
for x in (nd.gaussian_filter(p, .7, mode="nearest"), box(a, 3)*p + box(b, 3)): np.savetxt(sys.stdout, x.ravel(), "%.12f")
`)
	cmd.Stdin = strings.NewReader(in.String())
	out, err := cmd.Output()
	require.NoError(t, err)
	var want []float64
	for _, f := range strings.Fields(string(out)) {
		var v float64
		_, err := fmt.Sscan(f, &v)
		require.NoError(t, err)
		want = append(want, v)
	}
	require.Len(t, want, 2*len(p))
	assert.InDeltaSlice(t, want[:len(p)], blurred(p, cols, rows, 0.7), 1e-9)
	assert.InDeltaSlice(t, want[len(p):], guided(p, cols, rows, 3, 60), 1e-9)
}

// A cat photographed in the dark: made from the daylight photo, it comes back
// about as light as that, and by the subject alone.
func TestToneOfADarkCat(t *testing.T) {
	cat, err := Read(bytes.NewReader(Demo()), Limits{})
	require.NoError(t, err)
	day := cat.Linear(Crop{}, 160, 106)
	dark := day.scaled(func(int, [3]float64) float64 { return 0.1 })
	out, tone := dark.Tone(nil, false)
	assert.Equal(t, 3.0, tone.Stops)
	assert.True(t, tone.Local && tone.Sharp)
	was, got, aim := dark.lightnesses(nil), out.lightnesses(nil), day.lightnesses(nil)
	t.Logf("median L*: dark %.1f, toned %.1f, by day %.1f", quantile(was, 0.5), quantile(got, 0.5), quantile(aim, 0.5))
	assert.Less(t, quantile(was, 0.5), 18.0)
	assert.InDelta(t, quantile(aim, 0.5), quantile(got, 0.5), 6)

	_, tone = day.Tone(nil, true)
	assert.Equal(t, Tone{Local: true}, tone, "by day neither exposure nor lift; easy to place: no sharpening")

	// A white wall behind a dark cat does not keep it dark.
	wall := &Linear{Cols: 160, Rows: 106, Cells: append([][3]float64(nil), dark.Cells...)}
	m := &Mask{Cols: 160, Rows: 106, In: make([]bool, len(wall.Cells))}
	for i := range wall.Cells {
		if m.In[i] = i%160 > 50; !m.In[i] {
			wall.Cells[i] = [3]float64{1, 1, 1}
		}
	}
	_, tone = wall.Tone(m, false)
	assert.Equal(t, 3.0, tone.Stops)
	_, tone = wall.Tone(nil, false)
	assert.Equal(t, 0.0, tone.Stops)
}

// Colors out of sRGB and odd sizes come through finite.
func TestToneOfOddOnes(t *testing.T) {
	for _, size := range [][2]int{{1, 1}, {1, 9}, {5, 1}, {30, 20}} {
		random := dice(2)
		l := linearOf(size[0], size[1], func(int, int) [3]float64 {
			return [3]float64{float64(random.next(150))/100 - 0.2, float64(random.next(150))/100 - 0.2, float64(random.next(150))/100 - 0.2}
		})
		out, _ := l.Tone(nil, false)
		require.Len(t, out.Cells, len(l.Cells))
		for _, c := range out.Cells {
			for _, v := range c {
				assert.False(t, math.IsNaN(v) || math.IsInf(v, 0))
			}
		}
		l.Tone(&Mask{size[0], size[1], make([]bool, len(l.Cells)), ""}, false)
	}
}

func TestFlat(t *testing.T) {
	drawing := linearOf(80, 60, func(x, y int) [3]float64 {
		if (x-40)*(x-40)+(y-30)*(y-30) < 400 {
			return [3]float64{0.8, 0.3, float64(x/20) / 10}
		}
		return [3]float64{1, 1, 1}
	})
	assert.True(t, drawing.Flat())
	out, tone := drawing.Tone(nil, false)
	assert.Same(t, drawing, out)
	assert.Equal(t, Tone{}, tone)

	cat, err := Read(bytes.NewReader(Demo()), Limits{})
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
		dark := l.scaled(func(int, [3]float64) float64 { return 0.05 })
		assert.Equal(t, want, dark.Flat(), "%s in the dark", name)
	}
}

func BenchmarkTone(b *testing.B) {
	cat, err := Read(bytes.NewReader(Demo()), Limits{})
	require.NoError(b, err)
	l := cat.Linear(Crop{}, 200, 133)
	for b.Loop() {
		l.Tone(nil, false)
	}
}
