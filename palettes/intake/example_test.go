package intake_test

import (
	"fmt"
	"strings"

	"kitwright/palettes/intake"
)

func ExampleRead() {
	table := "Nr.;Farbname;Hex\n007;foam;#f8f8f4\n012;no color;\n"
	res, err := intake.Read("supplier.csv", strings.NewReader(table), intake.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, d := range res.Card.Drills {
		fmt.Println(d.Address(), d.Name)
	}
	for _, row := range res.Left {
		fmt.Println(row)
	}
	// Output:
	// 007 foam
	// line 3 (012): no color
}
