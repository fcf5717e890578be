package chart

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/chart/symbols"
	"kitwright/palettes"
)

// drillsOf returns the drills of a chart's legend.
func drillsOf(c *Chart) (out []palettes.Drill) {
	for _, e := range c.Legend {
		out = append(out, e.Drill)
	}
	return out
}

// five is a chart of five colors, SR-A the darkest, in rows of two.
func five(t *testing.T) (*Chart, *palettes.Card) {
	all := card(10, 30, 50, 70, 90, 45, 20)
	c, err := New(2, 5, all, []int{0, 1, 2, 3, 4}, []uint16{0, 0, 1, 1, 2, 2, 3, 3, 4, 4})
	require.NoError(t, err)
	return c, all
}

// short tells a legend as number, code and count.
func short(c *Chart) (out []any) {
	for _, e := range c.Legend {
		out = append(out, e.Number, e.Drill.Code, e.Count)
	}
	return out
}

func TestRecolorKeepsWhatStays(t *testing.T) {
	prev, all := five(t)
	drills := append(drillsOf(prev), all.Drills[5], all.Drills[6])

	// Two cells by hand: nothing else moves, however light the new color is.
	c, err := Recolor(prev, drills, []uint16{0, 0, 1, 1, 2, 5, 3, 6, 4, 4})
	require.NoError(t, err)
	assert.Equal(t, []any{1, "SR-A", 2, 2, "SR-B", 2, 3, "SR-C", 1, 4, "SR-D", 1, 5, "SR-E", 2, 6, "SR-G", 1, 7, "SR-F", 1}, short(c))
	for i, e := range prev.Legend {
		assert.Equal(t, e.Symbol, c.Legend[i].Symbol, "%s", e.Drill.Code)
	}
	assert.Equal(t, []uint16{0, 0, 1, 1, 2, 6, 3, 5, 4, 4}, c.Cells)

	// A whole color for a new one: number and symbol are handed on.
	c, err = Recolor(prev, drills, []uint16{0, 0, 1, 1, 5, 5, 3, 3, 4, 4})
	require.NoError(t, err)
	assert.Equal(t, []any{1, "SR-A", 2, 2, "SR-B", 2, 3, "SR-F", 2, 4, "SR-D", 2, 5, "SR-E", 2}, short(c))
	assert.Equal(t, prev.Legend[2].Symbol, c.Legend[2].Symbol)

	// A whole color for one that is there: a gap, and nobody moves up.
	gap, err := Recolor(prev, drills, []uint16{0, 0, 3, 3, 2, 2, 3, 3, 4, 4})
	require.NoError(t, err)
	assert.Equal(t, []any{1, "SR-A", 2, 3, "SR-C", 2, 4, "SR-D", 4, 5, "SR-E", 2}, short(gap))
	assert.Equal(t, prev.Legend[3].Symbol, gap.Legend[2].Symbol)

	// A color that comes after a gap does not fill it.
	c, err = Recolor(gap, append(drillsOf(gap), all.Drills[6]), []uint16{0, 0, 2, 2, 1, 1, 2, 2, 3, 4})
	require.NoError(t, err)
	assert.Equal(t, []any{1, "SR-A", 2, 3, "SR-C", 2, 4, "SR-D", 4, 5, "SR-E", 1, 6, "SR-G", 1}, short(c))

	// Two colors changing places are two colors that stay.
	c, err = Recolor(prev, drills, []uint16{1, 1, 0, 0, 2, 2, 3, 3, 4, 4})
	require.NoError(t, err)
	assert.Equal(t, short(prev), short(c))
	assert.Equal(t, prev.Legend[0], c.Legend[0])

	// The last one gone leaves its number unused, too.
	c, err = Recolor(prev, drills, []uint16{0, 0, 1, 1, 2, 2, 3, 3, 6, 3})
	require.NoError(t, err)
	assert.Equal(t, []any{1, "SR-A", 2, 2, "SR-B", 2, 3, "SR-C", 2, 4, "SR-D", 3, 6, "SR-G", 1}, short(c))
}

func TestRecolorWithoutAChange(t *testing.T) {
	prev, _ := five(t)
	c, err := Recolor(prev, drillsOf(prev), prev.Cells)
	require.NoError(t, err)
	assert.Equal(t, prev, c)
}

