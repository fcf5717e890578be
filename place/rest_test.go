package place

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// Cells that rest are left out and nothing else comes of it: a picture whose
// cells are all looked at in every pass has the same cells after each.
func TestRestChangesNothing(t *testing.T) {
	g := scene(96, 80)
	colors := spread(g, 20)
	rested := 0
	for _, calm := range []float64{0, .5, 1} {
		opt := Options{Calm: calm, Scene: NewScene(g, 0)}
		l, all := newLayer(g, colors, opt), newLayer(g, colors, opt)
		for pass := range passes {
			l.price(pass < early)
			all.price(pass < early)
			for i, until := range l.rest {
				if until >= l.drifts[l.block(l.place(i%g.Cols, i/g.Cols))].sum {
					rested++
				}
				all.rest[i] = -1
			}
			require.Equal(t, all.pass(pass), l.pass(pass), "calm %v, pass %d", calm, pass)
			require.Equal(t, all.cells(), l.cells(), "calm %v, pass %d", calm, pass)
		}
	}
	require.Greater(t, rested, 20_000)
}
