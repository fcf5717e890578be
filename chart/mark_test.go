package chart

import (
	"regexp"
	"testing"

	"github.com/stretchr/testify/assert"

	"kitwright/palettes"
)

func TestMarkTellsChartsApart(t *testing.T) {
	card := &palettes.Card{Name: "seaside", Drills: []palettes.Drill{
		{Code: "SR-001", RGB: [3]uint8{200, 10, 10}}, {Code: "SR-002", RGB: [3]uint8{10, 200, 10}}, {Code: "SR-003", RGB: [3]uint8{10, 10, 200}},
	}}
	make3 := func() *Chart {
		c, err := New(3, 2, card, []int{0, 1, 2}, []uint16{0, 1, 2, 2, 1, 0})
		assert.NoError(t, err)
		return c
	}
	plain := make3().Mark()
	assert.Regexp(t, regexp.MustCompile("^[CDFHJKLMRTXY]{6}$"), plain)
	assert.Equal(t, plain, make3().Mark(), "the same each time")
	assert.Regexp(t, regexp.MustCompile("^[0-9a-f]{32}$"), make3().Sum())
	seen := map[string]bool{plain: true, make3().Sum(): true}
	for name, change := range map[string]func(c *Chart){
		"cell":   func(c *Chart) { c.Cells[0] = 1 },
		"grid":   func(c *Chart) { c.Cols, c.Rows = 2, 3 },
		"symbol": func(c *Chart) { c.Legend[1].Symbol.Rune++ },
		"code":   func(c *Chart) { c.Legend[1].Drill.Code = "SR-004" },
		"finish": func(c *Chart) { c.Legend[1].Drill.Finish = "AB" },
		"number": func(c *Chart) { c.Legend[1].Number = 7 },
	} {
		c := make3()
		change(c)
		assert.False(t, seen[c.Mark()], name)
		assert.False(t, seen[c.Sum()], name)
		seen[c.Mark()], seen[c.Sum()] = true, true
	}
}
