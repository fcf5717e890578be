package tone_test

import (
	"fmt"

	"kitwright/photo"
	"kitwright/photo/tone"
)

// A gray card in dim light gets the exposure that it lacks.
func Example() {
	dim := &photo.Linear{Cols: 2, Rows: 2, Cells: make([][3]float64, 4)}
	for i := range dim.Cells {
		v := 0.01 * float64(i+1)
		dim.Cells[i] = [3]float64{v, v, v}
	}
	toned, changes := tone.Apply(dim, nil, false)
	fmt.Println("brighter:", toned.Cells[3][0] > dim.Cells[3][0])
	fmt.Println("in doublings of light:", changes.Stops > 0)
	// Output:
	// brighter: true
	// in doublings of light: true
}
