package heif

import (
	"bytes"
	"encoding/binary"
)

// single writes a file that holds one coded picture and nothing else.
//
// libheif cannot hand out a gray picture by this module's interface, but it
// makes luma and (empty) color differences of it when the record says so; the
// decoder goes by the coded data, not by the record.
func single(hvcC, data []byte, w, h int) []byte {
	const chroma = 16 // the place of the chroma format in the record, lowest two bits
	if len(hvcC) > chroma && hvcC[chroma]&3 == 0 {
		hvcC = bytes.Clone(hvcC)
		hvcC[chroma] |= 1
	}
	var b writer
	b.box("ftyp", func() { b.text("heic\x00\x00\x00\x00mif1heic") })
	place := 0
	b.box("meta", func() {
		b.u32(0)
		b.box("hdlr", func() { b.u32(0); b.u32(0); b.text("pict"); b.u8(make([]byte, 13)...) })
		b.box("pitm", func() { b.u32(0); b.u16(1) })
		b.box("iinf", func() {
			b.u32(0)
			b.u16(1)
			b.box("infe", func() { b.u32(2 << 24); b.u16(1); b.u16(0); b.text("hvc1\x00") })
		})
		b.box("iprp", func() {
			b.box("ipco", func() {
				b.box("hvcC", func() { b.u8(hvcC...) })
				b.box("ispe", func() { b.u32(0); b.u32(w); b.u32(h) })
			})
			b.box("ipma", func() { b.u32(0); b.u32(1); b.u16(1); b.u8(2, 0x81, 2) })
		})
		b.box("iloc", func() {
			b.u32(0)
			b.u16(0x4400)
			b.u16(1)
			b.u16(1)
			b.u16(0)
			b.u16(1)
			place = len(b)
			b.u32(0)
			b.u32(len(data))
		})
	})
	b.box("mdat", func() {
		binary.BigEndian.PutUint32(b[place:], uint32(len(b)))
		b.u8(data...)
	})
	return b
}
