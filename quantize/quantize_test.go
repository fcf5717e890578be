package quantize

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"runtime"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/say"
	"kitwright/lab"
)

// meadow is a made-up picture: soft fields of color, a little noise, and a
// small bright spot.
func meadow(cols, rows int) *lab.Grid {
	rng := rand.New(rand.NewPCG(9, 9))
	g := lab.NewGrid(cols, rows)
	for y := range rows {
		for x := range cols {
			u, v := float64(x)/float64(cols), float64(y)/float64(rows)
			c := lab.Color{
				L: 30 + 50*v + 8*math.Sin(9*u) + 2*rng.NormFloat64(),
				A: 40*math.Sin(5*u+3*v) + 2*rng.NormFloat64(),
				B: 45*math.Cos(4*v-6*u) + 2*rng.NormFloat64(),
			}
			if math.Hypot(u-0.7, v-0.3) < 0.03 {
				c = lab.Color{L: 60, A: -50, B: 50}
			}
			g.Set(x, y, c)
		}
	}
	return g
}

// plainNearest is the nearest color for each cell, the slow way.
func plainNearest(g *lab.Grid, from []lab.Color, chosen []int) (cells []uint16, cost int64) {
	for _, c := range g.Cells {
		best, at := int32(math.MaxInt32), 0
		for k, j := range chosen {
			if d := int32(math.Round(lab.DeltaE(c, from[j]) * Unit)); d < best {
				best, at = d, k
			}
		}
		cells = append(cells, uint16(at))
		cost += int64(best)
	}
	return cells, cost
}

func TestSelectAgreesWithPlainNearest(t *testing.T) {
	card := munsell(t)
	pictures := map[string]*lab.Grid{"meadow": meadow(40, 30), "cat": demoGrid(t, 80, 100)}
	if !testing.Short() {
		t.Run("photos", func(t *testing.T) {
			for _, name := range photoNames {
				pictures[name] = loadPhoto(t, name, 160, 200)
			}
		})
	}
	for name, g := range pictures {
		s, err := Select(context.Background(), g, card, Options{K: 18, Effort: Quick})
		require.NoError(t, err)
		require.Len(t, s.Chosen, 18, name)
		require.IsIncreasing(t, s.Chosen, name)
		cells, cost := plainNearest(g, card, s.Chosen)
		assert.Equal(t, cells, s.Cells, name)
		assert.Equal(t, cost, s.Cost, name)
		assert.LessOrEqual(t, s.Bound, s.Cost, name)
		assert.Less(t, s.Gap(), 0.03, name)

		p, err := Prepare(g, card)
		require.NoError(t, err)
		assert.Equal(t, cells, p.Nearest(s.Chosen), "%s, without lists", name)
	}
}

// Lists that leave out what cannot matter prove the same optimum as the whole
// matrix of all cells and colors.
func TestSelectAgreesWithAllPairs(t *testing.T) {
	g, card := demoGrid(t, 24, 30), munsell(t)
	c := Costs{Clients: len(g.Cells), Facilities: len(card)}
	for _, cell := range g.Cells {
		for _, color := range card {
			c.At = append(c.At, int32(math.Round(lab.DeltaE(cell, color)*Unit)))
		}
	}
	for _, k := range []int{1, 2, 5, 12, 30} {
		m, err := Median(context.Background(), c, MedianOptions{K: k})
		require.NoError(t, err)
		s, err := Select(context.Background(), g, card, Options{K: k})
		require.NoError(t, err)
		require.Equal(t, m.Cost, m.Bound, "k %d", k)
		require.Equal(t, m.Cost, s.Cost, "k %d", k)
		require.Equal(t, m.Cost, s.Bound, "k %d", k)
	}
}

// The same answer on any number of cores, and from a problem that was asked
// before.
func TestSelectIsTheSameEverywhere(t *testing.T) {
	g, card := demoGrid(t, 80, 100), munsell(t)
	if testing.Short() {
		g = demoGrid(t, 40, 50)
	}
	opt := Options{K: 14, Rare: 0.5}
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	want, err := Select(context.Background(), g, card, opt)
	require.NoError(t, err)
	for _, cores := range []int{2, 4, 7} {
		runtime.GOMAXPROCS(cores)
		p, err := Prepare(g, card)
		require.NoError(t, err)
		_, err = p.Select(context.Background(), Options{K: cores, Effort: Quick})
		require.NoError(t, err)
		got, err := p.Select(context.Background(), opt)
		require.NoError(t, err)
		assert.Equal(t, want, got, "%d cores", cores)
	}
}

