// Package symbols is the set of marks printed on the canvas, one for each
// color: contours, plain English names, how easily two are mistaken for each
// other, and which color gets which.
//
// Begin at First, which gives the symbols in order, and at Assign, which
// gives each color of a chart the symbol that keeps it apart from the colors
// it could be taken for. Font makes the one typeface that prints them all.
package symbols

import (
	_ "embed"
	"fmt"
	"strconv"
	"strings"
)

// Point is a place in the unit box of a symbol: x to the right, y down, both
// from -1 to 1. The box is as wide as a symbol may be in its cell.
type Point struct{ X, Y float64 }

// Path is an area filled by the even-odd rule over its contours, each closed.
// Its contours neither cross themselves nor each other. A symbol is the union
// of its paths.
type Path [][]Point

// Symbol is one mark.
type Symbol struct {
	Rune  rune   // its place in the font: no ASCII punctuation, no space
	Name  string // what a person calls it: "bow tie"
	Paths []Path
}

// Max is how many symbols there are.
const Max = 100

// Named is how many of them, the first, have a name that can be said aloud.
// The others are block and ring codes called "mark 01" and so on.
const Named = 88

// Sure is how many of the first are so far apart, .15 upright and .08 turned,
// that people hardly mix up two of them.
const Sure = 60

// Box is the share of a cell's side that a symbol may fill, 1.8 mm of 2.5 mm:
// a margin of 0.35 mm keeps it off the grid lines and off its neighbors.
// LargeBox is for dim light and tired eyes: 2 mm, with the .25 mm to the line
// that two strokes need between them to be seen apart.
const (
	Box      = 0.72
	LargeBox = 0.80

	// DiscShare leaves a rim of .14 mm between the discs of cells of 2.8 mm.
	DiscShare = 0.95
)

// Disc is a disc about the middle of a cell, DiscShare of it wide: the ground of
// a symbol that a round drill will cover. It is in the font and is no symbol.
const Disc rune = '\u2B24'

//go:embed table.txt
var tableText string

var (
	table  = parseTable(tableText)
	byRune = indexRunes(table)
)

// First returns the first n symbols, 1 <= n <= Max, named ones before codes.
// It panics for another n: whoever asks has counted the colors before.
func First(n int) []Symbol {
	if n < 1 || n > Max {
		panic(fmt.Sprintf("symbols: %d asked, there are 1 to %d", n, Max))
	}
	return append([]Symbol(nil), table[:n]...)
}

// ByRune returns the symbol that stands at r in the font.
func ByRune(r rune) (Symbol, bool) {
	i, ok := byRune[r]
	if !ok {
		return Symbol{}, false
	}
	return table[i], true
}

func indexRunes(list []Symbol) map[rune]int {
	m := make(map[rune]int, len(list))
	for i, s := range list {
		m[s.Rune] = i
	}
	return m
}

// parseTable reads table.txt, which is carried in the binary: a line that
// does not parse is our own mistake, so it panics.
func parseTable(text string) []Symbol {
	var list []Symbol
	for i, line := range strings.Split(text, "\n") {
		if line == "" || line[0] == '#' {
			continue
		}
		s, err := parseLine(line)
		if err != nil {
			panic(fmt.Sprintf("symbols: table.txt line %d: %v", i+1, err))
		}
		list = append(list, s)
	}
	return list
}

func parseLine(line string) (Symbol, error) {
	f := strings.Split(line, "\t")
	if len(f) != 3 {
		return Symbol{}, fmt.Errorf("%d fields, want code point, name, contours", len(f))
	}
	r, err := strconv.ParseUint(f[0], 16, 16)
	if err != nil {
		return Symbol{}, err
	}
	s := Symbol{Rune: rune(r), Name: f[1]}
	for _, path := range strings.Split(f[2], " | ") {
		var p Path
		for _, contour := range strings.Split(path, " ; ") {
			var c []Point
			for _, xy := range strings.Fields(contour) {
				x, y, _ := strings.Cut(xy, ",")
				px, errX := strconv.Atoi(x)
				py, errY := strconv.Atoi(y)
				if errX != nil || errY != nil {
					return Symbol{}, fmt.Errorf("%q is no point", xy)
				}
				c = append(c, Point{float64(px) / 1000, float64(py) / 1000})
			}
			p = append(p, c)
		}
		s.Paths = append(s.Paths, p)
	}
	return s, nil
}
