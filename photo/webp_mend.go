package photo

import (
	"bytes"
	"context"
	"encoding/binary"
	"image"
	"io"
)

// openCutWebP reads a WebP that breaks off as far as it goes. The library gives
// nothing of such a file; so what is missing is filled up with one kind of bytes
// and with another, and the rows that come out the same do not hang on it. That
// takes the memory of two pictures, and is tried where at least half of the file
// came.
func openCutWebP(data []byte, lacks int64) (*opened, error) {
	o, err := openWebP(filled(data, lacks, 0))
	if err != nil {
		return nil, err
	}
	o.memory = 2*o.memory + 2*(2*int64(len(data))+mostFilled)
	o.decode = func(ctx context.Context) (*decoded, error) {
		var two []*decoded
		for _, with := range []byte{0, 0xFF, 0x55, 0xAA, 0x33} { // not all make sense to the library
			f, err := openWebP(filled(data, lacks, with))
			if err != nil {
				continue
			}
			if d, err := f.decode(ctx); err == nil {
				two = append(two, d)
			}
			if len(two) == 2 || ctx.Err() != nil {
				break
			}
		}
		if len(two) < 2 {
			return nil, io.ErrUnexpectedEOF
		}
		return alike(two[0], two[1])
	}
	return o, nil
}

// alike returns the rows that two pictures of one kind and size have in common,
// from the top.
func alike(a, b *decoded) (*decoded, error) {
	pa, framed := a.image.(*placed)
	pb, _ := b.image.(*placed)
	one, other := a.image, b.image
	if framed {
		one, other = pa.image, pb.image
	}
	box, rows := one.Bounds(), 0
	for rows < box.Dy() && sameRow(one, other, rows) {
		rows++
	}
	if rows == box.Dy() {
		return a, nil // a trailer is missing, or later pictures
	}
	if _, lossless := one.(*image.NRGBA); lossless {
		rows = max(0, rows-2)
	} else {
		// Lossy ones come in blocks of 16 rows, and those above a block are
		// smoothed towards it, colors by 3 rows of half the size (RFC 6386,
		// section 15): by chance both ways alike.
		rows = max(0, (rows+6)/16*16-8)
	}
	m, ok := one.(interface {
		SubImage(image.Rectangle) image.Image
	})
	if !ok || framed || half(rows, box.Dy()) != nil {
		return nil, io.ErrUnexpectedEOF
	}
	a.lost = lost{bottom: box.Dy() - rows, of: box.Dy()}
	box.Max.Y = box.Min.Y + rows
	a.image = m.SubImage(box)
	return a, nil
}

func sameRow(a, b image.Image, y int) bool {
	of, and := rowOf(a, y), rowOf(b, y)
	for k := range of {
		if !bytes.Equal(of[k], and[k]) {
			return false
		}
	}
	return len(of) > 0 && len(of) == len(and)
}

// rowOf returns the bytes that a row of a picture is made of, for the kinds
// that the WebP library makes.
func rowOf(m image.Image, y int) [][]byte {
	switch m := m.(type) {
	case *image.YCbCr:
		c, w := m.COffset(m.Rect.Min.X, m.Rect.Min.Y+y), m.Rect.Dx()
		return [][]byte{m.Y[y*m.YStride:][:w], m.Cb[c:][:(w+1)/2], m.Cr[c:][:(w+1)/2]}
	case *image.NYCbCrA:
		return append(rowOf(&m.YCbCr, y), m.A[y*m.AStride:][:m.Rect.Dx()])
	case *image.NRGBA:
		return [][]byte{m.Pix[y*m.Stride:][:4*m.Rect.Dx()]}
	}
	return nil
}

// webpLacks returns how many bytes of a WebP file did not come.
func webpLacks(data []byte) int64 {
	return int64(binary.LittleEndian.Uint32(data[4:])) + 8 - int64(len(data))
}

// mostFilled is how many bytes are put in at most, beside what lacks.
const mostFilled = 8 << 20

// filled returns a WebP file that breaks off with bytes in place of what lacks,
// and with more of them in the chunk that was cut, if it is the picture: bytes
// that make no picture unpack to more than those that do.
func filled(data []byte, lacks int64, with byte) []byte {
	more := min(int64(len(data))*7, mostFilled)&^1 + 1<<16
	out := append(bytes.Clone(data), bytes.Repeat([]byte{with}, int(lacks+more))...)
	for at := int64(12); at+8 <= int64(len(data)); {
		n := int64(binary.LittleEndian.Uint32(data[at+4:]))
		if kind := string(data[at : at+4]); at+8+n > int64(len(data)) && (kind == "VP8 " || kind == "VP8L") {
			binary.LittleEndian.PutUint32(out[at+4:], uint32(n+more))
		}
		at += 8 + n + n&1
	}
	binary.LittleEndian.PutUint32(out[4:], uint32(int64(len(out))-8))
	return out
}
