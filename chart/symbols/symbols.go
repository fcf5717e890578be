// Package symbols is the set of marks printed on the canvas, one for each
// color: contours, plain English names, how easily two are mistaken for each
// other, and which color gets which.
package symbols

// Point is a place in the unit box of a symbol: x to the right, y down, both
// from -1 to 1. The box is as wide as a symbol may be in its cell.
type Point struct{ X, Y float64 }

// Path is an area filled by the even-odd rule over its contours, each closed.
// A symbol is the union of its paths.
type Path [][]Point

// Symbol is one mark.
type Symbol struct {
	Rune  rune   // its place in the font: no ASCII punctuation
	Name  string // what a person calls it: "bow tie"
	Paths []Path
}
