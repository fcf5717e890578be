package heif

// sps is what the sequence parameter set of an HEVC picture says (ITU-T H.265,
// 7.3.2.2 and annex E.2.1).
type sps struct {
	w, h                      int // what is shown of the coded picture
	depth                     int
	gray, chroma444           bool
	signal                    bool // the rest was given
	full                      bool // luma and color differences in the full range
	primary, transfer, matrix int
}

// readHvcC finds the first sequence parameter set in a decoder configuration
// record (ISO/IEC 14496-15, 8.3.3.1).
func readHvcC(body []byte) (sps, bool) {
	r := reader{data: body}
	r.take(22)
	for range r.u8() {
		kind := r.u8() & 0x3F
		for range r.u16() {
			nal := r.take(r.u16())
			if r.bad {
				return sps{}, false
			}
			if kind == 33 && len(nal) > 2 {
				return readSPS(nal[2:])
			}
		}
	}
	return sps{}, false
}

func readSPS(nal []byte) (s sps, ok bool) {
	b := &bits{data: unescape(nal)}
	b.u(4)
	layers := int(b.u(3))
	b.u(1)
	b.skip(96) // profile, tier, level
	var profile, level [8]bool
	for i := range layers {
		profile[i], level[i] = b.flag(), b.flag()
	}
	if layers > 0 {
		b.skip(2 * (8 - layers))
	}
	for i := range layers {
		if profile[i] {
			b.skip(88)
		}
		if level[i] {
			b.skip(8)
		}
	}
	b.ue()
	chroma := b.ue()
	if chroma == 3 {
		b.u(1)
	}
	w, h := int64(b.ue()), int64(b.ue())
	if b.flag() {
		sx, sy := int64(1), int64(1)
		if chroma == 1 || chroma == 2 {
			sx = 2
		}
		if chroma == 1 {
			sy = 2
		}
		left, right, top, bottom := int64(b.ue()), int64(b.ue()), int64(b.ue()), int64(b.ue())
		w -= sx * (left + right)
		h -= sy * (top + bottom)
	}
	s.depth = 8 + int(b.ue())
	b.ue()
	if b.bad || s.depth > 16 || w <= 0 || h <= 0 || w > 1<<17 || h > 1<<17 {
		return s, false
	}
	s.w, s.h, s.gray, s.chroma444 = int(w), int(h), chroma == 0, chroma == 3
	b.signals(&s, layers)
	return s, true
}

// signals reads on to what is said about colors, if anything is.
func (b *bits) signals(s *sps, layers int) {
	pocBits := int(b.ue()) + 4
	first := layers
	if b.flag() {
		first = 0
	}
	for i := first; i <= layers; i++ {
		b.ue()
		b.ue()
		b.ue()
	}
	for range 6 {
		b.ue() // block sizes and depths
	}
	if b.flag() && b.flag() {
		b.scalingLists()
	}
	b.u(2)
	if b.flag() { // PCM
		b.u(8)
		b.ue()
		b.ue()
		b.u(1)
	}
	if !b.shortTermSets() {
		return
	}
	if b.flag() {
		for range min(b.ue(), 33) {
			b.skip(pocBits + 1)
		}
	}
	b.u(2)
	if !b.flag() || b.bad {
		return
	}
	if b.flag() && b.u(8) == 255 { // aspect ratio
		b.u(32)
	}
	if b.flag() { // overscan
		b.u(1)
	}
	if !b.flag() {
		return
	}
	b.u(3)
	full := b.flag()
	primary, transfer, matrix := 2, 2, 2
	if b.flag() {
		primary, transfer, matrix = int(b.u(8)), int(b.u(8)), int(b.u(8))
	}
	if !b.bad {
		s.signal, s.full, s.primary, s.transfer, s.matrix = true, full, primary, transfer, matrix
	}
}

func (b *bits) scalingLists() {
	for size := range 4 {
		step := 1
		if size == 3 {
			step = 3
		}
		for m := 0; m < 6; m += step {
			if !b.flag() {
				b.ue()
				continue
			}
			if size > 1 {
				b.ue()
			}
			for range min(64, 1<<(4+2*size)) {
				b.ue()
			}
		}
	}
}

// shortTermSets skips the sets of reference pictures, each of which may build
// on the one before it (H.265, 7.3.7).
func (b *bits) shortTermSets() bool {
	n := int(b.ue())
	if n > 64 || b.bad {
		return false
	}
	before := 0
	for i := range n {
		count := 0
		if i > 0 && b.flag() {
			b.u(1)
			b.ue()
			for range before + 1 {
				if b.flag() || b.flag() {
					count++
				}
			}
		} else {
			count = int(b.ue()) + int(b.ue())
			if count > 32 {
				return false
			}
			for range count {
				b.ue()
				b.u(1)
			}
		}
		if b.bad || count > 32 {
			return false
		}
		before = count
	}
	return true
}

// unescape takes the 3 out of each 0, 0, 3 (H.265, 7.3.1.1).
func unescape(nal []byte) []byte {
	out := make([]byte, 0, len(nal))
	zeros := 0
	for _, v := range nal {
		if zeros >= 2 && v == 3 {
			zeros = 0
			continue
		}
		if v == 0 {
			zeros++
		} else {
			zeros = 0
		}
		out = append(out, v)
	}
	return out
}
