package photo

import (
	"bytes"
	"compress/zlib"
	"context"
	"fmt"
	"image"
	"io"
	"math/bits"
	"sync"

	"golang.org/x/image/ccitt"
	"golang.org/x/image/tiff/lzw"

	"kitwright/internal/par"
	"kitwright/internal/quickjpeg"
)

// decode unpacks all strips or tiles, several at once. Where some are missing
// or broken, the picture ends above the first of them.
func (l *layout) decode(ctx context.Context) (*decoded, error) {
	step := l.outSamples() * l.outBytes()
	out := &packed{dims: dims{l.w, l.h}, stride: l.w * step, n: l.outSamples(), colors: l.colors, deep: l.bits > 8, order: l.t.order, premul: l.premul}
	if l.alpha > 0 {
		out.alpha = l.colors
	}
	out.pix = make([]byte, out.stride*l.h)
	planes := 1
	if l.planar {
		planes = l.samples
	}
	var (
		mu    sync.Mutex
		rows  = l.h
		first error
	)
	gone := func(from int, err error) {
		mu.Lock()
		defer mu.Unlock()
		if from < rows {
			rows, first = from, err
		}
	}
	pieces := l.across * l.down
	err := par.Until(ctx, pieces, func(_, i int) {
		for s := range planes {
			if s != 0 && s >= l.colors && s != l.alpha {
				continue
			}
			got, err := l.piece(ctx, i, s, s*pieces+i, out)
			if err != nil {
				gone(min(l.h, i/l.across*l.pieceH+got), err)
			}
		}
	})
	if err != nil {
		return nil, err
	}
	if half(rows, l.h) != nil {
		return nil, first
	}
	out.h = rows
	d := &decoded{image: out, lost: lost{bottom: l.h - rows, of: l.h}}
	if l.palette != nil {
		d.image = &image.Paletted{Pix: out.pix, Stride: out.stride, Rect: image.Rect(0, 0, l.w, rows), Palette: l.palette}
	}
	return d, nil
}

// piece unpacks strip or tile i; of planes it is that of sample s. It answers
// how many of its rows are whole, if not all.
func (l *layout) piece(ctx context.Context, i, s, place int, out *packed) (rows int, err error) {
	defer func() { // in a goroutine of its own nobody else could catch it
		if v := recover(); v != nil {
			rows, err = 0, fmt.Errorf("%w: %v", errDamaged, v)
		}
	}()
	at, n := int64(l.at[place]), int64(l.n[place])
	if at >= int64(len(l.t.data)) || n == 0 {
		return 0, io.ErrUnexpectedEOF
	}
	data := l.t.data[at:min(at+n, int64(len(l.t.data)))]
	x, y := i%l.across*l.pieceW, i/l.across*l.pieceH
	h := l.pieceH
	if l.pieceW == l.w { // the last strip may be shorter
		h = min(h, l.h-y)
	}
	if l.packing == packJPEG {
		return l.jpegPiece(ctx, data, x, y, s, out)
	}
	if l.reversed {
		data = bytes.Clone(data)
		for i, v := range data {
			data[i] = bits.Reverse8(v)
		}
	}
	samples := l.samples
	if l.planar {
		samples = 1
	}
	stride := (l.pieceW*samples*l.bits + 7) / 8
	raw, err := l.unpack(data, stride*h, h)
	rows = len(raw) / stride
	if err == nil && rows < h {
		err = io.ErrUnexpectedEOF
	}
	for r := range min(rows, l.h-y) {
		row := raw[r*stride : (r+1)*stride]
		if l.predict {
			l.sum(row, samples)
		}
		l.put(row, samples, s, min(l.pieceW, l.w-x), out.pix[(y+r)*out.stride+x*out.n*l.outBytes():])
	}
	return rows, err
}

// unpack returns n bytes, or as many as there are and why.
func (l *layout) unpack(data []byte, n, rows int) ([]byte, error) {
	var r io.Reader
	switch l.packing {
	case packNone:
		return data[:min(n, len(data))], nil
	case packLZW:
		z := lzw.NewReader(bytes.NewReader(data), lzw.MSB, 8)
		defer z.Close()
		r = z
	case packDeflate, packDeflateOld:
		z, err := zlib.NewReader(bytes.NewReader(data))
		if err != nil {
			return nil, err
		}
		r = z
	case packG3, packG4:
		// The reader's 1 is made black: TIFF means it so, and what black is in
		// the picture PhotometricInterpretation says (TIFF 6.0, section 11).
		kind := ccitt.Group4
		if l.packing == packG3 {
			kind = ccitt.Group3
		}
		r = ccitt.NewReader(bytes.NewReader(data), ccitt.MSB, kind, l.pieceW, rows, &ccitt.Options{Invert: true})
	case packBits:
		return unpackBits(data, n)
	}
	out := make([]byte, n)
	got, err := io.ReadFull(r, out)
	return out[:got], err
}

