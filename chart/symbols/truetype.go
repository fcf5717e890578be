package symbols

import (
	"encoding/binary"
	"unicode/utf16"
)

// This file writes the smallest TrueType font that all readers accept, after
// "OpenType specification" 1.9, ISO/IEC 14496-22:2019: straight contours, no
// hinting, one Unicode character map. Glyph 0 is the missing one; the others
// come in the order of their code points, all in the Basic Multilingual Plane.

type sfntTable struct {
	tag  string
	data []byte
}

var big = binary.BigEndian

func u16(b []byte, vs ...int) []byte {
	for _, v := range vs {
		b = big.AppendUint16(b, uint16(v))
	}
	return b
}

func u32(b []byte, vs ...uint32) []byte {
	for _, v := range vs {
		b = big.AppendUint32(b, v)
	}
	return b
}

// trueType returns the font file. Tables come in the order of their tags.
func trueType(name string, list []glyph) []byte {
	glyf, loca := outlines(list)
	tables := []sfntTable{
		{"OS/2", os2(list)},
		{"cmap", cmap(list)},
		{"glyf", glyf},
		{"head", head()},
		{"hhea", hhea(list)},
		{"hmtx", hmtx(list)},
		{"loca", loca},
		{"maxp", maxp(list)},
		{"name", names(name)},
		{"post", post()},
	}
	n := len(tables)
	power, log := 1, 0
	for power*2 <= n {
		power, log = power*2, log+1
	}
	file := u32(nil, 0x00010000)
	file = u16(file, n, power*16, log, n*16-power*16)
	at := 12 + 16*n
	for _, t := range tables {
		file = append(file, t.tag...)
		file = u32(file, checksum(t.data), uint32(at), uint32(len(t.data)))
		at += len(padded(t.data))
	}
	headAt := 0
	for _, t := range tables {
		if t.tag == "head" {
			headAt = len(file)
		}
		file = append(file, padded(t.data)...)
	}
	big.PutUint32(file[headAt+8:], 0xB1B0AFBA-checksum(file)) // head.checksumAdjustment
	return file
}

func padded(b []byte) []byte { return append(b[:len(b):len(b)], make([]byte, -len(b)&3)...) }

func checksum(b []byte) uint32 {
	var sum uint32
	b = padded(b)
	for i := 0; i < len(b); i += 4 {
		sum += big.Uint32(b[i:])
	}
	return sum
}

// outlines returns the tables glyf and loca, the second in the long format.
func outlines(list []glyph) (glyf, loca []byte) {
	for _, g := range list {
		loca = u32(loca, uint32(len(glyf)))
		glyf = append(glyf, padded(outline(g))...)
	}
	return glyf, u32(loca, uint32(len(glyf)))
}

func outline(g glyph) []byte {
	if len(g.contours) == 0 {
		return nil
	}
	lo, hi := bounds([]glyph{g})
	b := u16(nil, len(g.contours), lo.x, lo.y, hi.x, hi.y)
	var flags, xs, ys []byte
	end := -1
	last := spot{}
	for _, c := range g.contours {
		end += len(c)
		b = u16(b, end)
		for _, p := range c {
			const onCurve, overlap = 0x01, 0x40
			flag := byte(onCurve)
			if len(flags) == 0 {
				flag |= overlap
			}
			var fx, fy byte
			fx, xs = delta(xs, p.x-last.x, 0x02, 0x10)
			fy, ys = delta(ys, p.y-last.y, 0x04, 0x20)
			flags = append(flags, flag|fx|fy)
			last = p
		}
	}
	b = u16(b, 0) // no instructions
	b = append(b, flags...)
	b = append(b, xs...)
	return append(b, ys...)
}

// delta appends one step of a coordinate and returns its flags: short says
// that it takes one byte, same that it is zero or, if short, positive.
func delta(b []byte, d int, short, same byte) (byte, []byte) {
	switch {
	case d == 0:
		return same, b
	case d > 0 && d < 256:
		return short | same, append(b, byte(d))
	case d < 0 && d > -256:
		return short, append(b, byte(-d))
	}
	return 0, u16(b, d)
}

func bounds(list []glyph) (lo, hi spot) {
	lo, hi = spot{em, em}, spot{}
	for _, g := range list {
		for _, c := range g.contours {
			for _, p := range c {
				lo.x, lo.y = min(lo.x, p.x), min(lo.y, p.y)
				hi.x, hi.y = max(hi.x, p.x), max(hi.y, p.y)
			}
		}
	}
	return lo, hi
}

