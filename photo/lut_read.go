package photo

import "encoding/binary"

// lutTag returns the table to the connection space for matching colors as
// measured, or the one for pleasing pictures where that is all there is.
func (p *iccProfile) lutTag() []byte {
	if t := p.tags["A2B1"]; t != nil {
		return t
	}
	return p.tags["A2B0"]
}

func (p *iccProfile) newLUT(channels int) (*lut, error) {
	tag := p.lutTag()
	if len(tag) < 32 || int(tag[8]) != channels || tag[9] != 3 {
		return nil, errICC
	}
	l := &lut{in: channels, out: 3}
	switch pcs := string(p.data[20:24]); pcs {
	case "XYZ ":
		l.xyz = true
	case "Lab ":
	default:
		return nil, errICC
	}
	var err error
	switch string(tag[:4]) {
	case "mft1":
		l.encoded = func(v [3]float64) (float64, float64, float64) {
			return 100 * v[0], float64(255*v[1]) - 128, float64(255*v[2]) - 128
		}
		err = l.readTables(tag, 48, 256, 256, 1)
	case "mft2":
		// 16-bit tables keep the packing of version 2: 100 is 0xFF00.
		l.encoded = func(v [3]float64) (float64, float64, float64) {
			return v[0] * 6553500 / 65280, float64(v[1]*65535/256) - 128, float64(v[2]*65535/256) - 128
		}
		if len(tag) < 52 {
			return nil, errICC
		}
		err = l.readTables(tag, 52, int(binary.BigEndian.Uint16(tag[48:])), int(binary.BigEndian.Uint16(tag[50:])), 2)
	case "mAB ":
		l.encoded = func(v [3]float64) (float64, float64, float64) {
			return 100 * v[0], float64(255*v[1]) - 128, float64(255*v[2]) - 128
		}
		err = l.readStages(tag)
	default:
		err = errICC
	}
	if err != nil {
		return nil, err
	}
	return l, nil
}

// readTables reads lut8 and lut16: tables of n and m entries before and behind
// the cube, size bytes a number.
func (l *lut) readTables(tag []byte, at, n, m, size int) error {
	g := int(tag[10])
	if n < 2 || m < 2 || n > 4096 || m > 4096 || g < 2 {
		return errICC
	}
	cells := l.out
	for range l.in {
		l.grid = append(l.grid, g)
		if cells *= g; cells > maxICC {
			return errICC
		}
	}
	if len(tag) < at+size*(l.in*n+cells+l.out*m) {
		return errICC
	}
	take := func(count int) []float64 {
		v := numbers(tag[at:], count, size)
		at += count * size
		return v
	}
	for range l.in {
		l.before = append(l.before, tabled(take(n)))
	}
	l.cube = take(cells)
	for range l.out {
		l.after = append(l.after, tabled(take(m)))
	}
	return nil
}

func numbers(b []byte, count, size int) []float64 {
	v := make([]float64, count)
	for i := range v {
		if size == 1 {
			v[i] = float64(b[i]) / 255
		} else {
			v[i] = float64(binary.BigEndian.Uint16(b[2*i:])) / 65535
		}
	}
	return v
}

// readStages reads lutAToBType: A curves, cube, M curves, matrix, B curves.
func (l *lut) readStages(tag []byte) (err error) {
	at := func(i int) int64 { return int64(binary.BigEndian.Uint32(tag[12+4*i:])) }
	curves := func(start int64, n int) (f []func(float64) float64) {
		for range n {
			if err != nil || start > int64(len(tag)) {
				err = errICC
				return nil
			}
			c, length, e := parseCurve(tag[start:])
			if e != nil {
				err = e
				return nil
			}
			f = append(f, c)
			start += int64(length+3) &^ 3
		}
		return f
	}
	b, m, c, k, a := at(0), at(1), at(2), at(3), at(4)
	l.after = curves(b, l.out)
	if c != 0 {
		l.middle = curves(c, l.out)
	}
	if m != 0 && err == nil {
		if m+48 > int64(len(tag)) {
			return errICC
		}
		l.matrix = new(matrix)
		for i := range l.matrix {
			l.matrix[i] = fixed16(tag[m+4*int64(i):])
		}
		for i := range l.offset {
			l.offset[i] = fixed16(tag[m+36+4*int64(i):])
		}
	}
	if a != 0 {
		l.before = curves(a, l.in)
	}
	if err != nil {
		return err
	}
	if k == 0 {
		if l.in != l.out {
			return errICC
		}
		return nil
	}
	if k+20 > int64(len(tag)) {
		return errICC
	}
	cells := l.out
	for i := range l.in {
		g := int(tag[k+int64(i)])
		if g < 2 {
			return errICC
		}
		l.grid = append(l.grid, g)
		if cells *= g; cells > maxICC {
			return errICC
		}
	}
	size := int(tag[k+16])
	if size != 1 && size != 2 || k+20+int64(size*cells) > int64(len(tag)) {
		return errICC
	}
	l.cube = numbers(tag[k+20:], cells, size)
	return nil
}
