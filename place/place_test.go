package place

import (
	"bytes"
	"context"
	"fmt"
	"image"
	_ "image/jpeg"
	_ "image/png"
	"math"
	"math/rand/v2"
	"os"
	"runtime"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/golden"
	"kitwright/internal/say"
	"kitwright/lab"
)

// A small scene with soft shades, an edge, noise and a bright rim: a test
// picture that needs no file.
func scene(cols, rows int) *lab.Grid {
	g := lab.NewGrid(cols, rows)
	r := rand.New(rand.NewPCG(7, 11))
	for y := range rows {
		for x := range cols {
			u, v := float64(x)/float64(cols), float64(y)/float64(rows)
			c := lab.Color{L: 25 + 45*u + 16*r.Float64(), A: 18*math.Sin(5*v) + 5*r.Float64(), B: 25*v - 8 + 8*r.Float64()}
			if d := math.Hypot(u-.5, v-.5); d < .2 {
				c = lab.Color{L: 12 + 90*d, A: -20, B: 35}
			} else if d < .24 {
				c = lab.Color{L: 8, A: 4, B: 6}
			}
			g.Set(x, y, c)
		}
	}
	return g
}

// spread picks k colors far apart from those of a grid.
func spread(g *lab.Grid, k int) []lab.Color {
	colors := []lab.Color{g.Cells[0]}
	for len(colors) < k {
		far, at := -1.0, 0
		for i, c := range g.Cells {
			near := math.Inf(1)
			for _, q := range colors {
				near = math.Min(near, lab.DeltaE(c, q))
			}
			if near > far {
				far, at = near, i
			}
		}
		colors = append(colors, g.Cells[at])
	}
	return colors
}

func nearestColors(g *lab.Grid, colors []lab.Color) []uint16 {
	at := make([]uint16, len(g.Cells))
	for i, c := range g.Cells {
		best := int64(math.MaxInt64)
		for j, q := range colors {
			if d := int64(math.Round(lab.DeltaE(c, q) * placeUnit)); d < best {
				best, at[i] = d, uint16(j)
			}
		}
	}
	return at
}

// loneShare is the share of cells with no like neighbor beside, above or below.
func loneShare(cells []uint16, cols, rows int) float64 {
	lone := 0
	for i, c := range cells {
		x, y := i%cols, i/cols
		if !(x > 0 && cells[i-1] == c || x+1 < cols && cells[i+1] == c || y > 0 && cells[i-cols] == c || y+1 < rows && cells[i+cols] == c) {
			lone++
		}
	}
	return float64(lone) / float64(len(cells))
}

// unlikePairs counts neighbors of different color.
func unlikePairs(cells []uint16, cols, rows int) (n int64) {
	for i, c := range cells {
		if (i+1)%cols != 0 && cells[i+1] != c {
			n++
		}
		if i/cols+1 < rows && cells[i+cols] != c {
			n++
		}
	}
	return n
}

// blurredMiss is the mean CIEDE2000 after a Gaussian blur of linear light,
// standard deviation one cell: plain code, apart from what Place lowers.
func blurredMiss(g, made *lab.Grid) float64 {
	a, b := gaussianBlur(g), gaussianBlur(made)
	var sum float64
	for i := range a {
		sum += lab.DeltaE(a[i], b[i])
	}
	return sum / float64(len(a))
}

func gaussianBlur(g *lab.Grid) []lab.Color {
	out := make([]lab.Color, len(g.Cells))
	light := make([][3]float64, len(g.Cells))
	for i, c := range g.Cells {
		light[i][0], light[i][1], light[i][2] = c.LinearRGB()
	}
	for y := range g.Rows {
		for x := range g.Cols {
			var v [3]float64
			var all float64
			for dy := -3; dy <= 3; dy++ {
				for dx := -3; dx <= 3; dx++ {
					if x+dx < 0 || y+dy < 0 || x+dx >= g.Cols || y+dy >= g.Rows {
						continue
					}
					w := math.Exp(-float64(dx*dx+dy*dy) / 2)
					all += w
					for k, p := range light[(y+dy)*g.Cols+x+dx] {
						v[k] += w * p
					}
				}
			}
			out[y*g.Cols+x] = lab.FromLinear(v[0]/all, v[1]/all, v[2]/all)
		}
	}
	return out
}

