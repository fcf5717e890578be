// Package lab is the ground that every color stands on: CIE L*a*b*, the
// visible difference between two colors, and the grid of target colors that a
// photo becomes.
//
// Begin with [Color], [DeltaE] and [Grid]. All colors are CIE 1976 L*a*b*
// relative to D65 (2 degree observer, white = the row sums of the sRGB matrix:
// X .95047, Y 1, Z 1.08883), with L in [0, 100] as in the papers.
package lab

import "math"

// Color is a CIE 1976 L*a*b* color, D65, 2 degree observer. L runs from 0
// (black) to 100 (white); A and B have no hard ends, about -128 to 128 for
// colors that occur.
type Color struct{ L, A, B float64 }

// Grid is one target color for each drill of a canvas, row by row from the
// top left: the cell of column x and row y is Cells[y*Cols+x]. Every component
// is rounded to 1/4096 ([Color.Round]), so that the last bit of a processor's
// arithmetic never decides about a drill.
type Grid struct {
	Cols, Rows int
	Cells      []Color
}

// NewGrid returns a grid of black cells.
func NewGrid(cols, rows int) *Grid {
	return &Grid{Cols: cols, Rows: rows, Cells: make([]Color, cols*rows)}
}

// At returns the color of the cell in column x and row y.
func (g *Grid) At(x, y int) Color { return g.Cells[y*g.Cols+x] }

// Set stores a color, rounded, in the cell of column x and row y.
func (g *Grid) Set(x, y int, c Color) { g.Cells[y*g.Cols+x] = c.Round() }

// Round returns the color with every component rounded to the nearest 1/4096.
func (c Color) Round() Color {
	return Color{round4096(c.L), round4096(c.A), round4096(c.B)}
}

func round4096(v float64) float64 { return math.Round(v*4096) / 4096 }
