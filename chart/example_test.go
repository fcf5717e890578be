package chart_test

import (
	"fmt"

	"kitwright/chart"
	"kitwright/lab"
	"kitwright/palettes"
)

func card() *palettes.Card {
	return &palettes.Card{Name: "seaside", Drills: []palettes.Drill{
		palettes.NewDrill("SR-001", "foam", lab.Color{L: 93}),
		palettes.NewDrill("SR-002", "kelp", lab.Color{L: 28, A: -8, B: 14}),
		palettes.NewDrill("SR-003", "wet sand", lab.Color{L: 52, A: 2, B: 18}),
	}}
}

func legend(c *chart.Chart) {
	for _, e := range c.Legend {
		fmt.Println(e.Number, e.Drill.Code, e.Drill.Name, e.Count)
	}
}

func ExampleNew() {
	c, err := chart.New(3, 2, card(), []int{0, 1}, []uint16{0, 0, 1, 1, 1, 1})
	if err != nil {
		fmt.Println(err)
		return
	}
	legend(c)
	fmt.Println("lone drills:", c.Confetti())
	// Output:
	// 1 SR-002 kelp 4
	// 2 SR-001 foam 2
	// lone drills: 0
}

// One drill becomes wet sand: kelp and foam keep their numbers.
func ExampleRecolor() {
	prev, err := chart.New(3, 2, card(), []int{0, 1}, []uint16{0, 0, 1, 1, 1, 1})
	if err != nil {
		fmt.Println(err)
		return
	}
	c, err := chart.Recolor(prev, card().Drills, []uint16{0, 0, 1, 1, 2, 1})
	if err != nil {
		fmt.Println(err)
		return
	}
	legend(c)
	fmt.Println("kelp keeps its symbol:", c.Legend[0].Symbol.Rune == prev.Legend[0].Symbol.Rune)
	// Output:
	// 1 SR-002 kelp 3
	// 2 SR-001 foam 2
	// 3 SR-003 wet sand 1
	// kelp keeps its symbol: true
}
