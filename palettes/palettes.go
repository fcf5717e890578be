// Package palettes holds the color cards: the drill colors there are to choose
// from, each with a code, a name and a color, and where its numbers came from.
//
// Begin with [Named] for a card carried in the program and [Read] for a card of
// your own; [Card.WriteCSV] writes what Read reads. The built-in cards are
// published colors: nbs.csv and munsell.csv say whose, and the program in gen
// chose the second.
package palettes

import "kitwright/lab"

// Finish is the surface of a drill as its card names it: "" for plain resin,
// otherwise a word such as "AB".
type Finish string

// Drill is one color of a card.
type Drill struct {
	Code   string
	Name   string
	Finish Finish
	Lab    lab.Color // D65
	RGB    [3]uint8  // the nearest sRGB value
	Beyond bool      // sRGB cannot show it: RGB is the nearest it can
}

// Card is a color card. The order of its drills is fixed: an index is an
// identity.
type Card struct {
	Name    string
	Source  string // who published the colors
	License string
	Builtin bool // carried in the program: reference colors, not a supplier's codes
	Drills  []Drill
}
