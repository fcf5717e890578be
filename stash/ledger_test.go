package stash

import (
	"context"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/measure"
)

const day = "2026-11-26"

func sq(code string) Key {
	return Key{Card: "seaside", Code: code, Shape: "square", Size: 2500 * measure.Micrometer}
}

func fresh(t *testing.T) *Ledger {
	t.Helper()
	l, err := Open(filepath.Join(t.TempDir(), "new", Name))
	require.NoError(t, err)
	return l
}

func TestLotsAreNeverMixed(t *testing.T) {
	ctx, l := context.Background(), fresh(t)
	shine, round, small, other := sq("SR-041"), sq("SR-041"), sq("SR-041"), sq("SR-041")
	shine.Finish, round.Shape, small.Size, other.Card = "AB", "round", 2000*measure.Micrometer, "harbor"
	var what []Amount
	for i, k := range []Key{sq("SR-041"), shine, round, small, other} {
		what = append(what, Amount{Key: k, Drills: 100 + i})
	}
	_, err := l.Add(ctx, day, what...)
	require.NoError(t, err)
	again, err := Open(l.Path())
	require.NoError(t, err)
	assert.Len(t, again.Lots(), 5)
	assert.Equal(t, map[string]int{"SR-041": 100, "SR-041/AB": 101}, again.Owned("Seaside", "square", 2500*measure.Micrometer))
	assert.Equal(t, map[string]int{"SR-041": 102}, again.Owned("seaside", "round", 2500*measure.Micrometer))
	assert.Equal(t, map[string]int{"SR-041": 103}, again.Owned("seaside", "square", 2000*measure.Micrometer))
	assert.Empty(t, again.Owned("seaside", "round", 2800*measure.Micrometer))
}

func TestCountAndUndo(t *testing.T) {
	ctx, l := context.Background(), fresh(t)
	_, err := l.Add(ctx, day, Amount{Key: sq("SR-1"), Drills: 200, Place: `box 3, "low"`, Note: "=1+1"})
	require.NoError(t, err)
	lines, err := l.Count(ctx, day, Amount{Key: sq("SR-1"), Drills: 163, Place: "tin"})
	require.NoError(t, err)
	assert.Equal(t, -37, lines[0].Drills)
	assert.Equal(t, []Lot{{Key: sq("SR-1"), Drills: 163, Place: "tin", Note: "=1+1"}}, l.Lots())
	was, _, err := l.Undo(ctx, day)
	require.NoError(t, err)
	assert.Equal(t, Counted, was[0].Act)
	assert.Equal(t, []Lot{{Key: sq("SR-1"), Drills: 200, Place: `box 3, "low"`, Note: "=1+1"}}, l.Lots())
	_, _, err = l.Undo(ctx, day)
	require.NoError(t, err)
	assert.Equal(t, []Lot{{Key: sq("SR-1")}}, l.Lots())
	_, _, err = l.Undo(ctx, day)
	assert.ErrorContains(t, err, "nothing in the stash to undo")
	assert.Len(t, l.History(func(Key) bool { return true }), 4)
}
