package photo

import (
	"fmt"
	"image"
	"io"
)

// decoded is a decoder's picture, as stored.
type decoded struct {
	image  image.Image
	matrix *lumaMatrix // for pictures of luma and color differences
	lost   lost
	coarse bool // the file broke off before the last details
}

// lost counts rows that a broken file no longer holds, of so many; the picture
// ends where they begin.
type lost struct{ top, bottom, of int }

// crop leaves what is there of the picture.
func (d *decoded) crop() {
	switch m := d.image.(type) {
	case *packed:
		m.pix = m.pix[d.lost.top*m.stride:]
		m.h -= d.lost.top + d.lost.bottom
	case *image.Paletted:
		m.Pix = m.Pix[d.lost.top*m.Stride:]
		m.Rect.Max.Y -= d.lost.top + d.lost.bottom
	}
}

// note says what is missing of the upright picture, or nothing.
func (d *decoded) note(t turn) string {
	if gone := d.lost.top + d.lost.bottom; gone > 0 {
		// Where the stored lower edge lies upright, and the upper one.
		side := [9][2]string{
			1: {"lower", "upper"}, 2: {"lower", "upper"}, 3: {"upper", "lower"}, 4: {"upper", "lower"},
			5: {"right", "left"}, 6: {"left", "right"}, 7: {"left", "right"}, 8: {"right", "left"},
		}[t.known()]
		which := side[0]
		if d.lost.top > 0 {
			which = side[1]
		}
		percent := (100*gone + d.lost.of - 1) / d.lost.of
		return fmt.Sprintf("the photo's file is broken off or damaged: the %s %d percent are missing, and the picture ends there", which, percent)
	}
	if d.coarse {
		return "the photo's file is broken off: all of the picture is there, but less sharp than it was"
	}
	return ""
}

// half tells whether at least half of so many rows are there.
func half(rows, of int) error {
	if 2*rows < of {
		return io.ErrUnexpectedEOF
	}
	return nil
}
