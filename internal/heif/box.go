package heif

import (
	"encoding/binary"
	"errors"
)

// A file of the ISO base media family is a tree of boxes: a length, four
// letters, the bytes (ISO/IEC 14496-12, 4.2).

var errBox = errors.New("heif: broken structure")

// boxes calls visit for each box in data until it answers an error.
func boxes(data []byte, visit func(kind string, body []byte) error) error {
	for len(data) > 0 {
		if len(data) < 8 {
			return errBox
		}
		size, head := int64(binary.BigEndian.Uint32(data)), int64(8)
		switch size {
		case 0: // to the end
			size = int64(len(data))
		case 1:
			if len(data) < 16 {
				return errBox
			}
			size, head = int64(binary.BigEndian.Uint64(data[8:])), 16
		}
		if size < head || size > int64(len(data)) {
			return errBox
		}
		if err := visit(string(data[4:8]), data[head:size]); err != nil {
			return err
		}
		data = data[size:]
	}
	return nil
}

// reader takes numbers off the front of a box. After a miss it stays empty and
// says so in bad.
type reader struct {
	data []byte
	bad  bool
}

func (r *reader) take(n int) []byte {
	if n < 0 || n > len(r.data) {
		r.data, r.bad = nil, true
		return nil
	}
	b := r.data[:n]
	r.data = r.data[n:]
	return b
}

// uint takes a big-endian number of 0 to 8 bytes.
func (r *reader) uint(n int) (v uint64) {
	for _, b := range r.take(n) {
		v = v<<8 | uint64(b)
	}
	return v
}

func (r *reader) u8() int  { return int(r.uint(1)) }
func (r *reader) u16() int { return int(r.uint(2)) }

// full takes the version and flags of a full box.
func (r *reader) full() (version int, flags int) {
	v := r.uint(4)
	return int(v >> 24), int(v & 0xFFFFFF)
}
