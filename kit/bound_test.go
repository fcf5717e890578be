package kit

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/photo"
	"kitwright/quantize"
)

// What no choice of so many colors gets below is said of the photo's drills.
// A border or a caption, whatever its color, takes nothing away from it.
func TestBorderDoesNotRaiseTheLimit(t *testing.T) {
	if testing.Short() {
		t.Skip("skipped: -short")
	}
	ctx := context.Background()
	for _, background := range []Background{{}, {Colors: 2}} {
		var want Quality
		var rungs []Rung
		for i, border := range []Border{{}, {3, "5PB 4/10"}, {1, "5R 4/14"}} {
			p, c := prepare(t, photo.Demo(), func(o *Order) {
				o.Grid = Cells{60 + 2*border.Drills, 40 + 2*border.Drills}
				o.Border, o.Colors, o.Background, o.Subject = border, 8, background, Box{15, 5, 70, 90}
			})
			k, err := p.Kit(ctx, c)
			require.NoError(t, err)
			r, _, err := p.Ladder(ctx, c, []int{8, 12})
			require.NoError(t, err)
			require.True(t, k.Quality.MeanProven)
			if i == 0 {
				want, rungs = k.Quality, r
				continue
			}
			assert.Equal(t, want.MeanBound, k.Quality.MeanBound, "%s", &border)
			assert.Equal(t, want.MeanBest, k.Quality.MeanBest, "%s", &border)
			for j := range r {
				assert.Equal(t, rungs[j].Bound, r[j].Bound, "%s, %d colors", &border, r[j].Colors)
			}
		}
	}
	// Nothing else asked for: the border alone, too, leaves the limit as it is.
	plain, c := prepare(t, photo.Demo(), func(o *Order) { o.Colors, o.Rare = 8, 0 })
	bare, err := plain.Kit(ctx, c)
	require.NoError(t, err)
	framed, c := prepare(t, photo.Demo(), func(o *Order) {
		o.Colors, o.Rare, o.Grid, o.Border = 8, 0, Cells{66, 46}, Border{3, "5PB 4/10"}
	})
	with, err := framed.Kit(ctx, c)
	require.NoError(t, err)
	assert.Equal(t, bare.Quality.MeanBound, with.Quality.MeanBound)
	assert.Greater(t, with.Quality.MeanNearest, bare.Quality.MeanNearest, "a color of the eight went to the border")
}

// A limit never says more than was proven: it is rounded down, and the cost to
// the nearest.
func TestLimitIsRoundedDown(t *testing.T) {
	const weight = 3
	cost := int64(quantize.Unit) * 2 // two thirds of a unit each
	assert.Equal(t, 0.6667, perWeight(cost, weight))
	assert.Equal(t, 0.6666, perWeightDown(cost, weight))
	assert.Equal(t, 2.0, perWeightDown(quantize.Unit*6, weight))
}
