package symbols_test

import (
	"fmt"

	"kitwright/chart/symbols"
)

// Three colors of which the first two touch everywhere: their symbols are the
// furthest apart.
func ExampleAssign() {
	given := symbols.Assign(3, func(i, j int) float64 {
		if i == 0 && j == 1 {
			return 1
		}
		return 0.01
	})
	place := map[rune]int{}
	for i, s := range symbols.First(symbols.Max) {
		place[s.Rune] = i
	}
	far, _ := symbols.Distance(place[given[0].Rune], place[given[1].Rune])
	near, _ := symbols.Distance(place[given[0].Rune], place[given[2].Rune])
	fmt.Println(far > near, given[0].Name != given[1].Name)
	// Output: true true
}
