package kit_test

import (
	"bytes"
	"context"
	"fmt"

	"kitwright/kit"
	"kitwright/photo"
)

func ExampleMake() {
	o := kit.DefaultOrder()
	o.Grid, o.Colors = kit.Cells{Cols: 60, Rows: 40}, 12
	k, err := kit.Make(context.Background(), bytes.NewReader(photo.Demo()), "ginger.png", o)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(k.Title, k.Chart.Cols, "x", k.Chart.Rows, "drills in", len(k.Chart.Legend), "colors")
	// Output: ginger 60 x 40 drills in 12 colors
}

// A photo is opened and laid once; each choice of colors is answered from that.
func ExampleOpen() {
	ctx := context.Background()
	o := kit.DefaultOrder()
	o.Grid = kit.Cells{Cols: 60, Rows: 40}
	source, err := kit.Open(ctx, bytes.NewReader(photo.Demo()), "ginger.png")
	if err != nil {
		fmt.Println(err)
		return
	}
	prepared, err := source.Lay(ctx, o.Canvas, o.Light)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, colors := range []int{8, 16} {
		o.Choice.Colors = colors
		k, err := prepared.Kit(ctx, o.Choice)
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Println(len(k.Chart.Legend), "colors, proven:", k.Quality.MeanProven)
	}
	// Output:
	// 8 colors, proven: true
	// 16 colors, proven: true
}
