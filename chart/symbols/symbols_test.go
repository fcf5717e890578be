package symbols

import (
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestTableIsWhole(t *testing.T) {
	require.Len(t, table, Max)
	names, runes := map[string]bool{}, map[rune]bool{' ': true, Disc: true}
	for i, s := range table {
		assert.False(t, names[s.Name], "two are called %s", s.Name)
		assert.False(t, runes[s.Rune], "%s has the place of another", s.Name)
		names[s.Name], runes[s.Rune] = true, true
		assert.Equal(t, i < Named, !strings.HasPrefix(s.Name, "mark "), "%d: %s", i, s.Name)
		assert.LessOrEqual(t, utf8.RuneCountInString(s.Name), 18, "%s is long for a label", s.Name)
		lo, hi := Point{1, 1}, Point{-1, -1}
		for _, p := range s.Paths {
			for _, c := range p {
				require.GreaterOrEqual(t, len(c), 3, s.Name)
				for _, v := range c {
					lo, hi = Point{min(lo.X, v.X), min(lo.Y, v.Y)}, Point{max(hi.X, v.X), max(hi.Y, v.Y)}
				}
			}
		}
		assert.True(t, lo.X >= -1 && lo.Y >= -1 && hi.X <= 1 && hi.Y <= 1, "%s sticks out of the box", s.Name)
		assert.InDelta(t, 0, lo.X+hi.X, .003, "%s stands in the middle", s.Name)
		assert.InDelta(t, 0, lo.Y+hi.Y, .003, "%s stands in the middle", s.Name)
		assert.GreaterOrEqual(t, max(hi.X-lo.X, hi.Y-lo.Y), 1.7, "%s is small", s.Name)
	}
}

func TestFirstAndByRune(t *testing.T) {
	assert.Len(t, First(1), 1)
	assert.Equal(t, table, First(Max))
	First(Max)[0].Name = "changed"
	assert.NotEqual(t, "changed", table[0].Name, "what First gives is a copy")
	assert.Panics(t, func() { First(0) })
	assert.Panics(t, func() { First(Max + 1) })
	for _, s := range table {
		got, ok := ByRune(s.Rune)
		assert.True(t, ok)
		assert.Equal(t, s, got)
	}
	for _, r := range []rune{' ', Disc, 0, '!', utf8.MaxRune} {
		_, ok := ByRune(r)
		assert.False(t, ok, "%U", r)
	}
}

func TestBadTablesAreRefused(t *testing.T) {
	for _, line := range []string{"41\tletter A", "110000\tx\t0,0 1,0 0,1", "41\tx\t0,0 1 0,1", "zz\tx\t0,0"} {
		assert.Panics(t, func() { parseTable(line) }, line)
	}
	assert.Panics(t, func() { parseDistances("0041\n0042\n") })
	assert.Panics(t, func() { parseDistances("0041,1/x\n") })
}
