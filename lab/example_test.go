package lab_test

import (
	"fmt"

	"kitwright/lab"
)

// The first pair of Sharma, Wu and Dalal's test data for CIEDE2000.
func ExampleDeltaE() {
	a := lab.Color{L: 50, A: 2.6772, B: -79.7751}
	b := lab.Color{L: 50, A: 0, B: -82.7485}
	fmt.Printf("%.4f\n", lab.DeltaE(a, b))
	// Output: 2.0425
}
