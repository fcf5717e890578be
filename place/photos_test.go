package place_test

import (
	"context"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
	"kitwright/kit"
	"kitwright/lab"
	"kitwright/palettes"
	"kitwright/place"
	"kitwright/quantize"
)

// soft are the photos with soft grounds that promises are made for; the others
// have grass and branches all over. The strengths were chosen with all in sight.
var soft = []string{"chelsea", "rocket", "coffee", "astronaut", "scarlet_macaw", "panda", "chameleon", "lemur", "koala"}

// sample is a photo toned and sampled as a chart does, with its colors.
type sample struct {
	name   string
	path   string
	grid   *lab.Grid
	card   []lab.Color
	chosen []int // indices of the card
	colors []lab.Color
	far    [2]*lab.FarView // from 2 and 4 m
}

// photos are the four open photos of scikit-image and those of the animals'
// folder.
func photos(t testing.TB) (paths []string) {
	folder := checker.Folder(t, "KITWRIGHT_PHOTOS")
	for _, name := range []string{"chelsea.png", "astronaut.png", "coffee.png", "rocket.jpg"} {
		paths = append(paths, filepath.Join(folder, name))
	}
	animals, err := filepath.Glob(filepath.Join(checker.Folder(t, "KITWRIGHT_ANIMALS"), "*.webp"))
	require.NoError(t, err)
	require.NotEmpty(t, animals)
	return append(paths, animals...)
}

// sampleOf is a photo at 160x120 drills in 24 colors of the munsell card.
func sampleOf(t testing.TB, path string) *sample {
	card, err := palettes.Named("munsell")
	require.NoError(t, err)
	f, err := os.Open(path)
	require.NoError(t, err)
	o := kit.DefaultOrder()
	o.Grid = kit.Cells{Cols: 160, Rows: 120}
	s, err := kit.Open(context.Background(), f, path)
	require.NoError(t, f.Close())
	require.NoError(t, err)
	p, err := s.Lay(context.Background(), o.Canvas, o.Light)
	require.NoError(t, err)
	one := &sample{name: nameOf(path), path: path, grid: p.Picture(o.Choice).After}
	for _, d := range card.Drills {
		one.card = append(one.card, d.Lab)
	}
	sel, err := quantize.Select(context.Background(), one.grid, one.card, quantize.Options{K: 24, Rare: o.Rare})
	require.NoError(t, err)
	one.chosen = sel.Chosen
	for _, j := range sel.Chosen {
		one.colors = append(one.colors, one.card[j])
	}
	for i, meters := range []float64{2, 4} {
		one.far[i] = lab.NewFarView(one.grid, lab.CellsPerDegree(2.5, meters*1000))
	}
	return one
}

func nameOf(path string) string {
	base := filepath.Base(path)
	return strings.TrimSuffix(base, filepath.Ext(base))
}

// samples are the first photos.
func samples(t testing.TB, first int) (list []*sample) {
	for _, path := range photos(t)[:first] {
		list = append(list, sampleOf(t, path))
	}
	return list
}

// exchange swaps colors for others that lay better, as a chart does.
func (s *sample) exchange(t testing.TB) {
	p, err := quantize.Prepare(s.grid, s.card)
	require.NoError(t, err)
	opt := quantize.Options{K: len(s.chosen), Rare: kit.DefaultOrder().Rare}
	price := p.Price(opt)
	most := 1.02 * float64(price(s.chosen))
	now, _, err := place.Exchange(context.Background(), s.grid, s.chosen, place.Options{Calm: .5}, place.Exchanges{
		From: s.card, Price: func(now []int) (float64, bool) { return 0, float64(price(now)) <= most },
	})
	require.NoError(t, err)
	s.chosen, s.colors = now, nil
	for _, j := range now {
		s.colors = append(s.colors, s.card[j])
	}
}

// figures of a laid picture, or their means.
type figures struct{ near, two, four, confetti, straight float64 }

func (s *sample) made(cells []uint16) *lab.Grid {
	made := lab.NewGrid(s.grid.Cols, s.grid.Rows)
	for i, c := range cells {
		made.Cells[i] = s.colors[c]
	}
	return made
}

