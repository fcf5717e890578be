package quantize_test

import (
	"context"
	"fmt"

	"kitwright/lab"
	"kitwright/quantize"
)

// Two of four grays for a picture of two dark cells and two light ones.
func ExampleSelect() {
	g := lab.NewGrid(2, 2)
	for i, l := range []float64{21, 19, 80, 81} {
		g.Cells[i] = lab.Color{L: l}
	}
	from := []lab.Color{{L: 0}, {L: 20}, {L: 50}, {L: 80}}
	sel, err := quantize.Select(context.Background(), g, from, quantize.Options{K: 2})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println("chosen:", sel.Chosen, "cells:", sel.Cells, "proven:", sel.Cost == sel.Bound)
	// Output: chosen: [1 3] cells: [0 0 1 1] proven: true
}
