package heif

import (
	"encoding/binary"
	"errors"
	"image"

	"kitwright/internal/wasm"
)

// planes is one decoded tile in the module's memory.
type planes struct {
	ratio            image.YCbCrSubsampleRatio
	y, cb, cr        []byte
	yStride, cStride int
	w, h             int
}

// Numbers of libheif's interface (libheif/api/libheif/heif.h).
const (
	heifYCbCr                 = 0
	heif420, heif422, heif444 = 1, 2, 3
)

// heifStride is the length of a row that libheif keeps for a width: even, at
// least 64 and a multiple of 16 (libheif/pixelimage.cc, rounded_size and
// add_plane of version 1.18).
func heifStride(w int) int { return (max((w+1)&^1, 64) + 15) &^ 15 }

// answer reads the four numbers that a module's decode left at head, unless it
// failed.
func answer(in *wasm.Instance, head uint32, ok uint64, err error) (v [4]int, _ error) {
	if err != nil || ok == 0 {
		return v, errors.Join(ErrDecode, err)
	}
	b, err := in.View(head, 16)
	if err != nil {
		return v, err
	}
	for i := range v {
		v[i] = int(binary.LittleEndian.Uint32(b[4*i:]))
	}
	return v, nil
}

// decodeTile decodes a small file and shows its planes to use, which must not
// keep them.
func decodeTile(in *wasm.Instance, file []byte, s sps, use func(*planes) error) error {
	data, err := in.Put(file)
	if err != nil {
		return err
	}
	defer in.Free(data)
	head, err := in.Put(make([]byte, 20))
	if err != nil {
		return err
	}
	defer in.Free(head)
	call := func(configOnly int, out uint32) ([4]int, error) {
		ok, err := in.Call("decode", uint64(data), uint64(len(file)), uint64(configOnly), uint64(head), uint64(head+4), uint64(head+8), uint64(head+12), uint64(head+16), uint64(out))
		return answer(in, head, ok, err)
	}
	v, err := call(1, 0)
	if err != nil {
		return err
	}
	m := &planes{w: s.w, h: s.h, yStride: heifStride(s.w)}
	cw, ch := s.w, s.h
	switch {
	case v[0] != s.w || v[1] != s.h:
		return errBox
	case v[2] == heifYCbCr && v[3] == heif420:
		m.ratio, cw, ch = image.YCbCrSubsampleRatio420, (cw+1)/2, (ch+1)/2
	case v[2] == heifYCbCr && v[3] == heif422:
		m.ratio, cw = image.YCbCrSubsampleRatio422, (cw+1)/2
	case v[2] == heifYCbCr && v[3] == heif444:
		m.ratio = image.YCbCrSubsampleRatio444
	default:
		return ErrKind("stores its colors in a rare way")
	}
	m.cStride = heifStride(cw)
	ny, nc := m.yStride*s.h, m.cStride*ch
	out, err := in.Alloc(ny + 2*nc)
	if err != nil {
		return err
	}
	defer in.Free(out)
	if _, err := call(0, out); err != nil {
		return err
	}
	b, err := in.View(out, ny+2*nc)
	if err != nil {
		return err
	}
	m.y, m.cb, m.cr = b[:ny], b[ny:ny+nc], b[ny+nc:]
	return use(m)
}

// mosaic is the picture that tiles are put into.
type mosaic struct {
	w, h int
	ycc  *image.YCbCr
}

var errTiles = errors.New("heif: tiles of different kinds")

// like makes room for a picture of tiles like m, once.
func (o *mosaic) like(m *planes) error {
	if o.ycc == nil {
		o.ycc = image.NewYCbCr(image.Rect(0, 0, o.w, o.h), m.ratio)
	}
	if o.ycc.SubsampleRatio != m.ratio {
		return errTiles
	}
	return nil
}

// put copies a tile to its place; what hangs over the edge is dropped.
func (o *mosaic) put(m *planes, x, y int) {
	lay(o.ycc.Y, o.ycc.YStride, o.w, o.h, m.y, m.yStride, m.w, m.h, x, y)
	sx, sy := 1, 1
	if m.ratio != image.YCbCrSubsampleRatio444 {
		sx = 2
	}
	if m.ratio == image.YCbCrSubsampleRatio420 {
		sy = 2
	}
	half := func(v, s int) int { return (v + s - 1) / s }
	for _, p := range [2][2][]byte{{o.ycc.Cb, m.cb}, {o.ycc.Cr, m.cr}} {
		lay(p[0], o.ycc.CStride, half(o.w, sx), half(o.h, sy), p[1], m.cStride, half(m.w, sx), half(m.h, sy), x/sx, y/sy)
	}
}

func lay(to []byte, toStride, toW, toH int, from []byte, stride, w, h, x, y int) {
	w, h = min(w, toW-x), min(h, toH-y)
	if w <= 0 {
		return
	}
	for row := range max(h, 0) {
		copy(to[(y+row)*toStride+x:][:w], from[row*stride:][:w])
	}
}