func (s *sample) judge(cells []uint16) (f figures) {
	cols, rows := s.grid.Cols, s.grid.Rows
	made := s.made(cells)
	f.two, f.four = lab.MeanMiss(s.far[0].Miss(made)), lab.MeanMiss(s.far[1].Miss(made))
	for i, c := range cells {
		x, y := i%cols, i/cols
		f.near += lab.DeltaE(s.grid.Cells[i], s.colors[c]) / float64(len(cells))
		if !(x > 0 && cells[i-1] == c || x+1 < cols && cells[i+1] == c || y > 0 && cells[i-cols] == c || y+1 < rows && cells[i+cols] == c) {
			f.confetti += 1 / float64(len(cells))
		}
	}
	// Straight borders: eight drills and more of one color on either side.
	along := func(n int, at func(i int) (a, b uint16)) {
		for start, i := 0, 1; i <= n; i++ {
			a, b := at(start)
			if i < n {
				if c, d := at(i); a == c && b == d {
					continue
				}
			}
			if a != b && i-start >= 8 {
				f.straight += float64(i - start)
			}
			start = i
		}
	}
	for y := range rows - 1 {
		along(cols, func(x int) (a, b uint16) { return cells[y*cols+x], cells[(y+1)*cols+x] })
	}
	for x := range cols - 1 {
		along(rows, func(y int) (a, b uint16) { return cells[y*cols+x], cells[y*cols+x+1] })
	}
	return f
}

func (s *sample) lay(t testing.TB, calm float64) []uint16 {
	cells, err := place.Place(context.Background(), s.grid, s.colors, place.Options{Calm: calm})
	require.NoError(t, err)
	return cells
}

func (s *sample) nearest() []uint16 {
	cells := make([]uint16, len(s.grid.Cells))
	for i, c := range s.grid.Cells {
		cells[i] = closest(c, s.colors)
	}
	return cells
}

func closest(c lab.Color, colors []lab.Color) (at uint16) {
	least := math.Inf(1)
	for j, q := range colors {
		if d := lab.DeltaE(c, q); d < least {
			least, at = d, uint16(j)
		}
	}
	return at
}

// diffused is error diffusion with the weights of R. W. Floyd and L. Steinberg
// (1976), rows by turns from left and right, in linear light, at .8 of its
// strength (stronger winds up where the colors end).
func (s *sample) diffused() []uint16 {
	cols, rows := s.grid.Cols, s.grid.Rows
	light, own := make([][3]float64, cols*rows), make([][3]float64, len(s.colors))
	for i, c := range s.grid.Cells {
		light[i][0], light[i][1], light[i][2] = c.LinearRGB()
	}
	for i, c := range s.colors {
		own[i][0], own[i][1], own[i][2] = c.LinearRGB()
	}
	cells := make([]uint16, cols*rows)
	for y := range rows {
		for step := range cols {
			x, ahead := step, 1
			if y%2 == 1 {
				x, ahead = cols-1-step, -1
			}
			i := y*cols + x
			var v [3]float64
			for k := range v {
				v[k] = math.Min(1, math.Max(0, light[i][k]))
			}
			cells[i] = closest(lab.FromLinear(v[0], v[1], v[2]), s.colors)
			for _, to := range [][3]int{{ahead, 0, 7}, {-ahead, 1, 3}, {0, 1, 5}, {ahead, 1, 1}} {
				if xx, yy := x+to[0], y+to[1]; xx >= 0 && xx < cols && yy < rows {
					for k := range v {
						light[yy*cols+xx][k] += .8 * float64(to[2]) / 16 * (v[k] - own[cells[i]][k])
					}
				}
			}
		}
	}
	return cells
}

