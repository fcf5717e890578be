// Package draw holds the drawings from which the symbols are chosen, as code:
// named shapes, letters traced from a font, block and ring codes. It makes
// chart/symbols/table.txt and is no part of the program.
//
// Begin at Pool. To add a shape, add it to plain, nature, house, street or
// yard, look at the specimen sheet that TestSpecimen writes, choose anew with
// "go run ./chart/symbols/choose", put the list it prints into order.txt, and
// run "UPDATE=1 go test ./chart/symbols/...".
package draw

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// Shape is a drawing with a name and, where Unicode has a character that
// looks like it, its code point; 0 asks for one of the private use area.
type Shape struct {
	Name  string
	Rune  rune
	Paths paths
	Free  bool // may be turned by quarters: it has no top
}

// Pool returns all shapes with a name, in the middle of the box.
func Pool() []Shape {
	out := slices.Concat(plain(), nature(), house(), street(), yard())
	for i := range out {
		out[i].Paths = fit(out[i].Paths)
	}
	return out
}

// readsOneWay are shapes that mean something else, or nothing, in a mirror.
var readsOneWay = []string{"check mark", "question mark", "music note", "two notes", "percent", "fish hook",
	"slanted bar", "slanted bar back", "twin stripes", "twin stripes back"}

// Candidates returns the shapes of the pool, each in all the ways it may be
// used: "arrow@90" is the arrow turned right by a quarter, "flag~" the flag
// in a mirror.
func Candidates() []Shape {
	var out []Shape
	for _, s := range Pool() {
		out = append(out, s)
		if !slices.Contains(readsOneWay, s.Name) {
			out = append(out, Shape{Name: s.Name + "~", Paths: mirrored(s.Paths)})
		}
		for a := 90; s.Free && a < 360; a += 90 {
			out = append(out, Shape{Name: fmt.Sprintf("%s@%d", s.Name, a), Paths: turned(float64(a), s.Paths...)})
		}
	}
	return out
}

// plainName is the name without the way it is turned: what a person says.
func plainName(name string) string {
	name = strings.TrimSuffix(strings.TrimSuffix(name, "~"), " back")
	if before, angle, ok := strings.Cut(name, "@"); ok {
		if _, err := strconv.Atoi(angle); err == nil {
			return before
		}
	}
	return name
}

func mirrored(p paths) paths {
	return each(p, func(v point) point { return point{X: -v.X, Y: v.Y} })
}
