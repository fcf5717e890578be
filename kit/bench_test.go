package kit

import (
	"bytes"
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"kitwright/photo"
)

// prepared returns the demo photo ready for a canvas of cols x rows drills.
func prepared(t testing.TB, cols, rows int) (*Prepared, Choice) {
	o := DefaultOrder()
	o.Grid, o.Turn = Cells{cols, rows}, TurnAsked
	s, err := Open(context.Background(), bytes.NewReader(photo.Demo()), photo.DemoName)
	require.NoError(t, err)
	p, err := s.Lay(context.Background(), o.Canvas, o.Light)
	require.NoError(t, err)
	return p, o.Choice
}

func BenchmarkKit(b *testing.B) {
	for range b.N {
		p, o := prepared(b, 160, 200)
		_, err := p.Kit(context.Background(), o)
		require.NoError(b, err)
	}
}

func BenchmarkLadder(b *testing.B) {
	for range b.N {
		p, o := prepared(b, 160, 200)
		_, _, err := p.Ladder(context.Background(), o, []int{8, 12, 18, 24, 30, 40, 60})
		require.NoError(b, err)
	}
}