// The same code with another finish is another color.
func TestRecolorTellsFinishes(t *testing.T) {
	prev, _ := five(t)
	drills := drillsOf(prev)
	shine := drills[4]
	shine.Finish = "AB"
	c, err := Recolor(prev, append(drills, shine), []uint16{0, 0, 1, 1, 2, 2, 3, 3, 4, 5})
	require.NoError(t, err)
	assert.Len(t, c.Legend, 6)
	assert.EqualValues(t, "AB", c.Legend[5].Drill.Finish)
}

func TestRecolorRefuses(t *testing.T) {
	prev, _ := five(t)
	_, err := Recolor(prev, drillsOf(prev), prev.Cells[1:])
	assert.ErrorContains(t, err, "9 cells")
	_, err = Recolor(prev, drillsOf(prev), []uint16{0, 0, 1, 1, 2, 2, 3, 3, 4, 9})
	assert.ErrorContains(t, err, "color 9 of 5")
}

// Random edits, one upon the other: counts add up, numbers and symbols are
// unique, and no color that stays ever changes its own.
func TestRecolorOverManyEdits(t *testing.T) {
	dice := rand.New(rand.NewPCG(7, 11))
	var ls []float64
	for i := range 100 {
		ls = append(ls, float64(i*37%100))
	}
	all := card(ls...)
	for i := range all.Drills {
		all.Drills[i].Code = "SR-" + string(rune('A'+i/26)) + string(rune('A'+i%26))
	}
	cells := make([]uint16, 12*10)
	for i := range cells {
		cells[i] = uint16(dice.IntN(60))
	}
	chosen := make([]int, 60)
	for i := range chosen {
		chosen[i] = i
	}
	c, err := New(12, 10, all, chosen, cells)
	require.NoError(t, err)
	first := c
	for range 300 {
		drills := append(drillsOf(c), all.Drills[dice.IntN(100)])
		cells := slices.Clone(c.Cells)
		for range 1 + dice.IntN(4) {
			cells[dice.IntN(len(cells))] = uint16(dice.IntN(len(drills)))
		}
		next, err := Recolor(c, drills, cells)
		require.NoError(t, err)
		total, numbers, marks, was := 0, map[int]bool{}, map[rune]bool{}, map[string]Entry{}
		for _, e := range c.Legend {
			was[e.Drill.Code] = e
		}
		last := 0
		for _, e := range next.Legend {
			total += e.Count
			require.Positive(t, e.Count)
			require.Greater(t, e.Number, last)
			last = e.Number
			require.False(t, numbers[e.Number] || marks[e.Symbol.Rune])
			numbers[e.Number], marks[e.Symbol.Rune] = true, true
			if before, stays := was[e.Drill.Code]; stays {
				require.Equal(t, before.Number, e.Number)
				require.Equal(t, before.Symbol.Rune, e.Symbol.Rune)
			}
		}
		require.Equal(t, 120, total)
		for i, v := range cells {
			require.Equal(t, drills[v].Code, next.Legend[next.Cells[i]].Drill.Code)
		}
		c = next
	}
	assert.NotEqual(t, len(first.Legend), len(c.Legend))
}

// A new color gets the open symbol that adds the least risk: found here by
// trying all of them.
func TestNewColorGetsTheBestSymbolLeft(t *testing.T) {
	prev, all := five(t)
	cells := []uint16{0, 0, 1, 1, 2, 5, 3, 3, 4, 4}
	c, err := Recolor(prev, append(drillsOf(prev), all.Drills[5]), cells)
	require.NoError(t, err)
	weight := c.confusion()
	place := map[rune]int{}
	for i, s := range symbols.First(symbols.Max) {
		place[s.Rune] = i
	}
	mean := 0.0
	for i := range 6 {
		for j := range i {
			mean += weight(j, i) / 15
		}
	}
	risk := func(p int) (sum float64) {
		for i, e := range c.Legend[:5] {
			up, _ := symbols.Distance(p, place[e.Symbol.Rune])
			sum += (weight(i, 5) + mean/10) * confusionAt(up)
		}
		return sum
	}
	taken := map[int]bool{}
	for _, e := range c.Legend[:5] {
		taken[place[e.Symbol.Rune]] = true
	}
	got := risk(place[c.Legend[5].Symbol.Rune])
	for p := range symbols.Sure {
		if !taken[p] {
			assert.LessOrEqual(t, got, risk(p)*(1+1e-4), "symbol %d would be better", p)
		}
	}
}

// confusionAt is how likely symbols at a distance are mistaken, as
// symbols.Assign counts it.
func confusionAt(distance float64) float64 { return math.Exp(-distance / 0.08) }
