package quickjpeg

import "kitwright/internal/par"

// refinement is one scan of a progressive picture: some of the coefficients of
// some components, or one more bit of them (ITU-T T.81, annex G).
type refinement struct {
	r           *bitReader
	first, last int  // coefficients, in zigzag order
	high, low   uint // bits: high = 0 for the first scan of these, low = how far they lie up
	eobs        int  // blocks that hold nothing more
}

// refine reads a scan, whose codes begin at start, and returns where the next
// segment may begin.
func (d *decoder) refine(head scanHead, start int) (int, error) {
	s := &refinement{r: &bitReader{data: d.data, at: start}, first: head.first, last: head.last, high: head.high, low: head.low}
	for _, c := range head.comps {
		if c.coefs == nil {
			c.coefs = make([]int16, 64*c.wide*c.high)
		}
	}
	across, down, _ := d.shape(head)
	single := len(head.comps) == 1
	left := d.restart
	for y := range down {
		if err := d.ctx.Err(); err != nil {
			return 0, err
		}
		for x := range across {
			if d.restart > 0 && left == 0 {
				if !s.r.restart() {
					return 0, ErrDamaged
				}
				for _, c := range head.comps {
					c.pred = 0
				}
				s.eobs, left = 0, d.restart
			}
			left--
			for _, c := range head.comps {
				h, v := c.h, c.v
				if single { // then the blocks that hang over the edge are left out
					h, v = 1, 1
				}
				for j := range v {
					for i := range h {
						at := 64 * ((y*v+j)*c.wide + x*h + i)
						if !s.block(c, (*[64]int16)(c.coefs[at:])) {
							return 0, ErrDamaged
						}
					}
				}
			}
		}
		if s.r.overrun() {
			return 0, ErrShort
		}
		s.came(head.comps, y, single)
	}
	for _, c := range head.comps {
		for k := s.first; k <= s.last; k++ {
			c.bits[k] = int8(s.low)
		}
	}
	return s.r.at, nil
}

// came notes that row y of MCUs has come.
func (s *refinement) came(comps []*component, y int, single bool) {
	for _, c := range comps {
		rows := y + 1
		if !single {
			rows *= c.v
		}
		if s.first == 0 {
			c.rows = max(c.rows, rows)
		} else {
			c.fine = max(c.fine, rows)
		}
	}
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

// paintAll turns all coefficients into pixels, one component after the other.
func (d *decoder) paintAll() error {
	for i := range d.comps {
		c := &d.comps[i]
		c.pix = make([]byte, 64*c.wide*c.high)
		var quant [64]int32
		for k, q := range c.quant {
			quant[natural[k]] = q
		}
		if err := par.Until(d.ctx, c.high, func(_, y int) { c.paintRow(y, &quant) }); err != nil {
			return err
		}
		c.coefs = nil
	}
	return nil
}

func (c *component) paintRow(y int, quant *[64]int32) {
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
}
