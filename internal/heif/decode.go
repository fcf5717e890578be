package heif

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"image"
	"runtime"
	"sync"

	"kitwright/internal/wasm"
)

// Picture is a decoded picture, as stored.
type Picture struct {
	// Image is *image.YCbCr or *image.NYCbCrA; *[Deep] where numbers have more
	// than 8 bits; *image.NRGBA64 or *image.RGBA64 where the file stores
	// its colors in a way that is better undone here. Its bounds may not begin
	// at 0, 0.
	Image image.Image
	// Kr and Kb are the luma weights of red and blue, and Video tells that luma
	// runs from 16 to 235 (times four in ten bits); for pictures of luma only.
	Kr, Kb float64
	Video  bool
	// Rows is how many rows of pixels are there, from the top: all of them,
	// unless the file breaks off. They are counted before the clean aperture,
	// if there is one, takes some away.
	Rows int
}

// ErrDecode is an error of the carried decoders.
var ErrDecode = errors.New("heif: the picture cannot be decoded")

// Decode decodes the picture. It needs room for the whole of it. When ctx
// ends, so does the decoder.
func (f *File) Decode(ctx context.Context) (*Picture, error) {
	m, err := f.decodeItem(ctx, f.items[f.primary])
	if err != nil {
		return nil, err
	}
	if f.alpha != nil {
		a, err := f.decodeItem(ctx, f.alpha)
		if err != nil {
			return nil, err
		}
		m.cover(a)
	}
	p, err := f.picture(m)
	if err != nil {
		return nil, err
	}
	p.Rows = m.rows
	shown := image.Rect(0, 0, m.w, m.rows)
	if c := f.crop; c != nil {
		shown = shown.Intersect(image.Rect(c.x, c.y, c.x+c.w, c.y+c.h))
	}
	if sub, ok := p.Image.(interface {
		SubImage(image.Rectangle) image.Image
	}); ok && shown != p.Image.Bounds() {
		p.Image = sub.SubImage(shown)
	}
	return p, nil
}

// picture gives the planes the form that the matrix of the file asks for.
func (f *File) picture(m *mosaic) (*Picture, error) {
	matrix := f.matrix
	if m.gray {
		matrix = 2
	}
	premultiplied := f.premultiplied && (m.a != nil || m.aDeep != nil)
	if matrix == identity || matrix == yCgCo || premultiplied {
		return f.rgb(m, matrix)
	}
	p := &Picture{Video: f.video}
	var err error
	if p.Kr, p.Kb, err = lumaWeights(matrix); err != nil {
		return nil, err
	}
	if m.depth > 8 {
		d := &Deep{Rect: image.Rect(0, 0, m.w, m.h), Ratio: m.ratio, Bits: m.depth, Y: m.deep[0], Cb: m.deep[1], Cr: m.deep[2], A: m.aDeep, YStride: m.w, CStride: m.cw, Kr: p.Kr, Kb: p.Kb, Video: p.Video}
		p.Image = d
		return p, nil
	}
	ycc := image.YCbCr{Y: m.flat[0], Cb: m.flat[1], Cr: m.flat[2], YStride: m.w, CStride: m.cw, SubsampleRatio: m.ratio, Rect: image.Rect(0, 0, m.w, m.h)}
	p.Image = &ycc
	if m.a != nil {
		p.Image = &image.NYCbCrA{YCbCr: ycc, A: m.a, AStride: m.w}
	}
	return p, nil
}

// Two matrix coefficients that are none (ITU-T H.273, table 4): red, green and
// blue as they are, and YCgCo.
const identity, yCgCo = 0, 8

// lumaWeights returns Kr and Kb of matrix coefficients (ITU-T H.273, table 4).
// What is not said is BT.601, as other readers take it.
func lumaWeights(matrix int) (kr, kb float64, err error) {
	switch matrix {
	case 1:
		return 0.2126, 0.0722, nil
	case 2, 5, 6:
		return 0.299, 0.114, nil
	case 4:
		return 0.30, 0.11, nil
	case 7:
		return 0.212, 0.087, nil
	case 9, 10:
		return 0.2627, 0.0593, nil
	case 12, 13:
		return 0.2126, 0.0722, nil // from the primaries, which are BT.709's in practice
	}
	return 0, 0, ErrKind("stores its colors in a rare way")
}

