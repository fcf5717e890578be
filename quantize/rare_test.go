package quantize

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/lab"
)

// At 18 colors the plain mean paints the cat's green eyes in the tan of the
// fur. Rare .5 brings them back for less than 1.2 percent of the mean.
func TestRareKeepsTheGreenEyes(t *testing.T) {
	if testing.Short() {
		t.Skip("skipped: takes seconds under the race detector")
	}
	card := munsell(t)
	for _, c := range []struct {
		cols, rows int
		eyes       [][3]float64 // column, row and radius of each
	}{
		{160, 200, [][3]float64{{45, 76, 17}}},
		{200, 160, [][3]float64{{91, 61, 11}, {143, 75, 10}}},
	} {
		g := demoGrid(t, c.cols, c.rows)
		p, err := Prepare(g, card)
		require.NoError(t, err)
		var green []int // the green of the irises
		for i, cell := range g.Cells {
			for _, e := range c.eyes {
				in := math.Hypot(float64(i%c.cols)-e[0], float64(i/c.cols)-e[1]) < e[2]
				if in && hue(cell) > 80 && math.Hypot(cell.A, cell.B) > 18 && cell.L > 30 {
					green = append(green, i)
				}
			}
		}
		require.Greater(t, len(green), 90)

		look := func(rare float64) (mean, miss, off float64) {
			s, err := p.Select(context.Background(), Options{K: 18, Rare: rare})
			require.NoError(t, err)
			require.Equal(t, s.Cost, s.Bound, "proven for the weights in force")
			for i, cell := range g.Cells {
				mean += lab.DeltaE(cell, card[s.Chosen[s.Cells[i]]]) / float64(len(g.Cells))
			}
			for _, i := range green {
				painted := card[s.Chosen[s.Cells[i]]]
				miss += lab.DeltaE(g.Cells[i], painted) / float64(len(green))
				off += (hue(g.Cells[i]) - hue(painted)) / float64(len(green))
			}
			return mean, miss, off
		}
		mean, miss, off := look(0)
		mean2, miss2, off2 := look(0.5)
		t.Logf("%d x %d: mean %.3f, eyes off by %.2f and %.1f degrees; with rare colors %.3f (%+.2f %%), %.2f and %.1f degrees",
			c.cols, c.rows, mean, miss, off, mean2, 100*(mean2/mean-1), miss2, off2)
		assert.Less(t, mean2, 1.012*mean)
		assert.Less(t, miss2, miss-0.9)
		assert.Less(t, off2, off-1.9)
	}
}

func hue(c lab.Color) float64 { return math.Atan2(c.B, c.A) * 180 / math.Pi }

// A focus counts as many times more as it says, whatever Rare makes of its
// color; a weight shrinks with the number of cells.
func TestFocusIsNotCompressed(t *testing.T) {
	g := lab.NewGrid(40, 10)
	times, weight := make([]uint16, 400), make([]uint16, 400)
	for i := range g.Cells {
		g.Cells[i] = lab.Color{L: 80}
		times[i], weight[i] = 16, 16
		if i >= 380 { // an eye
			g.Cells[i] = lab.Color{L: 5}
			times[i], weight[i] = 48, 48
		}
	}
	p, err := Prepare(g, []lab.Color{{L: 5}, {L: 40}, {L: 80}})
	require.NoError(t, err)
	share := func(opt Options) float64 {
		w := p.objective(opt).weights[2]
		require.Len(t, w, 2)
		return float64(w[0]) / float64(w[1]) // dark against light
	}
	bare := share(Options{Rare: 0.7})
	assert.InDelta(t, 3*bare, share(Options{Rare: 0.7, Focus: times}), 1e-3*bare)
	assert.Less(t, share(Options{Rare: 0.7, Weight: weight}), 2.3*bare)
	assert.InDelta(t, 3*share(Options{}), share(Options{Focus: times}), 1e-9)
	_, err = p.Select(context.Background(), Options{K: 1, Focus: times[1:]})
	assert.Error(t, err)
}