func head() []byte {
	b := u32(nil, 0x00010000, 0x00010000, 0, 0x5F0F3CF5) // version, revision, checksum to come, magic
	b = u16(b, 0x000B, em)                               // baseline and left edge at 0, whole units
	b = append(b, make([]byte, 16)...)                   // made and changed: no clock
	return u16(b, 0, 0, em, em, 0, 8, 2, 1, 0)           // bounds, style, least size, direction, long loca
}

func hhea(list []glyph) []byte {
	lo, hi := bounds(list)
	b := u32(nil, 0x00010000)
	b = u16(b, em, 0, 0, em, lo.x, em-hi.x, hi.x, 1, 0, 0, 0, 0, 0, 0, 0)
	return u16(b, len(list))
}

func hmtx(list []glyph) (b []byte) {
	for _, g := range list {
		left := 0
		if len(g.contours) > 0 {
			lo, _ := bounds([]glyph{g})
			left = lo.x
		}
		b = u16(b, em, left)
	}
	return b
}

func maxp(list []glyph) []byte {
	points, contours := 0, 0
	for _, g := range list {
		n := 0
		for _, c := range g.contours {
			n += len(c)
		}
		points, contours = max(points, n), max(contours, len(g.contours))
	}
	b := u32(nil, 0x00010000)
	return u16(b, len(list), points, contours, 0, 0, 1, 0, 0, 0, 0, 0, 0, 0, 0)
}

func os2(list []glyph) []byte {
	first, last := int(list[1].r), int(list[len(list)-1].r)
	b := u16(nil, 4, em, 400, 5, 0)                           // version, average width, weight, width, may be embedded
	b = u16(b, 650, 600, 0, 75, 650, 600, 0, 350, 50, 250, 0) // sub- and superscript, strikeout, class
	b = append(b, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0)               // panose: any
	b = u32(b, 1|1<<31, 1<<5|1<<14|1<<28|1<<13, 0, 0)         // Latin, symbols, private use
	b = append(b, "    "...)                                  // no maker
	b = u16(b, 0x0040, first, last, em, 0, 0, em, 0)          // regular, code points, heights
	b = u32(b, 1<<31, 0)                                      // symbol characters
	return u16(b, 500, 720, 0, ' ', 1)                        // heights, default, break, context
}

// cmap returns one Unicode map in format 4, a segment for each unbroken run
// of code points; glyphs stand in the same order.
func cmap(list []glyph) []byte {
	var ends, starts, shifts []int
	for i := 1; i < len(list); i++ {
		r := int(list[i].r)
		if n := len(ends); n > 0 && ends[n-1] == r-1 {
			ends[n-1] = r
			continue
		}
		ends, starts, shifts = append(ends, r), append(starts, r), append(shifts, i-r)
	}
	ends, starts, shifts = append(ends, 0xFFFF), append(starts, 0xFFFF), append(shifts, 1)
	n := len(ends)
	power, log := 1, 0
	for power*2 <= n {
		power, log = power*2, log+1
	}
	sub := u16(nil, 4, 16+8*n, 0, 2*n, 2*power, log, 2*n-2*power)
	sub = u16(sub, ends...)
	sub = u16(sub, 0)
	sub = u16(sub, starts...)
	sub = u16(sub, shifts...)
	sub = u16(sub, make([]int, n)...)
	b := u16(nil, 0, 2, 0, 3)
	b = u32(b, 20)
	b = u16(b, 3, 1)
	b = u32(b, 20)
	return append(b, sub...)
}

func names(family string) []byte {
	texts := []struct {
		id   int
		text string
	}{
		{0, "Own shapes; letters and digits after Noto Sans Bold, SIL Open Font License 1.1"},
		{1, family},
		{2, "Regular"},
		{3, family + " 1.0"},
		{4, family},
		{5, "Version 1.0"},
		{6, psName(family)},
		{13, "SIL Open Font License 1.1"},
	}
	b := u16(nil, 0, len(texts), 6+12*len(texts))
	var store []byte
	for _, t := range texts {
		start := len(store)
		for _, c := range utf16.Encode([]rune(t.text)) {
			store = u16(store, int(c))
		}
		b = u16(b, 3, 1, 0x0409, t.id, len(store)-start, start)
	}
	return append(b, store...)
}

// psName is the family without spaces, as PostScript wants it.
func psName(family string) string {
	var b []byte
	for _, c := range []byte(family) {
		if c != ' ' {
			b = append(b, c)
		}
	}
	return string(b)
}

func post() []byte {
	b := u32(nil, 0x00030000, 0) // no glyph names; upright
	b = u16(b, -100, 50)         // underline
	return u32(b, 1, 0, 0, 0, 0) // one width
}
