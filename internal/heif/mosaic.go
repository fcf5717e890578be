package heif

import (
	"encoding/binary"
	"errors"
	"image"
)

// mosaic is the picture that tiles are put into: planes of bytes, or of 16-bit
// numbers where they have more than 8 bits.
type mosaic struct {
	w, h   int
	rows   int // that are there, from the top
	cw, ch int // of a plane of color differences
	ratio  image.YCbCrSubsampleRatio
	depth  int // 0 until the first tile
	gray   bool
	flat   [3][]byte
	deep   [3][]uint16

	a     []byte // opacity, 0 to 255; nil = opaque
	aDeep []uint16
}

var errTiles = errors.New("heif: tiles of different kinds")

// like makes room for a picture of tiles like m, once.
func (o *mosaic) like(m *planes) error {
	if o.depth != 0 {
		if o.ratio != m.ratio || o.depth != m.depth || o.gray != m.gray {
			return errTiles
		}
		return nil
	}
	o.ratio, o.depth, o.gray = m.ratio, m.depth, m.gray
	o.cw, o.ch = o.w, o.h
	if m.ratio != image.YCbCrSubsampleRatio444 {
		o.cw = (o.w + 1) / 2
	}
	if m.ratio == image.YCbCrSubsampleRatio420 {
		o.ch = (o.h + 1) / 2
	}
	sizes := [3]int{o.w * o.h, o.cw * o.ch, o.cw * o.ch}
	for c, n := range sizes {
		switch {
		case o.depth == 8:
			o.flat[c] = make([]byte, n)
		default:
			o.deep[c] = make([]uint16, n)
		}
	}
	if o.gray { // no color is the middle of the range
		for c := 1; c < 3; c++ {
			for i := range o.flat[c] {
				o.flat[c][i] = 128
			}
			for i := range o.deep[c] {
				o.deep[c][i] = 1 << (o.depth - 1)
			}
		}
	}
	return nil
}

// put copies a tile to its place; what hangs over the edge is dropped.
func (o *mosaic) put(m *planes, x, y int) {
	sx, sy := 1, 1
	if m.ratio != image.YCbCrSubsampleRatio444 {
		sx = 2
	}
	if m.ratio == image.YCbCrSubsampleRatio420 {
		sy = 2
	}
	half := func(v, s int) int { return (v + s - 1) / s }
	for c, from := range m.plane {
		if from == nil {
			continue
		}
		w, h, toW, toH, tx, ty := m.w, m.h, o.w, o.h, x, y
		if c > 0 {
			w, h, toW, toH, tx, ty = half(w, sx), half(h, sy), o.cw, o.ch, x/sx, y/sy
		}
		w, h = min(w, toW-tx), min(h, toH-ty)
		if w <= 0 {
			continue
		}
		for row := range max(h, 0) {
			at := (ty+row)*toW + tx
			if o.depth == 8 {
				copy(o.flat[c][at:][:w], from[row*m.stride[c]:])
				continue
			}
			line := from[row*m.stride[c]:][: 2*w : 2*w]
			to := o.deep[c][at:][:w]
			for i := range to {
				to[i] = binary.LittleEndian.Uint16(line[2*i:])
			}
		}
	}
}

// cover makes the luma of another picture the opacity of this one, if it is as
// large; as many bits as this one has.
func (o *mosaic) cover(a *mosaic) {
	if a.w != o.w || a.h != o.h {
		return
	}
	top, full := uint32(1)<<a.depth-1, uint32(1)<<o.depth-1
	at := func(i int) uint32 {
		if a.depth == 8 {
			return uint32(a.flat[0][i])
		}
		return min(uint32(a.deep[0][i]), top)
	}
	switch {
	case o.depth == 8 && a.depth == 8:
		o.a = a.flat[0]
	case o.depth == 8:
		o.a = make([]byte, o.w*o.h)
		for i := range o.a {
			o.a[i] = byte((at(i)*full + top/2) / top)
		}
	default:
		o.aDeep = make([]uint16, o.w*o.h)
		for i := range o.aDeep {
			o.aDeep[i] = uint16((at(i)*full + top/2) / top)
		}
	}
}
