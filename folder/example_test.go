package folder_test

import (
	"fmt"

	"kitwright/folder"
)

// The table of outputs: what is printed again without the photo.
func ExampleOutputs() {
	for _, o := range folder.Outputs() {
		if o.Print {
			fmt.Println(o.Name)
		}
	}
	// Output:
	// canvas.pdf
	// ticket.pdf
	// sheets.pdf
	// labels.pdf
	// legend.pdf
	// plan.pdf
	// plan.csv
	// preview.png
	// proof.png
	// kit.csv
	// kit.xlsx
}
