package heif

import (
	"context"
	_ "embed"
	"errors"
	"fmt"
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

// Decode decodes the picture. It needs room for the whole of it, and ends at
// once when ctx does.
func (f *File) Decode(ctx context.Context) (*Picture, error) {
	p := &Picture{}
	var err error
	if f.Format == "AVIF" {
		p.Image, err = f.decodeAVIF(ctx)
	} else {
		p.Video, p.Cut = f.video, f.cut
		if p.Kr, p.Kb, err = lumaWeights(f.matrix); err != nil {
			return nil, err
		}
		if p.Image, err = f.decodeHEIC(ctx, f.items[f.primary]); err == nil {
			err = f.addAlpha(ctx, p)
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
func (f *File) decodeHEIC(ctx context.Context, it *item) (*image.YCbCr, error) {
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
					defer func() { // a panic here would be out of reach of the caller
						if v := recover(); v != nil {
							err = fmt.Errorf("%w: %v", ErrDecode, v)
						}
					}()
					if in != nil && done%32 == 0 { // the module keeps a little of each tile
						in.Close()
						in = nil
					}
					if in == nil {
						if in, err = libheif.Open(ctx); err != nil {
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

// addAlpha joins the picture with its opacity, if that has the same size.
func (f *File) addAlpha(ctx context.Context, p *Picture) error {
	m, ok := p.Image.(*image.YCbCr)
	if !ok || f.alpha == nil {
		return nil
	}
	a, err := f.decodeHEIC(ctx, f.alpha)
	if err != nil {
		return err
	}
	if a.Rect == m.Rect {
		p.Image = &image.NYCbCrA{YCbCr: *m, A: a.Y, AStride: a.YStride}
	}
	return nil
}