func TestSelectEdges(t *testing.T) {
	red, green, blue := lab.Color{L: 50, A: 60, B: 40}, lab.Color{L: 60, A: -50, B: 50}, lab.Color{L: 40, A: 10, B: -60}
	two := &lab.Grid{Cols: 3, Rows: 1, Cells: []lab.Color{red, green, red}}
	flat := &lab.Grid{Cols: 2, Rows: 2, Cells: []lab.Color{blue, blue, blue, blue}}
	card := []lab.Color{blue, green, red, red}
	for _, c := range []struct {
		name   string
		g      *lab.Grid
		opt    Options
		chosen []int
		cells  []uint16
	}{
		{"two of two", two, Options{K: 2}, []int{1, 2}, []uint16{1, 0, 1}},
		{"more than there are cells: the useful ones", two, Options{K: 4}, []int{1, 2}, []uint16{1, 0, 1}},
		{"one", two, Options{K: 1}, []int{2}, []uint16{0, 0, 0}},
		{"flat", flat, Options{K: 3}, []int{0}, []uint16{0, 0, 0, 0}},
		{"a kept color stays, used or not", flat, Options{K: 2, Keep: []int{3}}, []int{0, 3}, []uint16{0, 0, 0, 0}},
		{"kept twice", two, Options{K: 2, Keep: []int{3, 3}}, []int{1, 3}, []uint16{1, 0, 1}},
		{"avoided", two, Options{K: 2, Avoid: []int{2, 1}}, []int{0, 3}, []uint16{1, 0, 1}},
		{"a fixed cell", two, Options{K: 3, Fixed: []int32{0, -1, -1}}, []int{0, 1, 2}, []uint16{0, 1, 2}},
		{"all fixed", two, Options{K: 2, Fixed: []int32{0, 0, 1}}, []int{0, 1}, []uint16{0, 0, 1}},
		{"what weighs nothing is not served", two, Options{K: 1, Weight: []uint16{0, 5, 0}}, []int{1}, []uint16{0, 0, 0}},
		{"nothing weighs anything", two, Options{K: 1, Weight: []uint16{0, 0, 0}}, []int{0}, []uint16{0, 0, 0}},
	} {
		s, err := Select(context.Background(), c.g, card, c.opt)
		require.NoError(t, err, c.name)
		assert.Equal(t, c.chosen, s.Chosen, c.name)
		assert.Equal(t, c.cells, s.Cells, c.name)
		assert.Equal(t, s.Cost, s.Bound, c.name)
		assert.Zero(t, s.Gap(), c.name)
	}
}

// Weights are relative: the largest there are give the same choice as 1, and
// nothing overflows.
func TestSelectWithLargeWeights(t *testing.T) {
	g, card := demoGrid(t, 40, 50), munsell(t)
	w := make([]uint16, len(g.Cells))
	for i := range w {
		w[i] = math.MaxUint16
	}
	for _, rare := range []float64{0, 0.5, 1} {
		want, err := Select(context.Background(), g, card, Options{K: 12, Rare: rare})
		require.NoError(t, err)
		got, err := Select(context.Background(), g, card, Options{K: 12, Rare: rare, Weight: w})
		require.NoError(t, err)
		assert.Equal(t, want.Chosen, got.Chosen)
		assert.Equal(t, got.Cost, got.Bound)
	}
}

// A cell that weighs more is met better.
func TestSelectHeedsWeight(t *testing.T) {
	g, card := demoGrid(t, 40, 50), munsell(t)
	w := make([]uint16, len(g.Cells))
	for i := range w {
		w[i] = 1
		if i < len(w)/4 {
			w[i] = 8
		}
	}
	top := func(opt Options) (sum float64) {
		s, err := Select(context.Background(), g, card, opt)
		require.NoError(t, err)
		require.Equal(t, s.Cost, s.Bound)
		for i, c := range g.Cells[:len(w)/4] {
			sum += lab.DeltaE(c, card[s.Chosen[s.Cells[i]]])
		}
		return sum
	}
	assert.Less(t, top(Options{K: 10, Weight: w}), 0.99*top(Options{K: 10}))
}

func TestSelectRefuses(t *testing.T) {
	g, card := meadow(4, 3), munsell(t)
	for name, opt := range map[string]Options{
		"no k":            {},
		"k above card":    {K: len(card) + 1},
		"rare":            {K: 2, Rare: 1.5},
		"rare is nothing": {K: 2, Rare: math.NaN()},
		"weights":         {K: 2, Weight: []uint16{1}},
		"fixed":           {K: 2, Fixed: []int32{1}},
		"fixed color":     {K: 2, Fixed: []int32{0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 9999}},
		"fixed above k":   {K: 1, Fixed: []int32{0, 1, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0}},
		"keep and avoid":  {K: 2, Keep: []int{1}, Avoid: []int{1}},
	} {
		_, err := Select(context.Background(), g, card, opt)
		var said *say.Error
		require.True(t, errors.As(err, &said), name)
		assert.True(t, said.Usage, name)
	}
	_, err := Select(context.Background(), g, nil, Options{K: 1})
	assert.Error(t, err)
	_, err = Select(context.Background(), &lab.Grid{}, card, Options{K: 1})
	assert.Error(t, err)
}

func TestSelectKeepsTheBestWhenStopped(t *testing.T) {
	g, card := meadow(40, 30), munsell(t)
	ctx, stop := context.WithCancel(context.Background())
	reports := 0
	s, err := Select(ctx, g, card, Options{K: 20, Report: func(cost, bound int64) {
		assert.LessOrEqual(t, bound, cost)
		reports++
		stop()
	}})
	require.ErrorIs(t, err, context.Canceled)
	require.NotZero(t, reports)
	cells, cost := plainNearest(g, card, s.Chosen)
	assert.Equal(t, cells, s.Cells)
	assert.Equal(t, cost, s.Cost)
	assert.LessOrEqual(t, s.Bound, s.Cost)
	assert.Less(t, s.Gap(), 0.2)
}

// A sketch proves nothing, and comes close all the same.
func TestSketchIsClose(t *testing.T) {
	g := demoGrid(t, 80, 60)
	p, err := Prepare(g, munsell(t))
	require.NoError(t, err)
	for _, k := range []int{8, 20, 40} {
		sketch, err := p.Select(context.Background(), Options{K: k, Effort: Sketch})
		require.NoError(t, err)
		best, err := p.Select(context.Background(), Options{K: k})
		require.NoError(t, err)
		assert.Zero(t, sketch.Bound)
		assert.GreaterOrEqual(t, sketch.Cost, best.Bound)
		assert.Less(t, float64(sketch.Cost), 1.01*float64(best.Cost), "%d colors", k)
	}
}
