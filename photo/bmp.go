package photo

import (
	"context"
	"encoding/binary"
	"image"
	"image/color"
	"io"
	"math/bits"
)

// bmpFile is a BMP picture before it is unpacked: a file header of 14 bytes, an
// info header, perhaps masks, a palette, the rows from the bottom up, each
// filled up to 4 bytes (Microsoft, "Bitmap Storage" and BITMAPV5HEADER; OS/2's
// headers of 12 and 16 to 64 bytes by IBM's "OS/2 Bitmap File Format", from
// memory, checked against what ImageMagick writes and reads).
type bmpFile struct {
	data    []byte
	w, h    int
	down    bool // rows from the top
	bits    int
	packing int       // 0 none, 1 RLE8, 2 RLE4
	masks   [4]uint32 // red, green, blue, opacity
	palette color.Palette
	at      int // of the pixels
}

func openBMP(data []byte) (*opened, error) {
	b := &bmpFile{data: data}
	if err := b.readHead(); err != nil {
		return nil, err
	}
	o := &opened{name: "BMP", meta: meta{turn: upright}, config: image.Config{Width: b.w, Height: b.h, ColorModel: color.NRGBAModel}}
	o.memory = int64(b.w) * int64(b.h) * 4
	if b.bits <= 8 {
		o.memory /= 4
	}
	o.decode = b.decode
	return o, nil
}

func (b *bmpFile) readHead() error {
	le := binary.LittleEndian
	if len(b.data) < 26 {
		return io.ErrUnexpectedEOF
	}
	b.at = int(le.Uint32(b.data[10:]))
	size := int(le.Uint32(b.data[14:]))
	if size > 4096 {
		return errDamaged
	}
	if len(b.data) < 14+size {
		return io.ErrUnexpectedEOF
	}
	head := append(append([]byte(nil), b.data[14:14+size]...), make([]byte, 124)...)
	entry := 4
	os2 := size == 12 || size >= 16 && size <= 64 && size != 40 && size != 52 && size != 56
	method := uint32(0)
	used := 0
	switch {
	case size == 12:
		b.w, b.h, b.bits, entry = int(le.Uint16(head[4:])), int(le.Uint16(head[6:])), int(le.Uint16(head[10:])), 3
	case size >= 16:
		w, h := int32(le.Uint32(head[4:])), int32(le.Uint32(head[8:]))
		b.down = h < 0
		b.w, b.h, b.bits = int(w), max(int(h), -int(h)), int(le.Uint16(head[14:]))
		method, used = le.Uint32(head[16:]), int(le.Uint32(head[32:]))
	default:
		return errDamaged
	}
	if b.w <= 0 || b.h <= 0 {
		return errDamaged
	}
	end := 14 + size
	switch {
	case method == 0:
	case method == 1 && b.bits == 8, method == 2 && b.bits == 4:
		b.packing = int(method)
	case (method == 3 || method == 6) && !os2 && (b.bits == 16 || b.bits == 32):
		if size < 52 { // then the masks stand behind the header
			n := 12
			if method == 6 {
				n = 16
			}
			if len(b.data) < end+n {
				return io.ErrUnexpectedEOF
			}
			copy(head[40:56], make([]byte, 16))
			copy(head[40:], b.data[end:end+n])
			end += n
		}
	default:
		return rare("is packed in a rare way")
	}
	for i := range b.masks {
		b.masks[i] = le.Uint32(head[40+4*i:])
	}
	if method == 0 {
		b.masks[0], b.masks[1], b.masks[2] = 0xFF0000, 0xFF00, 0xFF
		if b.bits == 16 {
			b.masks[0], b.masks[1], b.masks[2] = 0x7C00, 0x3E0, 0x1F
		}
		if size < 56 || b.bits != 32 {
			b.masks[3] = 0
		}
	}
	switch b.bits {
	case 1, 2, 4, 8:
		return b.readPalette(end, entry, used)
	case 16, 24, 32:
		return nil
	}
	return rare("has an odd number of bits a color")
}

func (b *bmpFile) readPalette(at, entry, used int) error {
	n := 1 << b.bits
	if used > 0 && used < n {
		n = used
	}
	if b.at > at {
		n = min(n, (b.at-at)/entry)
	}
	n = min(n, (len(b.data)-at)/entry)
	if n <= 0 {
		return errDamaged
	}
	for i := range n {
		c := b.data[at+entry*i:]
		b.palette = append(b.palette, color.NRGBA{c[2], c[1], c[0], 255})
	}
	return nil
}

