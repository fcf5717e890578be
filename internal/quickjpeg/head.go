package quickjpeg

import "encoding/binary"

func (d *decoder) readQuants(b []byte) bool {
	for len(b) > 0 {
		if b[0] > 3 || len(b) < 65 { // 16-bit tables have a 1 in front
			return false
		}
		q := new([64]int32)
		for i := range q {
			q[i] = int32(b[1+i])
		}
		d.quants[b[0]] = q
		b = b[65:]
	}
	return true
}

func (d *decoder) readHuffman(b []byte) bool {
	for len(b) > 0 {
		if len(b) < 17 || b[0]&0xF > 3 || b[0]>>4 > 1 {
			return false
		}
		n := 0
		for _, c := range b[1:17] {
			n += int(c)
		}
		if n == 0 || n > 256 || len(b) < 17+n {
			return false
		}
		t, ok := newHuffman(b[1:17], b[17:17+n])
		if !ok {
			return false
		}
		if b[0]>>4 == 0 {
			d.dcs[b[0]&0xF] = t
		} else {
			t.fast()
			d.acs[b[0]&0xF] = t
		}
		b = b[17+n:]
	}
	return true
}

func (d *decoder) readFrame(b []byte) bool {
	if len(b) < 6 || b[0] != 8 || d.comps != nil {
		return false
	}
	d.h, d.w = int(binary.BigEndian.Uint16(b[1:])), int(binary.BigEndian.Uint16(b[3:]))
	n := int(b[5])
	if d.w == 0 || d.h == 0 || n != 1 && n != 3 || len(b) != 6+3*n {
		return false
	}
	for i := range n {
		c := b[6+3*i:]
		comp := component{id: int(c[0]), h: int(c[1] >> 4), v: int(c[1] & 15)}
		if c[2] > 3 || d.quants[c[2]] == nil {
			return false // tables may also come later; leave that to others
		}
		comp.quant = d.quants[c[2]]
		switch {
		case n == 1:
			comp.h, comp.v = 1, 1
		case i == 0 && (comp.h > 2 || comp.v > 2 || comp.h < 1 || comp.v < 1):
			return false
		case i > 0 && (comp.h != 1 || comp.v != 1):
			return false
		}
		d.comps = append(d.comps, comp)
	}
	return n == 1 || d.comps[0].id != 'R'
}

func (d *decoder) readScan(b []byte) bool {
	n := len(d.comps)
	if n == 0 || len(b) != 4+2*n || int(b[0]) != n {
		return false
	}
	for i := range d.comps {
		c := &d.comps[i]
		t := b[2+2*i]
		if int(b[1+2*i]) != c.id || t>>4 > 3 || t&15 > 3 {
			return false
		}
		if c.dc, c.ac = d.dcs[t>>4], d.acs[t&15]; c.dc == nil || c.ac == nil {
			return false
		}
	}
	return b[1+2*n] == 0 && b[2+2*n] == 63 && b[3+2*n] == 0
}
