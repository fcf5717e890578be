package place

import (
	"context"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/lab"
)

// A soft ground of one hue between two colors beside it in hue: one more shade
// of its own lays better, and comes in for the color that nothing needs. What
// must stay stays, and what is not allowed is not taken.
func TestExchange(t *testing.T) {
	g := shaded(48, 40, lab.Color{L: 60, A: 0, B: -12}, lab.Color{L: 66, A: 0, B: -12})
	from := []lab.Color{{L: 63, A: 8, B: -12}, {L: 63, A: -8, B: -12}, {L: 20}, {L: 61, A: 0, B: -12}, {L: 65, A: 0, B: -12}, {L: 90}}
	run := func(ex Exchanges, opt Options) []int {
		ex.From, opt.Calm = from, .5
		now, cells, err := Exchange(context.Background(), g, []int{0, 1, 2}, opt, ex)
		require.NoError(t, err)
		require.Len(t, now, 3)
		opt.Fixed = moved(opt.Fixed, []int{0, 1, 2}, now)
		assert.Equal(t, lay(t, g, colorsOf(from, now), opt), cells, "the cells are those that Place lays")
		return now
	}
	now := run(Exchanges{}, Options{})
	assert.Contains(t, now, 3)
	assert.Contains(t, now, 4)
	assert.IsIncreasing(t, now)
	assert.Contains(t, run(Exchanges{Stay: []int{2}}, Options{}), 2)
	assert.NotContains(t, run(Exchanges{Out: []int{4}}, Options{}), 4)
	assert.Equal(t, []int{0, 1, 2}, run(Exchanges{Price: func([]int) (float64, bool) { return 0, false }}, Options{}))
	assert.Equal(t, []int{0, 1, 2}, run(Exchanges{Price: func([]int) (float64, bool) { return 0.99, true }}, Options{}), "what saves too little for its price")
	fixed := make([]int32, len(g.Cells))
	for i := range fixed {
		fixed[i] = -1
	}
	fixed[7] = 2
	assert.Contains(t, run(Exchanges{}, Options{Fixed: fixed}), 2, "what a settled cell has stays")

	ctx, stop := context.WithCancel(context.Background())
	stop()
	now, _, err := Exchange(ctx, g, []int{0, 1, 2}, Options{}, Exchanges{From: from})
	assert.ErrorIs(t, err, context.Canceled)
	assert.Equal(t, []int{0, 1, 2}, now)
}

// The energy never rises by an exchange, and what it was found by, a picture of
// which only what the exchange touches was laid anew, has hardly another energy
// than one laid from the beginning.
func TestExchangeNeverRises(t *testing.T) {
	g := scene(60, 44)
	from := append(spread(g, 24), spread(scene(20, 20), 20)...)
	chosen := []int{0, 1, 2, 3, 4, 5, 6, 7, 8, 9}
	opt := Options{Calm: .5, Scene: NewScene(g, 0)}
	energy := func(chosen []int) float64 {
		colors := colorsOf(from, chosen)
		return energyOf(g, colors, lay(t, g, colors, opt), opt)
	}
	now, _, err := Exchange(context.Background(), g, chosen, opt, Exchanges{From: from})
	require.NoError(t, err)
	assert.NotEqual(t, chosen, now)
	assert.Less(t, energy(now), energy(chosen))

	l, _ := laid(context.Background(), g, colorsOf(from, chosen), opt)
	l.settle(trialFull)
	before := l.cells()
	for s := range chosen {
		next := slices.Clone(chosen)
		next[s] = 10 + s
		trial := l.instead(s, from[10+s])
		colors := colorsOf(from, next)
		assert.InEpsilon(t, energyOf(g, colors, trial.cells(), opt), float64(trial.energy())/unit, 1e-9, "as reckoned anew")
		miss := trial.misses()
		for q := trial.place(0, 0); q < trial.place(59, 43); q += 53 {
			if trial.free[q] {
				f := trial.blurred(miss, q)
				a, b, c := trial.near[q].times(f[0], f[1], f[2])
				require.Equal(t, [3]int64{a, b, c}, trial.pull[q])
			}
		}
		require.Equal(t, trial.meshOf(miss).blur, trial.mesh.blur)
		assert.InEpsilon(t, energy(next), float64(trial.energy())/unit, .02, "color %d", s)
	}
	assert.Equal(t, before, l.cells(), "a trial leaves the picture as it is")
}