func painted(g *lab.Grid, colors []lab.Color, cells []uint16) *lab.Grid {
	made := lab.NewGrid(g.Cols, g.Rows)
	for i, c := range cells {
		made.Cells[i] = colors[c]
	}
	return made
}

func meanDifference(a, b *lab.Grid) float64 {
	var sum float64
	for i := range a.Cells {
		sum += lab.DeltaE(a.Cells[i], b.Cells[i])
	}
	return sum / float64(len(a.Cells))
}

func lay(t testing.TB, g *lab.Grid, colors []lab.Color, opt Options) []uint16 {
	t.Helper()
	at, err := Place(context.Background(), g, colors, nil, opt)
	require.NoError(t, err)
	require.Len(t, at, len(g.Cells))
	return at
}

func TestPlaceWithoutCalmIsNearest(t *testing.T) {
	g := scene(40, 30)
	colors := spread(g, 20)
	want := nearestColors(g, colors)
	assert.Equal(t, want, lay(t, g, colors, Options{}))
	start, err := Place(context.Background(), g, colors, want, Options{})
	require.NoError(t, err)
	assert.Equal(t, want, start)
}

// A single row is solved exactly: no other way to lay its cells costs less.
func TestPlaceSolvesARowExactly(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 5))
	for round := range 40 {
		g := lab.NewGrid(6, 1)
		if round%2 == 1 {
			g = lab.NewGrid(1, 6)
		}
		for i := range g.Cells {
			g.Cells[i] = lab.Color{L: 40 + 12*r.Float64(), A: 10 * r.Float64(), B: 10 * r.Float64()}
		}
		colors := make([]lab.Color, 4)
		for i := range colors {
			colors[i] = lab.Color{L: 40 + 12*r.Float64(), A: 10 * r.Float64(), B: 10 * r.Float64()}
		}
		smooth := .2 + 3*r.Float64()
		var single [6][4]int64
		for i, here := range g.Cells {
			for j, c := range colors {
				single[i][j] = int64(math.Round(lab.DeltaE(here, c) * placeUnit))
			}
		}
		cost := func(cells []uint16) (c int64) {
			for i, at := range cells {
				c += single[i][at]
			}
			return c + int64(math.Round(smooth*placeUnit))*unlikePairs(cells, g.Cols, g.Rows)
		}
		best := int64(math.MaxInt64)
		cells := make([]uint16, 6)
		for n := range 1 << 12 {
			for i := range cells {
				cells[i] = uint16(n >> (2 * i) & 3)
			}
			best = min(best, cost(cells))
		}
		assert.Equal(t, best, cost(lay(t, g, colors, Options{Smooth: smooth})))
	}
}

// whole is what Place lowers, computed from nothing but the cells, exactly but
// for the square's last bits.
func (d *descent) whole(aim [][3]int64) float64 {
	var cost float64
	miss := make([][3]float64, len(d.at))
	for i, c := range d.at {
		for j, q := range d.choice[i*d.kept : (i+1)*d.kept] {
			if q == c && d.cost[i*d.kept+j] != noCost {
				cost += float64(d.cost[i*d.kept+j])
				break
			}
		}
		for k := range miss[i] {
			miss[i][k] = float64(d.light[c][k] - aim[i][k])
		}
	}
	for i, c := range d.at {
		if (i+1)%d.cols != 0 {
			cost += float64(d.unlike[int(c)*d.colors+int(d.at[i+1])])
		}
		if i/d.cols+1 < d.rows {
			cost += float64(d.unlike[int(c)*d.colors+int(d.at[i+d.cols])])
		}
	}
	cost += float64(d.lone) * loneShare(d.at, d.cols, d.rows) * float64(len(d.at))
	for i := range d.at {
		var blur [3]float64
		around(i%d.cols, i/d.cols, d.cols, d.rows, func(j int, w int64) {
			for k := range blur {
				blur[k] += float64(w) * miss[j][k]
			}
		})
		m := d.near[i]
		q := float64(m[0])*blur[0]*blur[0] + float64(m[3])*blur[1]*blur[1] + float64(m[5])*blur[2]*blur[2] +
			2*(float64(m[1])*blur[0]*blur[1]+float64(m[2])*blur[0]*blur[2]+float64(m[4])*blur[1]*blur[2])
		cost += q / (1 << 28) * float64(d.blend) / 1024
	}
	return cost
}

