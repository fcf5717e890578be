package render

import (
	"math"

	"kitwright/lab"
	"kitwright/render/pdf"
)

// color is an 8-bit sRGB color.
type color = pdf.Color

var (
	black = color{0, 0, 0}
	white = color{255, 255, 255}
	dim   = color{70, 70, 70}
	gray  = color{110, 110, 110}
	faint = color{200, 200, 200}
)

// tint returns the color mixed with white paper, keep percent of it left.
func tint(c color, keep int) color {
	for i, v := range c {
		c[i] = uint8(255 - ((255-int(v))*keep+50)/100)
	}
	return c
}

// Predicted luminance of print, in thousandths of a perfect white: paper .80,
// full ink .025 (assumed, not measured).
const (
	paperLuminance = 800
	inkLuminance   = 25
)

// printLuminance returns the predicted luminance of a printed color, relative
// to a perfect white, 1 = 1<<24.
func printLuminance(c color) int64 {
	return (inkLuminance*lab.LinearOne + (paperLuminance-inkLuminance)*luminance(c)) / 1000
}

// contrast returns the WCAG 2.1 contrast ratio of two luminances.
func contrast(a, b int64) float64 {
	if a < b {
		a, b = b, a
	}
	const flare = lab.LinearOne / 20
	return float64(a+flare) / float64(b+flare)
}

// whiteInk says whether white (bare paper) stands out more than black on a
// printed color. Decided by predicted print luminance, the better of the two
// has a ratio of at least sqrt(.85/.075) = 3.37 on any color; see readable.
func whiteInk(c color) bool {
	y := printLuminance(c)
	return contrast(printLuminance(white), y) > contrast(printLuminance(black), y)
}

// leastContrast is the predicted print contrast of every symbol, whatever the
// look: what WCAG 2.1 (1.4.3) wants of text.
const leastContrast = 4.5

// readable returns a color nearly as it is, with the ink that stands out on it:
// neither black nor white does enough on a mid tone, which is made lighter for
// black or darker for white, whichever takes less.
func readable(c color) (ground, ink color) {
	ink = black
	if whiteInk(c) {
		ink = white
	}
	enough := func(ground, ink color) bool {
		return contrast(printLuminance(ground), printLuminance(ink)) >= leastContrast
	}
	for keep := 100; ; keep-- {
		if enough(tint(c, keep), black) && (keep < 100 || ink == black) {
			return tint(c, keep), black
		}
		if dark := shade(c, keep); enough(dark, white) {
			return dark, white
		}
	}
}

// shade returns the color mixed with black, keep percent of it left.
func shade(c color, keep int) color {
	for i, v := range c {
		c[i] = uint8((int(v)*keep + 50) / 100)
	}
	return c
}

// luminance returns the relative luminance of an sRGB color, in units of
// 1/lab.LinearOne.
func luminance(c [3]uint8) int64 {
	return int64(math.Round(lab.Luminance([3]float64{float64(lab.Linear[c[0]]), float64(lab.Linear[c[1]]), float64(lab.Linear[c[2]])})))
}
