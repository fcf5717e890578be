// Package palettes holds the color cards: the drill colors there are to choose
// from, each with a code, a name and a color, and where its numbers came from.
//
// Begin with [Named] for a card carried in the program and [Read] for a card of
// your own; [Card.WriteCSV] writes what Read reads. The built-in cards are
// published colors: nbs.csv and munsell.csv say whose, and the program in gen
// chose the second.
package palettes

import (
	"strings"

	"kitwright/lab"
)

// Finish is the surface of a drill as its card names it: "" for plain resin,
// otherwise a word such as "AB".
type Finish string

// Plain is a word for the finish "" where one has to be said.
const Plain = "plain"

// FinishOf returns the finish that a word means: the usual words for plain
// resin mean "", and AB is written in capitals.
func FinishOf(word string) Finish {
	word = strings.TrimSpace(word)
	switch fold(word) {
	case "", "plain", "normal", "standard", "regular", "none", "-":
		return ""
	case "ab":
		return "AB"
	}
	return Finish(word)
}

// Drill is one color of a card. Code and finish together say which: a plain
// drill and an AB one of the same code are two.
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
	Source  string // who published or measured the colors, and how
	License string
	Builtin bool // carried in the program: reference colors, not a supplier's codes
	Drills  []Drill
}

// Address is what a drill is called by where a code alone could mean two:
// CODE for a plain one, CODE/FINISH for any other. No two drills of a card
// have the same.
func (d Drill) Address() string {
	if d.Finish == "" {
		return d.Code
	}
	return d.Code + "/" + string(d.Finish)
}

// SplitAddress parts an address into code and finish. A slash belongs to the
// code unless a word that is a finish follows it: 5YR 6/8 is a code.
func SplitAddress(address string) (code string, finish Finish) {
	at := strings.LastIndexByte(address, '/')
	if at <= 0 || at == len(address)-1 {
		return address, ""
	}
	word := address[at+1:]
	if strings.ContainsAny(word, "0123456789") || len(word) > 20 {
		return address, ""
	}
	return strings.TrimSpace(address[:at]), FinishOf(word)
}

// Index returns the place in the card of the drill that an address means: the
// very address, or one that differs in capitals only, or CODE/plain, or a bare
// code that a single drill has.
func (c *Card) Index(address string) (int, bool) {
	alike, coded, codes := -1, -1, 0
	short, plain := strings.CutSuffix(fold(address), "/"+Plain)
	for i, d := range c.Drills {
		if d.Address() == address {
			return i, true
		}
		if folded := fold(d.Address()); alike < 0 && (folded == fold(address) || plain && d.Finish == "" && folded == short) {
			alike = i
		}
		if fold(d.Code) == fold(address) {
			coded = i
			codes++
		}
	}
	switch {
	case alike >= 0:
		return alike, true
	case codes == 1:
		return coded, true
	}
	return -1, false
}

// Finishes returns the addresses of all drills that have a code, in the order
// of the card.
func (c *Card) Finishes(code string) (addresses []string) {
	for _, d := range c.Drills {
		if fold(d.Code) == fold(code) {
			addresses = append(addresses, d.Address())
		}
	}
	return addresses
}
