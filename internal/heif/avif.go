package heif

import (
	"context"
	"image"
)

// decodeAVIF hands the whole file to libavif, which returns red, green, blue
// and alpha, multiplied by alpha; neither turned nor cropped.
func (f *File) decodeAVIF(ctx context.Context) (image.Image, error) {
	in, err := libavif.Open(ctx)
	if err != nil {
		return nil, err
	}
	defer in.Close()
	data, err := in.Put(f.data)
	if err != nil {
		return nil, err
	}
	head, err := in.Put(make([]byte, 32))
	if err != nil {
		return nil, err
	}
	w, h, depth, count, delay := uint64(head), uint64(head+4), uint64(head+8), uint64(head+12), uint64(head+16)
	call := func(configOnly, out uint64) ([4]int, error) {
		ok, err := in.Call("decode", uint64(data), uint64(len(f.data)), configOnly, 0, w, h, depth, count, delay, out)
		return answer(in, head, ok, err)
	}
	v, err := call(1, 0)
	if err != nil {
		return nil, err
	}
	if v[0] != f.Width || v[1] != f.Height {
		return nil, errBox
	}
	size := 4 // bytes of a pixel
	if v[2] > 8 {
		size = 8
	}
	n := v[0] * v[1] * size
	out, err := in.Alloc(n)
	if err != nil {
		return nil, err
	}
	// A picture that cannot be decoded leaves the memory as it was, and the
	// module does not tell: mark a pixel with what no picture has, a color
	// brighter than its own opacity.
	mark, err := in.View(out, n)
	if err != nil {
		return nil, err
	}
	for i := 0; i < size; i++ {
		mark[i] = 0xFF
	}
	for i := size / 4 * 3; i < size; i++ {
		mark[i] = 0
	}
	if _, err := call(0, uint64(out)); err != nil {
		return nil, err
	}
	got, err := in.View(out, n)
	if err != nil {
		return nil, err
	}
	rect := image.Rect(0, 0, v[0], v[1])
	if size == 4 {
		if got[0] == 0xFF && got[3] == 0 {
			return nil, ErrDecode
		}
		m := image.NewRGBA(rect)
		copy(m.Pix, got)
		return m, nil
	}
	if got[0] == 0xFF && got[6] == 0 && got[7] == 0 {
		return nil, ErrDecode
	}
	// The module's numbers are little-endian and hold as many bits as the
	// picture's; libavif was asked for 16.
	m := image.NewRGBA64(rect)
	for i := 0; i < n; i += 2 {
		m.Pix[i], m.Pix[i+1] = got[i+1], got[i]
	}
	return m, nil
}
