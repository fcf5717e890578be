package pdf_test

import (
	"bytes"
	"fmt"

	"kitwright/render/letters"
	"kitwright/render/pdf"
)

// A page is decided first, in millimeters, and written then.
func Example() {
	black := pdf.Color{0, 0, 0}
	page := &pdf.Page{W: 100, H: 60}
	page.Add(
		pdf.Rect{X: 10, Y: 10, W: 80, H: 40, Edge: &black, Line: 0.25},
		pdf.Text{X: 50, Y: 32, Size: 14, Face: letters.Bold, Align: pdf.Center, S: "Marmalade at the harbor wall"},
	)
	var file bytes.Buffer
	doc := pdf.Document{Title: "A frame", Box: 0.72, Pages: []*pdf.Page{page}}
	fmt.Println(doc.Write(&file))
	fmt.Println(file.String()[:8])
	// Output:
	// <nil>
	// %PDF-1.4
}
