package gauge_test

import (
	"fmt"
	"image"

	"kitwright/palettes/gauge"
)

func ExampleSheet_Measure() {
	sheet, err := gauge.Grid([][]string{{"SR-001", "SR-002"}, {"SR-003", "SR-003/AB"}}, gauge.Fill)
	if err != nil {
		fmt.Println(err)
		return
	}
	picture := image.NewNRGBA(image.Rect(0, 0, 800, 600)) // all black
	_, err = sheet.Measure(picture, [4]gauge.Point{{X: 50, Y: 50}, {X: 750, Y: 50}, {X: 750, Y: 550}, {X: 50, Y: 550}}, gauge.Options{})
	fmt.Println(err)
	// Output:
	// the white paper is too dark, 0 of 255
}
