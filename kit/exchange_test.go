package kit

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/lab"
	"kitwright/palettes"
	"kitwright/quantize"
)

// What a color is worth to its drills: nothing where another is about as near,
// the more the farther off they would come out, and too much for any gain where
// they would be another color, or have a hue that few others have.
func TestLosingAColorHasItsPrice(t *testing.T) {
	const sky, bark, eye, brown, moss, olive = 0, 1, 2, 3, 4, 5
	card := &palettes.Card{}
	for _, c := range []lab.Color{{L: 60, A: -4, B: -30}, {L: 50, A: 2, B: 6}, {L: 50, A: -30, B: 22}, {L: 50.5, A: 2, B: 6}, {L: 55, A: 2, B: 6}, {L: 54, A: -30, B: 22}} {
		card.Drills = append(card.Drills, palettes.Drill{Lab: c.Round()})
	}
	grid := lab.NewGrid(40, 25)
	for i := range grid.Cells {
		j := sky
		switch {
		case i < 10:
			j = eye
		case i < 60:
			j = bark
		}
		grid.Cells[i] = card.Drills[j].Lab
	}
	problem, err := quantize.Prepare(grid, labs(card))
	require.NoError(t, err)
	losing := (&task{card: card, grid: grid, problem: problem}).losing([]int{sky, bark, eye})

	price, ok := losing([]int{sky, brown, eye})
	assert.True(t, ok)
	assert.Zero(t, price, "brown is as good as bark")
	off := lab.DeltaE(card.Drills[bark].Lab, card.Drills[moss].Lab)
	require.Greater(t, off, 3.5)
	price, ok = losing([]int{sky, moss, eye})
	assert.True(t, ok)
	assert.InDelta(t, 0.01*(off-2.5), price, 1e-5)
	_, ok = losing([]int{sky, eye, olive})
	assert.False(t, ok, "nothing is like bark")
	require.Less(t, lab.DeltaE(card.Drills[eye].Lab, card.Drills[olive].Lab), 4.5)
	_, ok = losing([]int{sky, bark, olive})
	assert.False(t, ok, "few drills have the eye's hue")
}
