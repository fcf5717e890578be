package render

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"kitwright/kit"
)

// A plain wrap has the color that most drills along the picture's edge have,
// not the commonest or the rarest of all.
func TestPlainWrapTakesTheEdgesColor(t *testing.T) {
	k := testKit(t, 12, 9, 4, kit.Square)
	c := k.Chart
	for i := range c.Cells {
		x, y := i%c.Cols, i/c.Cols
		switch {
		case x > 0 && y > 0 && x < c.Cols-1 && y < c.Rows-1:
			c.Cells[i] = 0 // most of all, none at the edge
		case y == 0 && x < 4:
			c.Cells[i] = 1
		case x == 0:
			c.Cells[i] = 3
		default:
			c.Cells[i] = 2
		}
	}
	p := DefaultPrint()
	p.Wrap, p.WrapFill = 10000, WrapPlain
	assert.EqualValues(t, 2, newCanvas(k, p).edgeColor())
}

// A measured row gives room enough for each of its drills: what remains is
// rounded up.
func TestMeasuredRowIsNotCutShort(t *testing.T) {
	for _, c := range []struct {
		row  RowLength
		want int64
	}{{RowLength{20, 50400}, 2520}, {RowLength{7, 17600}, 2515}, {RowLength{20, 50001}, 2501}} {
		assert.EqualValues(t, c.want, c.row.drill())
	}
}
