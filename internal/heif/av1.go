package heif

import "encoding/binary"

// av1Size finds the size in the sequence header of AV1 data (AV1 bitstream
// specification, 5.3 to 5.5).
func av1Size(data []byte) (w, h int, ok bool) {
	for len(data) > 1 {
		head := data[0]
		data = data[1:]
		if head&4 != 0 {
			data = data[1:]
		}
		n := uint64(len(data))
		if head&2 != 0 {
			var used int
			if n, used = binary.Uvarint(data); used <= 0 { // leb128 is the same code
				return 0, 0, false
			}
			data = data[used:]
		}
		if n > uint64(len(data)) {
			return 0, 0, false
		}
		if head>>3&15 == 1 {
			return av1Sequence(data[:n])
		}
		data = data[n:]
	}
	return 0, 0, false
}

func av1Sequence(data []byte) (w, h int, ok bool) {
	b := &bits{data: data}
	b.u(4)
	if b.flag() { // a reduced header for stills
		b.u(5)
	} else {
		delay, model := 0, false
		if b.flag() { // timing
			b.skip(64)
			if b.flag() {
				b.ue()
			}
			if model = b.flag(); model {
				delay = int(b.u(5)) + 1
				b.skip(42)
			}
		}
		display := b.flag()
		for range b.u(5) + 1 {
			b.skip(12)
			if b.u(5) > 7 {
				b.u(1)
			}
			if model && b.flag() {
				b.skip(2*delay + 1)
			}
			if display && b.flag() {
				b.u(4)
			}
		}
	}
	nw, nh := int(b.u(4))+1, int(b.u(4))+1
	w, h = int(b.u(nw))+1, int(b.u(nh))+1
	return w, h, !b.bad
}
