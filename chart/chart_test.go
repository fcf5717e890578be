package chart

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/lab"
	"kitwright/palettes"
)

func card(ls ...float64) *palettes.Card {
	c := &palettes.Card{Name: "test"}
	for i, l := range ls {
		col := lab.Color{L: l}
		rgb, _ := col.SRGB()
		c.Drills = append(c.Drills, palettes.Drill{Code: "SR-" + string(rune('A'+i)), Lab: col, RGB: rgb})
	}
	return c
}

func TestNewOrdersTheLegendAndCounts(t *testing.T) {
	// Colors 1 and 3 of the card are equally light: the card's order decides.
	c, err := New(3, 3, card(90, 50, 10, 50, 70), []int{0, 1, 2, 3, 4}, []uint16{
		0, 0, 3,
		3, 1, 2,
		2, 2, 2,
	})
	require.NoError(t, err)
	var codes []string
	var counts []int
	total := 0
	for _, e := range c.Legend {
		codes = append(codes, e.Drill.Code)
		counts = append(counts, e.Count)
		total += e.Count
	}
	assert.Equal(t, []string{"SR-C", "SR-B", "SR-D", "SR-A"}, codes, "dark to light, without the unused one")
	assert.Equal(t, []int{4, 1, 2, 2}, counts)
	assert.Equal(t, c.Drills(), total)
	assert.Equal(t, []uint16{3, 3, 2, 2, 1, 0, 0, 0, 0}, c.Cells)
	assert.Equal(t, "SR-D", c.At(2, 0).Drill.Code)

	seen := map[rune]bool{}
	for _, e := range c.Legend {
		assert.False(t, seen[e.Symbol.Rune], "a symbol is used once")
		seen[e.Symbol.Rune] = true
		assert.NotEmpty(t, e.Symbol.Name)
	}
}

func TestNewRefuses(t *testing.T) {
	for name, f := range map[string]func() (*Chart, error){
		"too few cells":        func() (*Chart, error) { return New(2, 2, card(1, 2), []int{0, 1}, []uint16{0}) },
		"a cell beyond":        func() (*Chart, error) { return New(1, 1, card(1, 2), []int{0}, []uint16{1}) },
		"a color off the card": func() (*Chart, error) { return New(1, 1, card(1), []int{1}, []uint16{0}) },
		"nothing":              func() (*Chart, error) { return New(0, 0, card(1), nil, nil) },
	} {
		_, err := f()
		assert.Error(t, err, name)
	}
}

func TestConfettiAndRuns(t *testing.T) {
	c, err := New(4, 3, card(10, 50, 90), []int{0, 1, 2}, []uint16{
		0, 0, 1, 2,
		0, 1, 0, 0,
		2, 2, 2, 1,
	})
	require.NoError(t, err)
	// Alone are (2,0), (3,0), (1,1) and (3,2); a neighbor by a corner does not help.
	assert.Equal(t, 4, c.Confetti())

	covered := make([]int, 12)
	for _, r := range c.Runs() {
		for x := r.X; x < r.X+r.Length; x++ {
			covered[r.Y*4+x]++
			assert.Equal(t, c.Cells[r.Y*4+x], uint16(r.Color))
		}
		if end := r.X + r.Length; end < 4 {
			assert.NotEqual(t, c.Cells[r.Y*4+end], uint16(r.Color), "a run is as long as it can be")
		}
	}
	for i, n := range covered {
		assert.Equal(t, 1, n, "cell %d", i)
	}
	assert.Len(t, c.Runs(), 8)
}

func TestTouching(t *testing.T) {
	c, err := New(2, 2, card(10, 50, 90), []int{0, 1, 2}, []uint16{
		0, 1,
		2, 0,
	})
	require.NoError(t, err)
	touch := c.touching() // of i > j at 3*i+j
	assert.Equal(t, 2, touch[3*1+0])
	assert.Equal(t, 2, touch[3*2+0])
	assert.Equal(t, 1, touch[3*2+1], "by a corner")
}