// On soft grounds the default is closer from two and from four meters than the
// nearest colors are, with a fraction of their lone drills and straight
// borders; calm 0 is as close as error diffusion, with a sixth of its lone
// drills. Held-out photos are logged beside.
func TestPlaceOnPhotos(t *testing.T) {
	if testing.Short() {
		t.Skip("skipped: lays sixteen photos five ways")
	}
	ways := []string{"nearest", "error diffusion .8", "calm 0", "calm 0.5", "calm 1"}
	sum := map[string]*[5]figures{"soft": {}, "held out": {}}
	count := map[string]float64{}
	for _, path := range photos(t) {
		s := sampleOf(t, path)
		set := "held out"
		for _, name := range soft {
			if s.name == name {
				set = "soft"
			}
		}
		count[set]++
		for i, cells := range [][]uint16{s.nearest(), s.diffused(), s.lay(t, 0), s.lay(t, .5), s.lay(t, 1)} {
			f, m := s.judge(cells), &sum[set][i]
			m.near, m.two, m.four, m.confetti, m.straight = m.near+f.near, m.two+f.two, m.four+f.four, m.confetti+f.confetti, m.straight+f.straight
			t.Logf("%-14s %-18s near %.2f  2 m %.2f  4 m %.2f  lone %4.1f %%  straight %3.0f", s.name, ways[i], f.near, f.two, f.four, 100*f.confetti, f.straight)
		}
	}
	for _, set := range []string{"soft", "held out"} {
		m, n := sum[set], count[set]
		for i, w := range ways {
			t.Logf("%.0f %s: %-18s near %.2f  2 m %.3f (%.3f of nearest)  4 m %.3f (%.3f)  lone %5.2f %%  straight %.0f (%.2f)",
				n, set, w, m[i].near/n, m[i].two/n, m[i].two/m[0].two, m[i].four/n, m[i].four/m[0].four, 100*m[i].confetti/n, m[i].straight/n, m[i].straight/m[0].straight)
		}
	}
	m, n := sum["soft"], count["soft"]
	require.GreaterOrEqual(t, n, 7.)
	assert.LessOrEqual(t, m[3].two/m[0].two, .89)
	assert.LessOrEqual(t, m[3].four/m[0].four, .777)
	assert.LessOrEqual(t, m[3].confetti/n, .02)
	assert.LessOrEqual(t, m[3].straight, .5*m[0].straight)
	assert.LessOrEqual(t, m[2].two/m[1].two, .98)
	assert.LessOrEqual(t, m[2].four/m[1].four, 1.)
	assert.LessOrEqual(t, m[2].confetti/m[1].confetti, .15)
	assert.LessOrEqual(t, m[4].confetti/n, .003)
}

// BenchmarkPlace lays 32,000 cells in 30 colors; the limit is how far the best
// way to lay them may lie below.
func BenchmarkPlace(b *testing.B) {
	for _, s := range samples(b, 4) {
		b.Run(s.name, func(b *testing.B) {
			g := lab.NewGrid(160, 200)
			for i := range g.Cells {
				g.Cells[i] = s.grid.At(i%160*s.grid.Cols/160, i/160*s.grid.Rows/200)
			}
			sel, err := quantize.Select(context.Background(), g, s.card, quantize.Options{K: 30, Effort: quantize.Quick})
			require.NoError(b, err)
			var colors []lab.Color
			for _, j := range sel.Chosen {
				colors = append(colors, s.card[j])
			}
			var cells []uint16
			for b.Loop() {
				cells, err = place.Place(context.Background(), g, colors, place.Options{Calm: .5})
				require.NoError(b, err)
			}
			b.StopTimer()
			energy, bound := place.Judge(g, colors, cells, place.Options{Calm: .5})
			b.ReportMetric(bound/energy, "bound/energy")
		})
	}
}

// BenchmarkExchange swaps some of 24 colors for others that lay better, the last
// laying included; after/before is the energy.
func BenchmarkExchange(b *testing.B) {
	for _, path := range photos(b) {
		b.Run(nameOf(path), func(b *testing.B) {
			s := sampleOf(b, path)
			chosen, colors := s.chosen, s.colors
			energy := func() float64 {
				e, _ := place.Judge(s.grid, s.colors, s.lay(b, .5), place.Options{Calm: .5})
				return e
			}
			before := energy()
			for b.Loop() {
				s.chosen, s.colors = chosen, colors
				s.exchange(b)
			}
			b.StopTimer()
			b.ReportMetric(energy()/before, "after/before")
		})
	}
}

func ExamplePlace() {
	g := lab.NewGrid(6, 1)
	for x := range 6 {
		g.Set(x, 0, lab.Color{L: 30 + 8*float64(x)})
	}
	cells, _ := place.Place(context.Background(), g, []lab.Color{{L: 30}, {L: 70}}, place.Options{Calm: 1})
	fmt.Println(cells)
	// Output: [0 0 0 1 1 1]
}
