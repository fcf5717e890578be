package quantize

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestLadderRungsAreSelections(t *testing.T) {
	g, card := demoGrid(t, 40, 50), munsell(t)
	p, err := Prepare(g, card)
	require.NoError(t, err)
	counts := []int{24, 8, 12}
	rungs, err := p.Ladder(context.Background(), counts, Options{Rare: 0.5})
	require.NoError(t, err)
	require.Len(t, rungs, len(counts))
	for i, k := range counts {
		s, err := Select(context.Background(), g, card, Options{K: k, Rare: 0.5})
		require.NoError(t, err)
		assert.Equal(t, s, rungs[i], "%d colors", k)
		_, miss := plainNearest(g, card, s.Chosen)
		assert.Equal(t, miss, p.Miss(s.Chosen))
	}
	_, err = p.Ladder(context.Background(), []int{4, 0}, Options{})
	assert.Error(t, err)
}

func TestLadderStops(t *testing.T) {
	p, err := Prepare(demoGrid(t, 40, 50), munsell(t))
	require.NoError(t, err)
	ctx, stop := context.WithCancel(context.Background())
	rungs, err := p.Ladder(ctx, []int{8, 12, 18}, Options{Report: func(int64, int64) { stop() }})
	require.ErrorIs(t, err, context.Canceled)
	require.NotEmpty(t, rungs)
	for i, s := range rungs {
		assert.Len(t, s.Chosen, []int{8, 12, 18}[i])
		assert.Equal(t, p.Miss(s.Chosen), s.Cost)
		assert.LessOrEqual(t, s.Bound, s.Cost)
	}
	rungs, err = p.Ladder(ctx, []int{8, 12}, Options{}) // stopped before it begins
	require.ErrorIs(t, err, context.Canceled)
	require.Len(t, rungs, 1)
	assert.Len(t, rungs[0].Chosen, 8)
	assert.Equal(t, p.Miss(rungs[0].Chosen), rungs[0].Cost)
	assert.LessOrEqual(t, rungs[0].Bound, rungs[0].Cost)
}
