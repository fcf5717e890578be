package quickjpeg

import "encoding/binary"

// readQuants reads tables of 8 and 16 bits (T.81, B.2.4.1). They take effect
// with the next scan.
func (d *decoder) readQuants(b []byte) error {
	for len(b) > 0 {
		wide := int(b[0] >> 4)
		if b[0]&15 > 3 || wide > 1 || len(b) < 1+64*(wide+1) {
			return ErrDamaged
		}
		q := new([64]int32)
		for i := range q {
			if wide == 1 {
				q[i] = int32(binary.BigEndian.Uint16(b[1+2*i:]))
			} else {
				q[i] = int32(b[1+i])
			}
		}
		d.quants[b[0]&15] = q
		b = b[1+64*(wide+1):]
	}
	return nil
}

func (d *decoder) readHuffman(b []byte) error {
	for len(b) > 0 {
		if len(b) < 17 || b[0]&0xF > 3 || b[0]>>4 > 1 {
			return ErrDamaged
		}
		n := 0
		for _, c := range b[1:17] {
			n += int(c)
		}
		if n > 256 || len(b) < 17+n {
			return ErrDamaged
		}
		t, ok := newHuffman(b[1:17], b[17:17+n])
		if !ok {
			return ErrDamaged
		}
		if b[0]>>4 == 0 {
			d.dcs[b[0]&0xF] = t
		} else {
			t.fast()
			d.acs[b[0]&0xF] = t
		}
		b = b[17+n:]
	}
	return nil
}

// readFrame reads the size and the components (T.81, B.2.2).
func (d *decoder) readFrame(kind byte, b []byte) error {
	switch {
	case kind == 0xC3 || kind == 0xC7 || kind == 0xCB || kind == 0xCF:
		return ErrKind("is packed without loss, as no camera does,")
	case kind > 0xC3 && kind < 0xC8 || kind > 0xCC:
		return ErrKind("is made of layers")
	case kind > 0xC8:
		return ErrKind("is coded arithmetically")
	case len(b) < 6 || d.comps != nil:
		return ErrDamaged
	case b[0] != 8:
		return ErrKind("has more than 8 bits a color")
	}
	d.progressive = kind == 0xC2
	d.h, d.w = int(binary.BigEndian.Uint16(b[1:])), int(binary.BigEndian.Uint16(b[3:]))
	n := int(b[5])
	if d.w == 0 || d.h == 0 || len(b) < 6+3*n {
		return ErrDamaged
	}
	if n != 1 && n != 3 && n != 4 {
		return ErrKind("holds an odd number of colors")
	}
	d.hmax, d.vmax = 1, 1
	comps := make([]component, n)
	for i := range comps {
		c := b[6+3*i:]
		comps[i] = component{id: int(c[0]), h: int(c[1] >> 4), v: int(c[1] & 15), table: int(c[2])}
		p := &comps[i]
		if p.table > 3 || p.h < 1 || p.h > 4 || p.v < 1 || p.v > 4 {
			return ErrDamaged
		}
		if n == 1 { // a single component is never sampled
			p.h, p.v = 1, 1
		}
		for j := range p.bits {
			p.bits[j] = -1
		}
		d.hmax, d.vmax = max(d.hmax, p.h), max(d.vmax, p.v)
	}
	for i := range comps {
		if d.hmax%comps[i].h != 0 || d.vmax%comps[i].v != 0 {
			return ErrKind("samples its colors in an odd ratio")
		}
	}
	d.comps = comps
	across, down := d.mcus()
	for i := range comps {
		c := &comps[i]
		c.wide, c.high = c.h*across, c.v*down
		c.stride = 8 * c.wide
	}
	return nil
}

// scanHead is what stands before the codes of a scan (T.81, B.2.3).
type scanHead struct {
	comps       []*component
	first, last int  // coefficients, in zigzag order
	high, low   uint // bits: high = 0 for the first scan of these, low = how far they lie up
}

func (d *decoder) readScan(b []byte) (s scanHead, err error) {
	if d.comps == nil || len(b) < 1 || len(b) < 4+2*int(b[0]) || b[0] == 0 {
		return s, ErrDamaged
	}
	n := int(b[0])
	tail := b[1+2*n:]
	s.first, s.last, s.high, s.low = int(tail[0]), int(tail[1]), uint(tail[2]>>4), uint(tail[2]&15)
	if !d.progressive {
		s.first, s.last, s.high, s.low = 0, 63, 0, 0
	} else if s.first > s.last || s.last > 63 || s.low > 13 || s.high != 0 && s.high != s.low+1 || s.first == 0 && s.last != 0 || s.first > 0 && n != 1 {
		return s, ErrDamaged
	}
	blocks := 0
	for i := range n {
		for k := range d.comps {
			if c := &d.comps[k]; c.id == int(b[1+2*i]) {
				if err := d.tables(c, b[2+2*i], s); err != nil {
					return s, err
				}
				s.comps = append(s.comps, c)
				blocks += c.h * c.v
				break
			}
		}
	}
	if len(s.comps) != n || n > 1 && blocks > 10 {
		return s, ErrDamaged
	}
	for i, c := range s.comps {
		for _, other := range s.comps[:i] {
			if c == other {
				return s, ErrDamaged
			}
		}
	}
	return s, nil
}

// tables gives a component the tables of a scan. Quantization tables count as
// they are when the first scan of a component begins (T.81, B.2.4.1 and figure
// B.2: tables come before a frame or before a scan). Huffman tables that never
// came are the usual ones (T.81, K.3): pictures of webcams and films leave them
// out.
func (d *decoder) tables(c *component, t byte, s scanHead) error {
	if t>>4 > 3 || t&15 > 3 {
		return ErrDamaged
	}
	if c.quant == nil {
		if c.quant = d.quants[c.table]; c.quant == nil {
			return ErrDamaged
		}
	}
	c.pred = 0
	c.dc, c.ac = d.dcs[t>>4], d.acs[t&15]
	if c.dc == nil && t>>4 < 2 {
		c.dc = usualTables()[t>>4]
	}
	if c.ac == nil && t&15 < 2 {
		c.ac = usualTables()[2+t&15]
	}
	needDC, needAC := s.first == 0 && s.high == 0, s.last > 0
	if needDC && c.dc == nil || needAC && c.ac == nil {
		return ErrDamaged
	}
	return nil
}
