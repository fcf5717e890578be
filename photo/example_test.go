package photo_test

import (
	"bytes"
	"context"
	"fmt"

	"kitwright/photo"
)

func ExampleRead() {
	p, err := photo.Read(context.Background(), bytes.NewReader(photo.Demo()), photo.Limits{})
	if err != nil {
		fmt.Println(err)
		return
	}
	g := p.Sample(p.Percent(25, 25, 50, 50), 3, 2) // the middle of it, as 3 x 2 drills
	fmt.Println(p.Format, p.Width, "x", p.Height, "gives", g.Cols, "x", g.Rows, "colors")
	// Output: PNG 451 x 300 gives 3 x 2 colors
}