func TestPlaceNeverRises(t *testing.T) {
	g := scene(34, 35) // more than one block, and a rest
	colors := spread(g, 24)
	for _, opt := range []Options{{Blend: .15, Smooth: 1, Lone: 2}, {Blend: 1, Smooth: 1}, {Blend: 3, Smooth: .2, Lone: 5}} {
		with := opt.strengths()
		p := newPlacer(g, colors, opt, with.smooth)
		cost := func() (c int64) {
			for i, at := range p.at {
				for j, q := range p.choice[i*p.kept : (i+1)*p.kept] {
					if q == at {
						c += int64(p.cost[i*p.kept+j])
						break
					}
				}
			}
			return c + int64(with.smooth)*unlikePairs(p.at, p.cols, p.rows)
		}
		last := cost()
		for p.sweep() {
			now := cost()
			require.Less(t, now, last)
			last = now
		}
		d := newDescent(p, g, colors, with, opt)
		exact := make([][3]float64, len(colors))
		for i, c := range colors {
			exact[i] = relativeLight(c)
		}
		aim := make([][3]int64, len(g.Cells))
		for i := range aim {
			slope := slopeAt(p.blurred(lightOf(g), i%g.Cols, i/g.Cols))
			aim[i] = wholeLight(d.reachable(i, relativeLight(g.Cells[i]), slope, exact))
		}
		whole := d.whole(aim)
		for pass := 0; ; pass++ {
			changed := d.pass()
			now := d.whole(aim)
			if !changed {
				assert.InDelta(t, whole, now, 1e-3)
				break
			}
			require.Less(t, now, whole, "pass %d", pass)
			whole = now
			require.Less(t, pass, 100)
		}
		// At the end no single cell can do better: tried one by one.
		for i := 0; i < len(d.at); i += 41 {
			old := d.at[i]
			for j, c := range d.choice[i*d.kept : (i+1)*d.kept] {
				if d.cost[i*d.kept+j] == noCost {
					break
				}
				d.at[i] = c
				require.GreaterOrEqual(t, d.whole(aim), whole-4, "cell %d", i)
			}
			d.at[i] = old
		}
	}
}

func lightOf(g *lab.Grid) [][3]float64 {
	light := make([][3]float64, len(g.Cells))
	for i, c := range g.Cells {
		light[i] = relativeLight(c)
	}
	return light
}

func TestPlaceCalms(t *testing.T) {
	g := scene(60, 50)
	colors := spread(g, 18)
	last := 1.0 // unlike the four photos, this scene is hard: its colors were not chosen for it
	for _, calm := range []float64{0, .25, .5, .75, 1} {
		lone := loneShare(lay(t, g, colors, Options{Calm: calm}), g.Cols, g.Rows)
		t.Logf("calm %v: %.2f %% lone", calm, 100*lone)
		assert.Less(t, lone, last, "calm %v", calm)
		last = lone
	}
}

// Mixing brings the blurred picture closer than the nearest colors do.
func TestPlaceBlends(t *testing.T) {
	g := scene(60, 50)
	colors := spread(g, 10)
	nearest := blurredMiss(g, painted(g, colors, lay(t, g, colors, Options{})))
	blended := blurredMiss(g, painted(g, colors, lay(t, g, colors, Options{Blend: 1, Smooth: 1})))
	assert.Less(t, blended, nearest)
}