// decodeItem decodes a coded picture or a grid of them, several tiles at once,
// so that no decoder ever holds more than one tile.
func (f *File) decodeItem(ctx context.Context, it *item) (out *mosaic, err error) {
	g := grid{cols: 1, rows: 1, tiles: []*item{it}}
	if it.kind == "grid" {
		if g, err = f.grid(it); err != nil {
			return nil, err
		}
	}
	var tw, th int // of a tile
	if tw, th, err = f.codedSize(g.tiles[0]); err != nil {
		return nil, err
	}
	if it.kind != "grid" {
		g.w, g.h = tw, th
	}
	if tw*g.cols < g.w || th*g.rows < g.h || tw*(g.cols-1) >= g.w || th*(g.rows-1) >= g.h {
		return nil, errBox
	}
	out = &mosaic{w: g.w, h: g.h, rows: g.h}
	if it.id == f.primary && f.there > 0 {
		whole := f.there / g.cols // rows of tiles
		if out.rows = min(g.h, whole*th); 2*out.rows < g.h {
			return nil, ErrShort
		}
		g.tiles = g.tiles[:whole*g.cols]
	}
	var (
		mu    sync.Mutex
		next  int
		first error
		wg    sync.WaitGroup
	)
	take := func() int {
		mu.Lock()
		defer mu.Unlock()
		if first != nil || next == len(g.tiles) {
			return -1
		}
		next++
		return next - 1
	}
	put := func(i int, m *planes) error {
		mu.Lock()
		err := out.like(m)
		mu.Unlock()
		if err == nil {
			out.put(m, i%g.cols*tw, i/g.cols*th)
		}
		return err
	}
	for range min(runtime.GOMAXPROCS(0), len(g.tiles), 8) {
		wg.Go(func() {
			w := &worker{ctx: ctx}
			defer w.close()
			for i := take(); i >= 0; i = take() {
				if err := w.tile(f, g.tiles[i], tw, th, func(m *planes) error { return put(i, m) }); err != nil {
					mu.Lock()
					if first == nil {
						first = err
					}
					mu.Unlock()
				}
			}
		})
	}
	wg.Wait()
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	return out, first
}

// worker decodes one tile after the other with one instance of a decoder.
type worker struct {
	ctx context.Context
	in  *wasm.Instance
	of  *decoder
}

func (w *worker) close() {
	if w.in != nil {
		w.in.Close()
	}
	w.in = nil
}

// tile decodes a coded picture, which has to be tw x th, and shows it to use.
func (w *worker) tile(f *File, t *item, tw, th int, use func(*planes) error) (err error) {
	defer func() { // a panic here would be out of reach of the caller
		if v := recover(); v != nil {
			err = fmt.Errorf("%w: %v", ErrDecode, v)
		}
		if err != nil {
			w.close() // after a trap an instance is of no more use
		}
	}()
	if cw, ch, err := f.codedSize(t); err != nil || cw != tw || ch != th {
		return errors.Join(errBox, err)
	}
	d, data, err := f.stream(t)
	if err != nil {
		return err
	}
	if w.in == nil || w.of != d {
		w.close()
		if w.in, err = d.module.Open(w.ctx); err != nil {
			return err
		}
		w.of = d
	}
	m, free, err := d.decode(w.in, data, tw*th)
	if err != nil {
		return err
	}
	defer free()
	if m.w != tw || m.h != th {
		return errBox
	}
	return use(m)
}

// codedSize returns the size of a coded picture, from the coded data itself.
func (f *File) codedSize(t *item) (w, h int, err error) {
	if t.kind == "av01" {
		data, err := f.bytes(t)
		if err != nil {
			return 0, 0, err
		}
		if s, ok := readAV1(data); ok {
			return s.w, s.h, nil
		}
		return 0, 0, errBox
	}
	s, ok := readHvcC(t.prop("hvcC"))
	if !ok {
		return 0, 0, errBox
	}
	return s.w, s.h, nil
}

// stream returns the coded data of an item as its decoder takes it.
func (f *File) stream(t *item) (*decoder, []byte, error) {
	data, err := f.bytes(t)
	if err != nil {
		return nil, nil, err
	}
	if t.kind == "av01" {
		return av1, data, nil
	}
	data, err = units(t.prop("hvcC"), data)
	return hevc, data, err
}

// units puts the parameter sets of a decoder record (ISO/IEC 14496-15, 8.3.3.1)
// in front of a picture's units, each behind its length in four bytes.
func units(hvcC, data []byte) ([]byte, error) {
	r := reader{data: hvcC}
	head := r.take(22)
	if r.bad {
		return nil, errBox
	}
	size := int(head[21]&3) + 1 // bytes of a length in data
	var out bytes.Buffer
	put := func(nal []byte) {
		out.Write(binary.BigEndian.AppendUint32(nil, uint32(len(nal))))
		out.Write(nal)
	}
	for range r.u8() {
		r.u8()
		for range r.u16() {
			put(r.take(r.u16()))
		}
	}
	if r.bad {
		return nil, errBox
	}
	for r = (reader{data: data}); len(r.data) > 0; {
		nal := r.take(int(r.uint(size)))
		if r.bad {
			return nil, ErrShort
		}
		put(nal)
	}
	return out.Bytes(), nil
}
