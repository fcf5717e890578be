package quickjpeg

import (
	"kitwright/internal/par"
)

// refinement is one scan of a progressive picture: some of the coefficients of
// some components, or one more bit of them (ITU-T T.81, annex G).
type refinement struct {
	r           *bitReader
	first, last int  // coefficients, in zigzag order
	high, low   uint // bits: high = 0 for the first scan of these, low = how far they lie up
	eobs        int  // blocks that hold nothing more
}

// refine reads a scan, whose codes begin at start, and returns where the next
// segment begins.
func (d *decoder) refine(b []byte, start int) (int, bool) {
	if len(b) < 1 || d.m == nil || len(b) != 4+2*int(b[0]) {
		return 0, false
	}
	n := int(b[0])
	tail := b[1+2*n:]
	s := &refinement{r: &bitReader{data: d.data, at: start}, first: int(tail[0]), last: int(tail[1]), high: uint(tail[2] >> 4), low: uint(tail[2] & 15)}
	if s.first > s.last || s.last > 63 || s.low > 13 || s.high != 0 && s.high != s.low+1 || s.first == 0 && s.last != 0 || s.first > 0 && n != 1 {
		return 0, false
	}
	var comps []*component
	for i := range n {
		for k := range d.comps {
			if c := &d.comps[k]; c.id == int(b[1+2*i]) {
				comps = append(comps, c)
				c.pred = 0
				t := b[2+2*i]
				if t>>4 > 3 || t&15 > 3 {
					return 0, false
				}
				c.dc, c.ac = d.dcs[t>>4], d.acs[t&15]
				if s.first > 0 && c.ac == nil || s.first == 0 && s.high == 0 && c.dc == nil {
					return 0, false
				}
			}
		}
	}
	if len(comps) != n || n == 0 {
		return 0, false
	}
	d.scanned = true
	across, down := d.mcus()
	if n == 1 { // then the blocks that hang over the edge are left out
		c := comps[0]
		hmax, vmax := d.comps[0].h, d.comps[0].v
		across = ((d.w*c.h+hmax-1)/hmax + 7) / 8
		down = ((d.h*c.v+vmax-1)/vmax + 7) / 8
	}
	left := d.restart
	for y := range down {
		for x := range across {
			if d.restart > 0 && left == 0 {
				if !s.r.restart() {
					return 0, false
				}
				for _, c := range comps {
					c.pred = 0
				}
				s.eobs, left = 0, d.restart
			}
			left--
			if n == 1 {
				at := 64 * (y*comps[0].wide + x)
				if !s.block(comps[0], (*[64]int16)(comps[0].coefs[at:])) {
					return 0, false
				}
				continue
			}
			for _, c := range comps {
				for v := range c.v {
					for h := range c.h {
						at := 64 * ((y*c.v+v)*c.wide + x*c.h + h)
						if !s.block(c, (*[64]int16)(c.coefs[at:])) {
							return 0, false
						}
					}
				}
			}
		}
		if s.r.overrun() {
			return 0, false
		}
	}
	return s.r.at, true
}

func (s *refinement) block(c *component, b *[64]int16) bool {
	switch {
	case s.first == 0 && s.high == 0:
		return s.dc(c, b)
	case s.first == 0:
		if s.r.bit() {
			b[0] |= 1 << s.low
		}
		return true
	case s.high == 0:
		return s.ac(c.ac, b)
	}
	return s.again(c.ac, b)
}

// bit takes one bit.
func (r *bitReader) bit() bool {
	if r.n < 32 {
		r.fill()
	}
	r.n--
	return r.acc>>r.n&1 == 1
}

// code takes a symbol; 16 bits more are there behind it.
func (r *bitReader) code(t *huffman) (int, bool) {
	if r.n < 32 {
		r.fill()
	}
	if e := t.look[r.acc>>(r.n-lookBits)&lookMask]; e != 0 {
		r.n -= uint(e >> 8)
		return int(e & 0xFF), true
	}
	return r.symbol(t)
}

// dc reads the first bits of the mean of a block (T.81, G.1.2.1).
func (s *refinement) dc(c *component, b *[64]int16) bool {
	size, ok := s.r.code(c.dc)
	if !ok || size > 11 {
		return false
	}
	if size > 0 {
		c.pred += s.r.number(size)
	}
	b[0] = int16(c.pred << s.low)
	return true
}

// ac reads the first bits of other coefficients (T.81, G.1.2.2).
func (s *refinement) ac(t *huffman, b *[64]int16) bool {
	if s.eobs > 0 {
		s.eobs--
		return true
	}
	for k := s.first; k <= s.last; {
		code, ok := s.r.code(t)
		if !ok {
			return false
		}
		zeros, size := code>>4, code&15
		if size == 0 {
			if zeros < 15 {
				s.eobs = s.run(zeros) - 1
				return true
			}
			k += 16
			continue
		}
		if k += zeros; k > s.last {
			return false
		}
		b[natural[k]] = int16(s.r.number(size) << s.low)
		k++
	}
	return true
}

// run takes the number of blocks that end here, this one among them.
func (s *refinement) run(size int) int {
	s.r.n -= uint(size)
	return 1<<size + int(s.r.acc>>s.r.n&(1<<size-1))
}

// again reads one more bit of coefficients (T.81, G.1.2.3): of those that are
// not 0 yet in any case, and new ones between them.
func (s *refinement) again(t *huffman, b *[64]int16) bool {
	one := int16(1) << s.low
	k := s.first
	// skip passes coefficients: the ones begun get their bit, and of the others
	// so many are left at 0; it stops at the next of those.
	skip := func(zeros int) {
		for ; k <= s.last; k++ {
			c := &b[natural[k]]
			if *c == 0 {
				if zeros == 0 {
					return
				}
				zeros--
				continue
			}
			if s.r.bit() && *c&one == 0 {
				if *c > 0 {
					*c += one
				} else {
					*c -= one
				}
			}
		}
	}
	for s.eobs == 0 && k <= s.last {
		code, ok := s.r.code(t)
		if !ok {
			return false
		}
		zeros, size := code>>4, code&15
		value := int16(0)
		switch {
		case size == 1:
			value = -one
			if s.r.bit() {
				value = one
			}
		case size != 0:
			return false
		case zeros < 15:
			s.eobs = s.run(zeros)
			continue
		}
		skip(zeros)
		if k > s.last {
			return value == 0
		}
		b[natural[k]] = value
		k++
	}
	if s.eobs > 0 {
		s.eobs--
		skip(64)
	}
	return true
}

// paintAll turns all coefficients into pixels.
func (d *decoder) paintAll() {
	for i := range d.comps {
		c := &d.comps[i]
		var quant [64]int32
		for k, q := range c.quant {
			quant[natural[k]] = q
		}
		rows := len(c.coefs) / 64 / c.wide
		par.Rows(rows, func(y int) {
			var b block
			for x := range c.wide {
				in := c.coefs[64*(y*c.wide+x):][:64]
				others := int16(0)
				for k, v := range in[1:] {
					others |= v
					b[1+k] = int32(v) * quant[1+k]
				}
				to := c.pix[8*y*c.stride+8*x:]
				if b[0] = int32(in[0]) * quant[0]; others == 0 {
					flat(b[0], to, c.stride)
				} else {
					inverse(&b, to, c.stride)
				}
			}
		})
		c.coefs = nil
	}
}