// Where no mixture of the colors reaches the target, its area stays plain.
func TestPlaceBeyondReach(t *testing.T) {
	g := lab.NewGrid(30, 30)
	for i := range g.Cells {
		g.Cells[i] = lab.Color{L: 45, A: 60, B: 40} // redder than any color there is
	}
	colors := []lab.Color{{L: 45, A: 45, B: 30}, {L: 45, A: 20, B: 12}, {L: 45, A: 10, B: 20}, {L: 45, A: 25, B: -5}}
	at := lay(t, g, colors, Options{Blend: 1, Smooth: .3})
	for i := range at {
		require.Equal(t, at[0], at[i])
	}
}

func TestPlaceReachable(t *testing.T) {
	g := lab.NewGrid(1, 1)
	colors := []lab.Color{{L: 20, A: 5}, {L: 30, A: -5}, {L: 26, B: 9}, {L: 24, B: -9}}
	exact := make([][3]float64, 4)
	for i, c := range colors {
		exact[i] = relativeLight(c)
	}
	// Inside: any mixture is its own nearest.
	var inside [3]float64
	for i, share := range []float64{.3, .2, .4, .1} {
		for k := range inside {
			inside[k] += share * exact[i][k]
		}
	}
	x, y, z := inside[0]*lab.White[0], inside[1]*lab.White[1], inside[2]*lab.White[2]
	g.Cells[0] = lab.FromXYZ(x, y, z)
	p := newPlacer(g, colors, Options{}, placeUnit)
	d := &descent{placer: p}
	got := d.reachable(0, inside, slopeAt(inside), exact)
	// (24 steps end within a third of what the eye tells apart side by side.)
	back := lab.FromXYZ(got[0]*lab.White[0], got[1]*lab.White[1], got[2]*lab.White[2])
	assert.Less(t, lab.DeltaE(g.Cells[0], back), .3)
}

func TestPlaceKeepsFixedCells(t *testing.T) {
	g := scene(40, 40)
	colors := spread(g, 12)
	fixed := make([]int32, len(g.Cells))
	for i := range fixed {
		fixed[i] = -1
		if i%40 < 3 {
			fixed[i] = int32(i % 12)
		}
	}
	for _, calm := range []float64{0, .5, 1} {
		for _, start := range [][]uint16{nil, nearestColors(g, colors)} {
			at, err := Place(context.Background(), g, colors, start, Options{Calm: calm, Fixed: fixed})
			require.NoError(t, err)
			for i, f := range fixed {
				if f >= 0 {
					require.Equal(t, uint16(f), at[i])
				}
			}
		}
	}
}

// Where a miss counts more, cells stay closer to the photo.
func TestPlaceHeedsWeight(t *testing.T) {
	g := scene(60, 60)
	colors := spread(g, 12)
	weight := make([]uint16, len(g.Cells))
	half := lab.NewGrid(60, 30)
	copy(half.Cells, g.Cells)
	for i := range weight {
		weight[i] = 100
		if i < len(half.Cells) {
			weight[i] = 800
		}
	}
	opt := Options{Calm: 1}
	plain := meanDifference(half, painted(half, colors, lay(t, g, colors, opt)[:60*30]))
	opt.Weight = weight
	assert.Less(t, meanDifference(half, painted(half, colors, lay(t, g, colors, opt)[:60*30])), plain)
}

func TestPlaceIsTheSameWithAnyNumberOfProcessors(t *testing.T) {
	g := scene(83, 57)
	colors := spread(g, 21)
	opt := Options{Blend: 1, Smooth: 1, Lone: 2}
	var want []uint16
	for _, procs := range []int{1, 2, 4, 7} {
		before := runtime.GOMAXPROCS(procs)
		at := lay(t, g, colors, opt)
		runtime.GOMAXPROCS(before)
		if want == nil {
			want = at
		}
		require.Equal(t, want, at)
	}
}

