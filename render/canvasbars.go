package render

import (
	"math"
	"strconv"

	"kitwright/internal/measure"
	"kitwright/render/letters"
	"kitwright/render/pdf"
)

// barLength returns how long a check bar along a side is, mm: whole tens, as
// many as the side has. A ruler's error is the same on a long bar, and less of
// it.
func barLength(side float64) float64 {
	return max(100, 10*math.Floor(side/10+1e-9))
}

// barLengths returns the lengths of the canvas's bars, across and down.
func (c *canvas) barLengths() (across, down float64) {
	return barLength(c.w + 2*c.wrap), barLength(c.h + 2*c.wrap)
}

// barText tells the length of a bar.
func barText(mm float64) string { return strconv.Itoa(int(mm)) + " mm" }

// bars returns the check bars, as long as whole tens of millimeters have
// room: one below the picture from its right end on, one beside it from its
// upper end down, so that they meet in no corner.
func (c *canvas) bars() []pdf.Op {
	f := c.f
	across, down := c.barLengths()
	left, bottom := c.x-c.wrap, c.y+c.h+c.wrap
	x, y := max(left, left+c.w+2*c.wrap-across), bottom+barOff*f
	ops := barAcross(x, y, across)
	hundreds := func(length float64, at func(d float64)) {
		for d := 100.0; d <= length-20*f; d += 100 { // the length itself stands at the end
			at(d)
		}
	}
	hundreds(across, func(d float64) {
		ops = append(ops, pdf.Text{X: x + d, Y: y - 3.6, Size: small * f, Align: pdf.Center, Ink: dim, S: strconv.Itoa(int(d))})
	})
	ops = append(ops,
		pdf.Text{X: x + across, Y: y - 3.6, Size: 8 * f, Face: letters.Bold, Align: pdf.Right, S: barText(across)},
		pdf.Text{X: x, Y: y + 4.2*f, Size: 8 * f, S: c.barWords(across)})
	if lip := c.print.FrameLip; lip > 0 {
		ops = append(ops, pdf.Text{X: x, Y: y + 8.2*f, Size: 8 * f, S: "Shaded drills: hidden by a frame's lip of " + lengthBoth(lip, c.print.Units) + "."})
	}
	x, y = left-barOff*f, c.y-c.wrap
	ops = append(ops, barDown(x, y, down)...)
	hundreds(down, func(d float64) {
		ops = append(ops, pdf.Text{X: x - 3.6, Y: y + d, Size: small * f, Align: pdf.Center, Turn: 90, Ink: dim, S: strconv.Itoa(int(d))})
	})
	return append(ops, pdf.Text{X: x - 3.6, Y: y + down, Size: 8 * f, Face: letters.Bold, Align: pdf.Left, Turn: 90, S: barText(down)})
}

// barWords says what the bar is for, and for which printer it is right.
func (c *canvas) barWords(across float64) string {
	s := "Print at 100 %, no “fit to page”. This bar must measure " + barText(across) + "."
	if t := c.print.scaledFor(c.kit); t != "" {
		s += " " + t
	}
	return s
}

// seams marks in the margins where strips of film meet, if the film is
// narrower than the picture.
func (c *canvas) seams() []pdf.Op {
	strips, upright := filmStrips(c.kit, c.print.FilmWidth)
	var ops []pdf.Op
	tip, foot, side := 7*c.f, 10*c.f, 1.2*c.f // beyond the numbers
	for _, s := range strips[1:] {
		at := float64(s.From) * c.kit.Pitch.MM()
		if upright {
			x, y0, y1 := c.x+at, c.y-c.wrap, c.y+c.h+c.wrap
			ops = append(ops,
				pdf.Poly{Fill: black, Points: [][2]float64{{x, y0 - tip}, {x + side, y0 - foot}, {x - side, y0 - foot}}},
				pdf.Poly{Fill: black, Points: [][2]float64{{x, y1 + tip}, {x + side, y1 + foot}, {x - side, y1 + foot}}},
				pdf.Text{X: x + 2, Y: y0 - tip - 0.6, Size: small * c.f, S: "film seam"})
		} else {
			y, x0, x1 := c.y+at, c.x-c.wrap, c.x+c.w+c.wrap
			ops = append(ops,
				pdf.Poly{Fill: black, Points: [][2]float64{{x0 - tip - 3, y}, {x0 - foot - 3, y + side}, {x0 - foot - 3, y - side}}},
				pdf.Poly{Fill: black, Points: [][2]float64{{x1 + tip + 3, y}, {x1 + foot + 3, y + side}, {x1 + foot + 3, y - side}}},
				pdf.Text{X: x0 - foot - 2, Y: y + 4.2, Size: small * c.f, Align: pdf.Center, S: "seam"})
		}
	}
	return ops
}

// barError returns how far a bar of the canvas may be off on a ruler: less than
// moves the farthest drill by half a pitch, in half millimeters, as a ruler
// shows them, and never more than a millimeter.
func barError(length float64, side, pitch measure.Length) measure.Length {
	const half = 500 * measure.Micrometer
	e := measure.Length(length) * pitch / 2 * measure.Millimeter / side
	return min(max(e/half*half, half), 2*half)
}
