package quickjpeg

// The inverse cosine transform in whole numbers: C. Loeffler, A. Ligtenberg and
// G. Moschytz, "Practical Fast 1-D DCT Algorithms with 11 Multiplications",
// ICASSP 1989, 988; scaled and rounded as libjpeg's accurate method does it
// (jidctint.c), so that the pixels are the same.

const (
	scale = 13 // bits of the factors
	extra = 2  // bits kept between the two passes
	f0298 = 2446
	f0390 = 3196
	f0541 = 4433
	f0765 = 6270
	f0899 = 7373
	f1175 = 9633
	f1501 = 12299
	f1847 = 15137
	f1961 = 16069
	f2053 = 16819
	f2562 = 20995
	f3072 = 25172
)

// flat paints a block of one color.
func flat(dc int32, to []byte, stride int) {
	v := level((dc<<extra + 1<<(extra+2)) >> (extra + 3))
	for y := range 8 {
		row := to[y*stride:][:8]
		for x := range row {
			row[x] = v
		}
	}
}

// level returns a value around 0 as a byte.
func level(v int32) byte {
	v += 128
	if uint32(v) > 255 {
		if v < 0 {
			return 0
		}
		return 255
	}
	return byte(v)
}

// inverse paints a block: columns first, then rows.
func inverse(b *block, to []byte, stride int) {
	const round1, round2 = 1 << (scale - extra - 1), 1 << (scale + extra + 2)
	for x := range 8 {
		if b[8+x]|b[16+x]|b[24+x]|b[32+x]|b[40+x]|b[48+x]|b[56+x] == 0 {
			v := b[x] << extra
			b[x], b[8+x], b[16+x], b[24+x], b[32+x], b[40+x], b[48+x], b[56+x] = v, v, v, v, v, v, v, v
			continue
		}
		e0, e1, e2, e3, o0, o1, o2, o3 := butterfly(b[x], b[8+x], b[16+x], b[24+x], b[32+x], b[40+x], b[48+x], b[56+x])
		const down = scale - extra
		b[x], b[56+x] = (e0+o3+round1)>>down, (e0-o3+round1)>>down
		b[8+x], b[48+x] = (e1+o2+round1)>>down, (e1-o2+round1)>>down
		b[16+x], b[40+x] = (e2+o1+round1)>>down, (e2-o1+round1)>>down
		b[24+x], b[32+x] = (e3+o0+round1)>>down, (e3-o0+round1)>>down
	}
	for y := range 8 {
		in := b[8*y : 8*y+8 : 8*y+8]
		row := to[y*stride:][:8:8]
		e0, e1, e2, e3, o0, o1, o2, o3 := butterfly(in[0], in[1], in[2], in[3], in[4], in[5], in[6], in[7])
		const down = scale + extra + 3
		row[0], row[7] = level((e0+o3+round2)>>down), level((e0-o3+round2)>>down)
		row[1], row[6] = level((e1+o2+round2)>>down), level((e1-o2+round2)>>down)
		row[2], row[5] = level((e2+o1+round2)>>down), level((e2-o1+round2)>>down)
		row[3], row[4] = level((e3+o0+round2)>>down), level((e3-o0+round2)>>down)
	}
}

// butterfly does one row or column of eight: the even part and the odd part,
// whose sums and differences are the answer.
func butterfly(i0, i1, i2, i3, i4, i5, i6, i7 int32) (e0, e1, e2, e3, o0, o1, o2, o3 int32) {
	z := (i2 + i6) * f0541
	t2, t3 := z-i6*f1847, z+i2*f0765
	t0, t1 := (i0+i4)<<scale, (i0-i4)<<scale
	e0, e3, e1, e2 = t0+t3, t0-t3, t1+t2, t1-t2

	z1, z2, z3, z4 := (i7+i1)*-f0899, (i5+i3)*-f2562, i7+i3, i5+i1
	z5 := (z3 + z4) * f1175
	z3, z4 = z5-z3*f1961, z5-z4*f0390
	o0 = i7*f0298 + z1 + z3
	o1 = i5*f2053 + z2 + z4
	o2 = i3*f3072 + z2 + z3
	o3 = i1*f1501 + z1 + z4
	return
}
