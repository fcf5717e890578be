package kit

import (
	"bytes"
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"kitwright/palettes"
	"kitwright/photo"
)

// prepared returns the demo photo ready for a canvas of cols x rows drills.
func prepared(t testing.TB, cols, rows int) (*Prepared, Order) {
	card, err := palettes.Named("munsell")
	require.NoError(t, err)
	o := DefaultOrder()
	o.Grid, o.Turn = Cells{cols, rows}, TurnAsked
	p, err := Prepare(context.Background(), Input{Photo: bytes.NewReader(photo.Demo()), PhotoName: "cat.png", Card: card}, o)
	require.NoError(t, err)
	return p, o
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
		_, err := p.Ladder(context.Background(), o, []int{8, 12, 18, 24, 30, 40, 60})
		require.NoError(b, err)
	}
}

func BenchmarkPick(b *testing.B) {
	for range b.N {
		p, o := prepared(b, 160, 200)
		_, err := p.Pick(context.Background(), o)
		require.NoError(b, err)
	}
}
