package kit

import (
	"bytes"
	"context"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// No color has fewer drills than were asked for, but those that were to be kept;
// it is told which were left out, and the proof stays below the cost. The ladder
// does the same.
func TestLeast(t *testing.T) {
	s, err := Open(context.Background(), bytes.NewReader(smallCat(t)), "cat.png")
	require.NoError(t, err)
	o := DefaultOrder()
	o.Grid, o.Turn, o.Colors, o.Effort = Cells{48, 36}, TurnAsked, 24, EffortQuick
	o.Keep = []string{"5PB 4/10"} // the cat has no blue
	p, err := s.Lay(context.Background(), o.Canvas, o.Light)
	require.NoError(t, err)
	kit := func(least int) *Kit {
		o.Least = least
		k, err := p.Kit(context.Background(), o.Choice)
		require.NoError(t, err)
		return k
	}
	few := func(k *Kit, least int) (codes []string) {
		for _, e := range k.Chart.Legend {
			if e.Count < least && e.Drill.Address() != o.Keep[0] {
				codes = append(codes, e.Drill.Address())
			}
		}
		return codes
	}
	all, most := kit(0), kit(30)
	require.NotEmpty(t, few(all, 30))
	assert.Empty(t, few(most, 30))
	assert.Less(t, len(most.Chart.Legend), len(all.Chart.Legend))
	assert.Equal(t, all.Chart.Drills(), most.Chart.Drills())
	assert.Contains(t, most.Quality.Objective, "left out that fewer than 30 drills had")
	told := strings.Join(most.Advice, "\n")
	assert.Contains(t, told, "fewer than 30 drills")
	assert.Contains(t, told, few(all, 30)[0])
	assert.NotContains(t, strings.Join(all.Advice, "\n"), "left out")
	assert.LessOrEqual(t, most.Quality.Bound, most.Quality.Cost)
	assert.GreaterOrEqual(t, most.Quality.MeanNearest, most.Quality.MeanBound)
	assert.Greater(t, most.Quality.MeanLeftOut, 0.005)
	assert.InDelta(t, all.Quality.MeanNearest, most.Quality.MeanNearest-most.Quality.MeanLeftOut, 1e-9)
	assert.Contains(t, joined(most.Words()), "fewer colors, as --least asked for")
	assert.NotContains(t, joined(all.Words()), "least")
	assert.Equal(t, all.Chart.Cells, kit(1).Chart.Cells, "every color that is there has one")

	// More than there are drills: two colors stay.
	assert.Len(t, kit(maxLeast).Chart.Legend, MinColors)

	o.Least = 30
	rungs, _, err := p.Ladder(context.Background(), o.Choice, []int{8, 24})
	require.NoError(t, err)
	for _, r := range rungs {
		for _, e := range r.Chart.Legend {
			assert.True(t, e.Count >= 30 || e.Drill.Address() == o.Keep[0], "%d colors: %s has %d", r.Colors, e.Drill.Address(), e.Count)
		}
	}

	// What is recommended is had by asking for what was asked for, not for what
	// was left of it.
	rungs, pick, err := p.Ladder(context.Background(), o.Choice, []int{8, 24, 40})
	require.NoError(t, err)
	require.Greater(t, pick.Asked, pick.Colors)
	i := slices.IndexFunc(rungs, func(r Rung) bool { return r.Asked == pick.Asked })
	require.GreaterOrEqual(t, i, 0)
	o.Colors = pick.Asked
	assert.Equal(t, rungs[i].Chart, kit(30).Chart)
	assert.Len(t, rungs[i].Chart.Legend, pick.Colors)
	o.Colors = pick.Colors
	assert.NotEqual(t, rungs[i].Chart, kit(30).Chart)

	// Colors left out would have served drills.
	_, pick, err = p.Ladder(context.Background(), o.Choice, []int{24})
	require.NoError(t, err)
	assert.Zero(t, pick.Asked)
	assert.Contains(t, pick.Why, "two rungs")

	// However many are asked for, two stay.
	o.Least = maxLeast
	_, pick, err = p.Ladder(context.Background(), o.Choice, []int{3, 5, 8})
	require.NoError(t, err)
	assert.Equal(t, MinColors, pick.Colors)
	assert.NotContains(t, pick.Why, "up to 2")

	o.Own = true
	assert.ErrorContains(t, o.Check(), "least")
}
