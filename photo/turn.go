package photo

import (
	"image"

	"github.com/disintegration/imaging"
)

// turn tells how a stored picture must be turned to stand upright, with the
// numbers of the Exif tag Orientation (CIPA DC-008, tag 0x0112): 1 as it is,
// 2 mirrored, 3 half a turn, 4 upside down mirror, 5 transposed, 6 a quarter
// turn clockwise, 7 transposed the other way, 8 a quarter turn back.
type turn uint8

const upright turn = 1

// known returns t, or upright where t is no orientation.
func (t turn) known() turn {
	if t < 1 || t > 8 {
		return upright
	}
	return t
}

// swaps tells whether width and height change places.
func (t turn) swaps() bool { return t >= 5 }

// size returns the upright size of a stored w x h picture (and back again).
func (t turn) size(w, h int) (int, int) {
	if t.swaps() {
		return h, w
	}
	return w, h
}

// source returns the stored place of the upright place x, y in a stored
// picture of w x h.
func (t turn) source(x, y, w, h int) (int, int) {
	switch t {
	case 2:
		return w - 1 - x, y
	case 3:
		return w - 1 - x, h - 1 - y
	case 4:
		return x, h - 1 - y
	case 5:
		return y, x
	case 6:
		return y, h - 1 - x
	case 7:
		return w - 1 - y, h - 1 - x
	case 8:
		return w - 1 - y, x
	}
	return x, y
}

// window returns the stored window of an upright one; w and h are the stored
// size in pixels.
func (t turn) window(u window, w, h int) window {
	sw, sh := int64(w)*sub, int64(h)*sub
	s := u
	if t.swaps() {
		s = window{u.y, u.x, u.h, u.w}
	}
	switch t {
	case 2, 8:
		s.x = sw - s.x - s.w
	case 3, 7:
		s.x = sw - s.x - s.w
		s.y = sh - s.y - s.h
	case 4, 6:
		s.y = sh - s.y - s.h
	}
	return s
}

// upright turns a small stored grid of w x h values.
func uprightCells[T any](t turn, stored []T, w, h int) []T {
	if t == upright {
		return stored
	}
	cols, rows := t.size(w, h)
	out := make([]T, len(stored))
	for y := range rows {
		for x := range cols {
			sx, sy := t.source(x, y, w, h)
			out[y*cols+x] = stored[sy*w+sx]
		}
	}
	return out
}

// image turns a picture that we made ourselves: imaging works in goroutines,
// whose panics nobody can catch, so it never gets a decoder's image.
func (t turn) image(m *image.NRGBA) *image.NRGBA {
	switch t {
	case 2:
		return imaging.FlipH(m)
	case 3:
		return imaging.Rotate180(m)
	case 4:
		return imaging.FlipV(m)
	case 5:
		return imaging.Transpose(m)
	case 6:
		return imaging.Rotate270(m) // imaging counts counter-clockwise
	case 7:
		return imaging.Transverse(m)
	case 8:
		return imaging.Rotate90(m)
	}
	return m
}