// The same cells on every machine: a picture made of integers, so that only
// Place's own arithmetic could differ.
func TestPlaceIsTheSameEverywhere(t *testing.T) {
	g := lab.NewGrid(61, 47)
	for i := range g.Cells {
		x, y := i%61, i/61
		g.Set(x, y, lab.Color{L: float64(20 + x + (i*i*7+y*13)%17), A: float64((x-30)*(y-20)%40) / 2, B: float64(y - 15 + i*11%9)})
	}
	var colors []lab.Color
	for i := range 24 {
		colors = append(colors, lab.Color{L: float64(20 + i*37%71), A: float64(i*17%31 - 15), B: float64(i*29%43 - 18)})
	}
	var got bytes.Buffer
	for _, opt := range []Options{{}, {Calm: .25}, {Calm: .5}, {Calm: 1}, {Blend: 1, Smooth: 1, Lone: 2}} {
		fmt.Fprintf(&got, "calm %v, blend %v, smooth %v, lone %v\n", opt.Calm, opt.Blend, opt.Smooth, opt.Lone)
		for i, c := range lay(t, g, colors, opt) {
			got.WriteByte("abcdefghijklmnopqrstuvwx"[c])
			if i%61 == 60 {
				got.WriteByte('\n')
			}
		}
	}
	golden.Equal(t, "place.txt", got.Bytes())
}

func TestPlaceSmallAndOdd(t *testing.T) {
	for _, size := range [][2]int{{1, 1}, {2, 1}, {1, 3}, {17, 16}, {16, 33}} {
		g := scene(size[0], size[1])
		for _, k := range []int{1, 2, 40} {
			colors := make([]lab.Color, k) // some alike
			for i := range colors {
				colors[i] = lab.Color{L: float64(i % 7 * 15), A: float64(i % 3)}
			}
			for _, opt := range []Options{{Calm: .5}, {Calm: 1}, {Calm: 7}, {Calm: math.NaN()}, {Blend: 2, Smooth: 1, Lone: 3}, {Lone: 1}} {
				for _, c := range lay(t, g, colors, opt) {
					require.Less(t, int(c), k)
				}
			}
		}
	}
}

func TestPlaceStops(t *testing.T) {
	g := scene(50, 50)
	ctx, cancel := context.WithCancel(context.Background())
	steps := 0
	ctx = say.WithProgress(ctx, func(_ string, done, total int) {
		steps++
		if done == 2 {
			cancel()
		}
	})
	at, err := Place(ctx, g, spread(g, 12), nil, Options{Calm: .5})
	assert.ErrorIs(t, err, context.Canceled)
	assert.Len(t, at, len(g.Cells))
	assert.Positive(t, steps)
}

// photoGrid reads a picture and makes it cols wide, by area in linear light.
func photoGrid(t testing.TB, path string, cols int) *lab.Grid {
	f, err := os.Open(path)
	require.NoError(t, err)
	defer f.Close()
	img, _, err := image.Decode(f)
	require.NoError(t, err, path)
	b := img.Bounds()
	rows := (cols*b.Dy() + b.Dx()/2) / b.Dx()
	sums := make([][4]float64, cols*rows)
	for y := range b.Dy() {
		for x := range b.Dx() {
			r, gr, bl, _ := img.At(b.Min.X+x, b.Min.Y+y).RGBA()
			s := &sums[y*rows/b.Dy()*cols+x*cols/b.Dx()]
			for k, v := range []uint32{r, gr, bl} {
				s[k] += float64(lab.Linear[v>>8]) / lab.LinearOne
			}
			s[3]++
		}
	}
	g := lab.NewGrid(cols, rows)
	for i, s := range sums {
		require.Positive(t, s[3], fmt.Sprint("cell ", i, " of ", path))
		g.Set(i%cols, i/cols, lab.FromLinear(s[0]/s[3], s[1]/s[3], s[2]/s[3]))
	}
	return g
}
