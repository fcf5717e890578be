package heif

import (
	"bytes"
	_ "embed"
	"encoding/binary"
	"errors"
	"image"
	"runtime"
	"sync"

	"kitwright/internal/wasm"
)

//go:embed libheif/heif.wasm.gz
var libheifGz []byte

//go:embed libavif/decode.wasm.gz
var libavifGz []byte

var (
	libheif = wasm.New(libheifGz, 2048)
	libavif = wasm.New(libavifGz, 3072)
)

// Picture is a decoded picture, as stored.
type Picture struct {
	// Image is *image.YCbCr or *image.NYCbCrA (HEIC), or *image.RGBA or
	// *image.RGBA64 (AVIF). Its bounds may not begin at 0, 0.
	Image image.Image
	// Kr and Kb are the luma weights of red and blue, and Video tells that luma
	// runs from 16 to 235; for YCbCr only.
	Kr, Kb float64
	Video  bool
	// Cut is what luma and color differences lost on average, in levels, when
	// libheif made 8 bits of more: it drops the lower ones.
	Cut float64
}

// ErrDecode is an error of the carried decoders.
var ErrDecode = errors.New("heif: the picture cannot be decoded")

// Decode decodes the picture. It needs room for the whole of it.
func (f *File) Decode() (*Picture, error) {
	p := &Picture{}
	var err error
	if f.Format == "AVIF" {
		p.Image, err = f.decodeAVIF()
	} else {
		p.Video, p.Cut = f.video, f.cut
		if p.Kr, p.Kb, err = lumaWeights(f.matrix); err != nil {
			return nil, err
		}
		if p.Image, err = f.decodeHEIC(f.items[f.primary]); err == nil {
			err = f.addAlpha(p)
		}
	}
	if err != nil {
		return nil, err
	}
	if c := f.crop; c != nil {
		if m, ok := p.Image.(interface {
			SubImage(image.Rectangle) image.Image
		}); ok {
			p.Image = m.SubImage(image.Rect(c.x, c.y, c.x+c.w, c.y+c.h))
		}
	}
	return p, nil
}

// lumaWeights returns Kr and Kb of matrix coefficients (ITU-T H.273, table 4).
// What is not said is BT.601, as libheif takes it.
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

// decodeHEIC decodes an HEVC picture or a grid of them: each tile as a small
// file of its own, several at once, so that no decoder ever holds more than
// one tile.
func (f *File) decodeHEIC(it *item) (*image.YCbCr, error) {
	g := grid{cols: 1, rows: 1, tiles: []*item{it}}
	s, ok := readHvcC(it.prop("hvcC"))
	g.w, g.h = s.w, s.h
	if it.kind == "grid" {
		var err error
		if g, err = f.grid(it); err != nil {
			return nil, err
		}
		s, ok = readHvcC(g.tiles[0].prop("hvcC"))
	}
	if !ok {
		return nil, errBox
	}
	if s.chroma444 && s.depth > 8 {
		return nil, ErrKind("keeps more than 8 bits of every color difference") // the module stops at them
	}
	if s.w*g.cols < g.w || s.h*g.rows < g.h || s.w*(g.cols-1) >= g.w || s.h*(g.rows-1) >= g.h {
		return nil, errBox
	}
	out := &mosaic{w: g.w, h: g.h}
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
	for range min(runtime.GOMAXPROCS(0), len(g.tiles), 8) {
		wg.Go(func() {
			var in *wasm.Instance
			defer func() {
				if in != nil {
					in.Close()
				}
			}()
			for i, done := take(), 0; i >= 0; i, done = take(), done+1 {
				err := func() (err error) {
					if in != nil && done%32 == 0 { // the module keeps a little of each tile
						in.Close()
						in = nil
					}
					if in == nil {
						if in, err = libheif.Open(); err != nil {
							return err
						}
					}
					t := g.tiles[i]
					ts, ok := readHvcC(t.prop("hvcC"))
					if !ok || ts.w != s.w || ts.h != s.h {
						return errBox
					}
					data, err := f.bytes(t)
					if err != nil {
						return err
					}
					return decodeTile(in, single(t.prop("hvcC"), data, s.w, s.h), s, func(m *planes) error {
						mu.Lock()
						err := out.like(m)
						mu.Unlock()
						if err == nil {
							out.put(m, i%g.cols*s.w, i/g.cols*s.h)
						}
						return err
					})
				}()
				if err != nil {
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
	if first != nil {
		return nil, first
	}
	return out.ycc, nil
}

// single writes a file that holds one coded picture and nothing else.
//
// libheif cannot hand out a gray picture by this module's interface, but it
// makes luma and (empty) color differences of it when the record says so; the
// decoder goes by the coded data, not by the record.
func single(hvcC, data []byte, w, h int) []byte {
	const chroma = 16 // the place of the chroma format in the record, lowest two bits
	if len(hvcC) > chroma && hvcC[chroma]&3 == 0 {
		hvcC = bytes.Clone(hvcC)
		hvcC[chroma] |= 1
	}
	var b writer
	b.box("ftyp", func() { b.text("heic\x00\x00\x00\x00mif1heic") })
	place := 0
	b.box("meta", func() {
		b.u32(0)
		b.box("hdlr", func() { b.u32(0); b.u32(0); b.text("pict"); b.u8(make([]byte, 13)...) })
		b.box("pitm", func() { b.u32(0); b.u16(1) })
		b.box("iinf", func() {
			b.u32(0)
			b.u16(1)
			b.box("infe", func() { b.u32(2 << 24); b.u16(1); b.u16(0); b.text("hvc1\x00") })
		})
		b.box("iprp", func() {
			b.box("ipco", func() {
				b.box("hvcC", func() { b.u8(hvcC...) })
				b.box("ispe", func() { b.u32(0); b.u32(w); b.u32(h) })
			})
			b.box("ipma", func() { b.u32(0); b.u32(1); b.u16(1); b.u8(2, 0x81, 2) })
		})
		b.box("iloc", func() {
			b.u32(0)
			b.u16(0x4400)
			b.u16(1)
			b.u16(1)
			b.u16(0)
			b.u16(1)
			place = len(b)
			b.u32(0)
			b.u32(len(data))
		})
	})
	b.box("mdat", func() {
		binary.BigEndian.PutUint32(b[place:], uint32(len(b)))
		b.u8(data...)
	})
	return b
}

// addAlpha joins the picture with its opacity, if that has the same size.
func (f *File) addAlpha(p *Picture) error {
	m, ok := p.Image.(*image.YCbCr)
	if !ok || f.alpha == nil {
		return nil
	}
	a, err := f.decodeHEIC(f.alpha)
	if err != nil {
		return err
	}
	if a.Rect == m.Rect {
		p.Image = &image.NYCbCrA{YCbCr: *m, A: a.Y, AStride: a.YStride}
	}
	return nil
}

// decodeAVIF hands the whole file to libavif, which returns red, green, blue
// and alpha, multiplied by alpha; neither turned nor cropped.
func (f *File) decodeAVIF() (image.Image, error) {
	in, err := libavif.Open()
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
		var v [4]int
		ok, err := in.Call("decode", uint64(data), uint64(len(f.data)), configOnly, 0, w, h, depth, count, delay, out)
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
