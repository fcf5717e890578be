package quickjpeg

import "encoding/binary"

const (
	lookBits = 10
	lookMask = 1<<lookBits - 1
)

// huffman is a table of codes (ITU-T T.81, annex C and F.2.2.3).
type huffman struct {
	look   [1 << lookBits]uint16 // for the next bits: length of the code << 8 | symbol; 0 = a longer code
	run    [1 << lookBits]int16  // codes of AC whose number fits, too: number << 8 | zeros << 4 | length of both
	above  [17]int32             // for each length, one more than its last code, as 16 bits
	offset [17]int32             // what to add to a code of that length to find its symbol
	values []byte
}

func newHuffman(counts, values []byte) (*huffman, bool) {
	t := &huffman{values: values}
	code, n := int32(0), int32(0)
	for length := 1; length <= 16; length++ {
		count := int32(counts[length-1])
		t.offset[length] = n - code
		for range count {
			if length <= lookBits {
				first := code << (lookBits - length)
				for i := range int32(1) << (lookBits - length) {
					if first+i > lookMask {
						return nil, false
					}
					t.look[first+i] = uint16(length)<<8 | uint16(values[n])
				}
			}
			code++
			n++
		}
		if code > 1<<length {
			return nil, false
		}
		t.above[length] = code << (16 - length)
		code <<= 1
	}
	return t, true
}

// fast fills in run.
func (t *huffman) fast() {
	for i, e := range t.look {
		length, zeros, size := int(e>>8), int(e>>4&15), int(e&15)
		if e == 0 || size == 0 || length+size > lookBits {
			continue
		}
		v := i >> (lookBits - length - size) & (1<<size - 1)
		if v < 1<<(size-1) {
			v += 1 - 1<<size
		}
		if v >= -128 && v <= 127 {
			t.run[i] = int16(v<<8 | zeros<<4 | (length + size))
		}
	}
}

// bitReader hands out the bits of a scan: the lowest n of acc are still to
// come. Behind a marker or the end it makes up zeros and counts them.
type bitReader struct {
	data []byte
	at   int
	acc  uint64
	n    uint
	made uint
}

// fill brings n to 32 at least.
func (r *bitReader) fill() {
	if r.at+4 <= len(r.data) {
		v := binary.BigEndian.Uint32(r.data[r.at:])
		// A byte of v is 0xFF only where the complement has a zero byte.
		if c := ^v; (c-0x01010101)&^c&0x80808080 == 0 {
			r.acc = r.acc<<32 | uint64(v)
			r.n += 32
			r.at += 4
			return
		}
	}
	for r.n < 32 {
		v := byte(0)
		switch {
		case r.at >= len(r.data):
			r.made += 8
		case r.data[r.at] != 0xFF:
			v = r.data[r.at]
			r.at++
		case r.at+1 < len(r.data) && r.data[r.at+1] == 0:
			v = 0xFF
			r.at += 2
		default: // a marker
			r.made += 8
		}
		r.acc = r.acc<<8 | uint64(v)
		r.n += 8
	}
}

// overrun tells whether bits were used that are not there.
func (r *bitReader) overrun() bool { return r.made > r.n }

// restart passes a restart marker.
func (r *bitReader) restart() bool {
	if r.overrun() {
		return false
	}
	r.acc, r.n, r.made = 0, 0, 0
	// What was read ahead of use is behind us only if no marker came between;
	// it always does: reading stops there.
	for r.at+1 < len(r.data) && r.data[r.at] == 0xFF && r.data[r.at+1] == 0xFF {
		r.at++
	}
	if r.at+1 >= len(r.data) || r.data[r.at] != 0xFF || r.data[r.at+1]&^7 != 0xD0 {
		return false
	}
	r.at += 2
	return true
}

// symbol takes a code that is longer than lookBits.
func (r *bitReader) symbol(t *huffman) (int, bool) {
	v := int32(r.acc >> (r.n - 16) & 0xFFFF)
	for length := lookBits + 1; length <= 16; length++ {
		if v < t.above[length] {
			i := v>>(16-length) + t.offset[length]
			if i < 0 || int(i) >= len(t.values) {
				return 0, false
			}
			r.n -= uint(length)
			return int(t.values[i]), true
		}
	}
	return 0, false
}

// number takes a number of size bits (T.81, F.1.2.1: EXTEND).
func (r *bitReader) number(size int) int32 {
	r.n -= uint(size)
	v := int32(r.acc >> r.n & (1<<size - 1))
	if v < 1<<(size-1) {
		v += 1 - 1<<size
	}
	return v
}

// block reads 64 coefficients into b, which is empty, and tells the last that
// is not 0.
func (r *bitReader) block(c *component, b *block) (last uint8, ok bool) {
	if r.n < 32 {
		r.fill()
	}
	size := 0
	if e := c.dc.look[r.acc>>(r.n-lookBits)&lookMask]; e != 0 {
		r.n -= uint(e >> 8)
		size = int(e & 0xFF)
	} else if size, ok = r.symbol(c.dc); !ok {
		return 0, false
	}
	if size > 0 {
		if size > 11 {
			return 0, false
		}
		c.pred += r.number(size)
	}
	b[0] = c.pred * c.quant[0]
	for k := 1; k < 64; {
		if r.n < 32 {
			r.fill()
		}
		look := r.acc >> (r.n - lookBits) & lookMask
		if e := c.ac.run[look]; e != 0 {
			r.n -= uint(e & 15)
			k += int(e >> 4 & 15)
			if k > 63 {
				return 0, false
			}
			b[natural[k]] = int32(e>>8) * c.quant[k]
			last = uint8(k)
			k++
			continue
		}
		code := 0
		if e := c.ac.look[look]; e != 0 {
			r.n -= uint(e >> 8)
			code = int(e & 0xFF)
		} else if code, ok = r.symbol(c.ac); !ok {
			return 0, false
		}
		zeros, size := code>>4, code&15
		if size == 0 {
			if zeros < 15 {
				break
			}
			k += 16
			continue
		}
		k += zeros
		if k > 63 {
			return 0, false
		}
		b[natural[k]] = r.number(size) * c.quant[k]
		last = uint8(k)
		k++
	}
	return last, true
}

// natural is the place, row by row, of each coefficient in zigzag order (T.81,
// figure 5).
var natural = [64]uint8{
	0, 1, 8, 16, 9, 2, 3, 10, 17, 24, 32, 25, 18, 11, 4, 5,
	12, 19, 26, 33, 40, 48, 41, 34, 27, 20, 13, 6, 7, 14, 21, 28,
	35, 42, 49, 56, 57, 50, 43, 36, 29, 22, 15, 23, 30, 37, 44, 51,
	58, 59, 52, 45, 38, 31, 39, 46, 53, 60, 61, 54, 47, 55, 62, 63,
}
