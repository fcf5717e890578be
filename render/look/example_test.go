package look_test

import (
	"fmt"

	"kitwright/render/look"
)

// Four square drills, sixteen pixels each: what lies in the middle of the first
// is near its color.
func Example() {
	s := look.Stones{
		Cols: 2, Rows: 2, Cells: []uint16{0, 1, 1, 0},
		RGB: [][3]uint8{{205, 120, 60}, {40, 90, 110}},
	}
	img := look.Paint(s, look.PreviewPx(s.Cols, s.Rows))
	c := img.NRGBAAt(8, 8)
	fmt.Println(img.Rect.Dx(), img.Rect.Dy(), c.R > c.G && c.G > c.B)
	// Output: 32 32 true
}