func (b *bmpFile) decode(ctx context.Context) (*decoded, error) {
	if b.at > len(b.data) {
		return nil, io.ErrUnexpectedEOF
	}
	data := b.data[b.at:]
	var out image.Image
	rows := b.h // that are there, in the order of the file
	switch {
	case b.packing > 0:
		m := image.NewPaletted(image.Rect(0, 0, b.w, b.h), b.palette)
		rows = b.runs(data, m)
		out = m
	case b.bits <= 8:
		m := image.NewPaletted(image.Rect(0, 0, b.w, b.h), b.palette)
		rows = b.rows(ctx, data, func(y int, row []byte) {
			to := m.Pix[y*m.Stride:]
			for x := range b.w {
				bit := x * b.bits
				to[x] = row[bit/8] >> (8 - b.bits - bit%8) & (1<<b.bits - 1)
			}
		})
		out = m
	default:
		m := b.colors()
		seen := false // any opacity
		rows = b.rows(ctx, data, func(y int, row []byte) { seen = b.pixels(row, m, m.pix[y*m.stride:]) || seen })
		if !seen { // writers that leave it at 0 mean nothing by it
			m.alpha = 0
		}
		out = m
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if err := half(rows, b.h); err != nil {
		return nil, err
	}
	d := &decoded{image: out}
	if gone := b.h - rows; gone > 0 {
		d.lost = lost{of: b.h, bottom: gone}
		if !b.down {
			d.lost = lost{of: b.h, top: gone}
		}
		d.crop()
	}
	return d, nil
}

// rows calls use for each row that is there, with its place from the top.
func (b *bmpFile) rows(ctx context.Context, data []byte, use func(y int, row []byte)) int {
	stride := (b.w*b.bits + 31) / 32 * 4
	for i := range b.h {
		need := stride
		if i == b.h-1 {
			need = (b.w*b.bits + 7) / 8 // the last needs no filling
		}
		if len(data) < need || ctx.Err() != nil {
			return i
		}
		use(b.place(i), data)
		data = data[min(stride, len(data)):]
	}
	return b.h
}

// place is where row i of the file lies in the picture.
func (b *bmpFile) place(i int) int {
	if b.down {
		return i
	}
	return b.h - 1 - i
}

func (b *bmpFile) colors() *packed {
	m := &packed{dims: dims{b.w, b.h}, n: 3, colors: 3}
	if b.masks[3] != 0 {
		m.n, m.alpha = 4, 3
	}
	m.stride = m.n * b.w
	m.pix = make([]byte, m.stride*b.h)
	return m
}

// pixels unpacks a row and tells whether any of it is not wholly see-through.
func (b *bmpFile) pixels(row []byte, m *packed, to []byte) (seen bool) {
	if b.bits == 24 {
		for x := range b.w {
			to[3*x], to[3*x+1], to[3*x+2] = row[3*x+2], row[3*x+1], row[3*x]
		}
		return true
	}
	for x := range b.w {
		var v uint32
		if b.bits == 16 {
			v = uint32(binary.LittleEndian.Uint16(row[2*x:]))
		} else {
			v = binary.LittleEndian.Uint32(row[4*x:])
		}
		for c := range m.n {
			to[m.n*x+c] = masked(v, b.masks[c])
		}
		seen = seen || m.n == 4 && to[m.n*x+3] != 0
	}
	return seen
}

// masked takes the bits under a mask as a number of 8 bits.
func masked(v, mask uint32) byte {
	if mask == 0 {
		return 0
	}
	shift := bits.TrailingZeros32(mask)
	full := uint64(mask >> shift)
	return byte((uint64(v&mask>>shift)*255 + full/2) / full)
}

// runs undoes RLE8 and RLE4: pairs of a count and a color (of RLE4 two), or a
// zero and 0 = next row, 1 = end, 2 = a step right and up, or so many colors as
// they are, filled up to two bytes. It answers how many rows are there.
func (b *bmpFile) runs(data []byte, m *image.Paletted) int {
	x, y := 0, 0
	set := func(v byte) {
		if x < b.w && y < b.h {
			m.Pix[b.place(y)*m.Stride+x] = v
		}
		x++
	}
	nibble := func(v byte, i int) byte {
		if b.packing == 1 {
			return v
		}
		return v >> (4 - 4*(i%2)) & 15
	}
	for len(data) >= 2 && y < b.h {
		n, v := int(data[0]), data[1]
		data = data[2:]
		if n > 0 {
			for i := range n {
				set(nibble(v, i))
			}
			continue
		}
		switch v {
		case 0:
			x, y = 0, y+1
		case 1:
			return b.h
		case 2:
			if len(data) < 2 {
				return y
			}
			x, y = x+int(data[0]), y+int(data[1])
			data = data[2:]
		default:
			size := int(v)
			if b.packing == 2 {
				size = (size + 1) / 2
			}
			if len(data) < size {
				return y
			}
			for i := range int(v) {
				at := i
				if b.packing == 2 {
					at = i / 2
				}
				set(nibble(data[at], i))
			}
			data = data[min(len(data), (size+1)/2*2):]
		}
	}
	return min(y, b.h)
}
