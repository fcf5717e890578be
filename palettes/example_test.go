package palettes_test

import (
	"fmt"
	"strings"

	"kitwright/palettes"
)

func ExampleNamed() {
	card, err := palettes.Named("nbs")
	if err != nil {
		fmt.Println(err)
		return
	}
	i, _ := card.Index("1")
	fmt.Println(len(card.Drills), "colors, the first is", card.Drills[i].Name)
	// Output: 267 colors, the first is vivid pink
}

func ExampleRead() {
	card, err := palettes.Read("seaside.csv", strings.NewReader(`code,name,hex
SR-041,wet sand,#8a7a5c
SR-042,"foam, far out",#e8efe9
`))
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, d := range card.Drills {
		fmt.Printf("%s %s: L* %.1f\n", d.Code, d.Name, d.Lab.L)
	}
	// Output:
	// SR-041 wet sand: L* 51.9
	// SR-042 foam, far out: L* 93.8
}
