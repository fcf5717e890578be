package letters_test

import (
	"fmt"

	"kitwright/render/letters"
)

// A title in 12 points, first in a form that can be printed, then in 40 mm.
func Example() {
	title := letters.Clean("  Marmalade at\tthe harbor wall ")
	fmt.Println(title)
	fmt.Println(letters.Shorten(letters.Bold, 12, 40, title))
	// Output:
	// Marmalade at the harbor wall
	// Marmalade at the…
}
