package kit

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What has to stay in moves the crop no farther than it must, and it is said
// where there is no room for all of it.
func TestCropTo(t *testing.T) {
	c := DefaultOrder().Canvas
	c.Grid, c.Turn = Cells{50, 50}, TurnAsked
	lay := func(box Box) Layout {
		c.CropTo = box
		l, err := c.Lay(200, 100)
		require.NoError(t, err)
		return l
	}
	assert.Equal(t, 50.0, lay(Box{}).Crop.X, "the middle")
	assert.Equal(t, 50.0, lay(Box{40, 0, 20, 100}).Crop.X, "it is in already")
	assert.Equal(t, 80.0, lay(Box{60, 20, 30, 20}).Crop.X, "up to its right edge")
	assert.Equal(t, 0.0, lay(Box{0, 0, 5, 5}).Crop.X)
	assert.Empty(t, lay(Box{60, 20, 30, 20}).Short)
	wide := lay(Box{10, 0, 80, 100})
	assert.Equal(t, []string{"left", "right"}, wide.Short)
	assert.Contains(t, wide.Words()[1].String(), "cut at the left and the right edge")

	o := DefaultOrder()
	o.CropTo, o.Fit = Box{0, 0, 5, 5}, FitWhole
	assert.ErrorContains(t, o.Check(), "crops nothing")
}
