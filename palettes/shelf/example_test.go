package shelf_test

import (
	"fmt"
	"os"
	"strings"

	"kitwright/palettes"
	"kitwright/palettes/shelf"
)

func ExampleShelf() {
	dir, err := os.MkdirTemp("", "home")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer os.RemoveAll(dir)
	card, err := palettes.Read("mine.csv", strings.NewReader("code,hex\nSR-041,#d8c3a5\n"))
	if err != nil {
		fmt.Println(err)
		return
	}
	s := shelf.Shelf{Dir: dir}
	if _, err := s.Add("seaside", card, false); err != nil {
		fmt.Println(err)
	}
	fmt.Println(s.Names())
	_, err = s.Add("Seaside", card, false)
	fmt.Println(err)
	// Output:
	// [seaside]
	// you keep a card called "Seaside" already
}