// unpackBits undoes PackBits (TIFF 6.0, section 9).
func unpackBits(data []byte, n int) ([]byte, error) {
	out := make([]byte, 0, n)
	for len(out) < n {
		if len(data) < 2 {
			return out, io.ErrUnexpectedEOF
		}
		count := int(int8(data[0]))
		switch {
		case count >= 0:
			if len(data) < count+2 {
				return out, io.ErrUnexpectedEOF
			}
			out = append(out, data[1:count+2]...)
			data = data[count+2:]
		case count == -128:
			data = data[1:]
		default:
			for range 1 - count {
				out = append(out, data[1])
			}
			data = data[2:]
		}
	}
	return out[:n], nil
}

// sum undoes the predictor: each number was stored as its step from the same
// number of the pixel before (TIFF 6.0, section 14).
func (l *layout) sum(row []byte, samples int) {
	if l.bits == 8 {
		for i := samples; i < len(row); i++ {
			row[i] += row[i-samples]
		}
		return
	}
	for i := 2 * samples; i+1 < len(row); i += 2 {
		l.t.order.PutUint16(row[i:], l.t.order.Uint16(row[i:])+l.t.order.Uint16(row[i-2*samples:]))
	}
}

// put copies a row of samples to the picture; of planes the row is that of
// sample s.
func (l *layout) put(row []byte, samples, s, w int, to []byte) {
	n := l.outSamples()
	for k := range samples {
		out := k
		if l.planar {
			out = s
		}
		switch {
		case out < l.colors:
		case out == l.alpha && l.alpha > 0:
			out = l.colors
		default:
			continue
		}
		flip := l.meaning == meansWhiteIsZero && out == 0
		switch l.bits {
		case 16:
			for x := range w {
				a, b := row[2*(x*samples+k)], row[2*(x*samples+k)+1]
				if flip {
					a, b = ^a, ^b
				}
				to[2*(x*n+out)], to[2*(x*n+out)+1] = a, b
			}
		case 8:
			for x := range w {
				v := row[x*samples+k]
				if flip {
					v = ^v
				}
				to[x*n+out] = v
			}
		default:
			full := 1<<l.bits - 1
			for x := range w {
				bit := (x*samples + k) * l.bits
				v := int(row[bit/8]) >> (8 - l.bits - bit%8) & full
				if flip {
					v = full - v
				}
				if l.palette == nil {
					v = v * 255 / full
				}
				to[x*n+out] = byte(v)
			}
		}
	}
}

// jpegPiece decodes a strip or tile that is a JPEG, whose tables may stand in a
// tag of their own.
func (l *layout) jpegPiece(ctx context.Context, data []byte, x, y, s int, out *packed) (int, error) {
	if len(l.tables) > 4 && len(data) > 2 {
		joined := append([]byte(nil), l.tables[:len(l.tables)-2]...) // but for its EOI
		data = append(joined, data[2:]...)
	}
	head, err := quickjpeg.ReadHead(data)
	if err != nil {
		return 0, err
	}
	want := l.samples
	if l.planar {
		want = 1
	}
	if head.Width > l.pieceW || head.Height > l.pieceH || head.Components != want {
		return 0, errDamaged
	}
	p, err := quickjpeg.Decode(ctx, data)
	if err != nil {
		return 0, err
	}
	for r := range min(p.Rows, l.h-y) {
		to := out.pix[(y+r)*out.stride+x*out.n:]
		for c := range min(p.Width, l.w-x) {
			var v [4]byte
			for i, plane := range p.Planes {
				v[i] = plane.Pix[r/plane.V*plane.Stride+c/plane.H]
			}
			if l.meaning == meansYCC {
				v[0], v[1], v[2] = jpegRange.rgb(v[0], v[1], v[2])
			}
			if l.meaning == meansWhiteIsZero {
				v[0] = ^v[0]
			}
			if l.planar {
				to[c*out.n+min(s, l.colors)] = v[0]
				continue
			}
			copy(to[c*out.n:][:l.colors], v[:])
			if l.alpha > 0 && l.alpha < 4 {
				to[c*out.n+l.colors] = v[l.alpha]
			}
		}
	}
	if p.Rows < head.Height || p.Coarse {
		return p.Rows, io.ErrUnexpectedEOF
	}
	return p.Rows, nil
}
