package render_test

import (
	"bytes"
	"context"
	"fmt"

	"kitwright/kit"
	"kitwright/photo"
	"kitwright/render"
)

// A photo becomes a kit, and the kit a true-scale page.
func Example() {
	order := kit.DefaultOrder()
	order.Grid = kit.Cells{Cols: 40, Rows: 30}
	order.Colors = 8
	k, err := kit.Make(context.Background(), bytes.NewReader(photo.Demo()), photo.DemoName, order)
	if err != nil {
		fmt.Println(err)
		return
	}
	var page bytes.Buffer
	p := render.DefaultPrint()
	p.Legend = render.LegendBelow
	fmt.Println(render.Canvas(&page, k, p))
	fmt.Println(page.String()[:8], k.Width(), k.Height())
	// Output:
	// <nil>
	// %PDF-1.4 100mm 75mm
}
