package heif

import "encoding/binary"

// sequence is what the sequence header of an AV1 picture says (AV1 bitstream
// specification, 5.5.1 and 5.5.2).
type sequence struct {
	w, h   int
	depth  int
	gray   bool
	colors codes
}

// readAV1 finds the sequence header in AV1 data (5.3 and 5.4).
func readAV1(data []byte) (sequence, bool) {
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
				return sequence{}, false
			}
			data = data[used:]
		}
		if n > uint64(len(data)) {
			return sequence{}, false
		}
		if head>>3&15 == 1 {
			return readSequence(data[:n])
		}
		data = data[n:]
	}
	return sequence{}, false
}

func readSequence(data []byte) (s sequence, ok bool) {
	b := &bits{data: data}
	profile := b.u(3)
	b.u(1)
	still := b.flag() // a reduced header
	if still {
		b.u(5)
	} else {
		b.operatingPoints()
	}
	nw, nh := int(b.u(4))+1, int(b.u(4))+1
	s.w, s.h = int(b.u(nw))+1, int(b.u(nh))+1
	if b.bad {
		return s, false
	}
	if !still && b.flag() { // numbers of frames
		b.u(7)
	}
	b.u(3) // large blocks, two filters
	if !still {
		b.tools()
	}
	b.u(3) // superresolution and two filters
	s.depth = 8
	if b.flag() {
		if s.depth = 10; profile == 2 && b.flag() {
			s.depth = 12
		}
	}
	s.gray = profile != 1 && b.flag()
	s.colors = codes{primary: 2, transfer: 2, matrix: 2}
	if b.flag() {
		s.colors = codes{primary: int(b.u(8)), transfer: int(b.u(8)), matrix: int(b.u(8))}
	}
	if c := s.colors; !s.gray && c.primary == 1 && c.transfer == 13 && c.matrix == 0 {
		s.colors.full = true
	} else {
		s.colors.full = b.flag()
	}
	return s, !b.bad
}

// operatingPoints skips timing and operating points.
func (b *bits) operatingPoints() {
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

// tools skips what only moving pictures use.
func (b *bits) tools() {
	b.u(4)
	order := b.flag()
	if order {
		b.u(2)
	}
	screen := true
	if !b.flag() {
		screen = b.flag()
	}
	if screen && !b.flag() {
		b.u(1)
	}
	if order {
		b.u(3)
	}
}
