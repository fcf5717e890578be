package photo

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"hash/crc32"
	"io"
)

// wholePNG tells whether a PNG comes to its end.
func wholePNG(data []byte) bool {
	whole := false
	pngChunks(data, func(kind string, _ []byte) bool {
		whole = kind == "IEND"
		return !whole
	})
	return whole
}

// mendPNG makes of a PNG that is broken off one that holds the rows that are
// whole, and tells how many those are. It answers false where there are fewer
// than half, and for interlaced pictures, which come in passes.
func mendPNG(data []byte) (mended []byte, rows int, ok bool) {
	var head, before, packed []byte
	var last int
	each := func(kind string, body []byte) {
		switch kind {
		case "IHDR":
			head = bytes.Clone(body)
		case "PLTE", "tRNS":
			before = appendChunk(before, kind, body)
		case "IDAT":
			packed = append(packed, body...)
		}
	}
	last = 8
	pngChunks(data, func(kind string, body []byte) bool {
		each(kind, body)
		last += 12 + len(body)
		return true
	})
	if last+8 < len(data) { // the chunk that was cut
		each(string(data[last+4:last+8]), data[last+8:])
	}
	// Behind the size: depth, kind of color, and two methods; 1 = interlaced
	// (W3C PNG, third edition, 11.2.1).
	if len(head) != 13 || head[12] != 0 {
		return nil, 0, false
	}
	samples := map[byte]int64{0: 1, 2: 3, 3: 1, 4: 2, 6: 4}[head[9]]
	w, h := int64(binary.BigEndian.Uint32(head)), int64(binary.BigEndian.Uint32(head[4:]))
	stride := 1 + (w*samples*int64(head[8])+7)/8
	z, err := zlib.NewReader(bytes.NewReader(packed))
	if err != nil {
		return nil, 0, false
	}
	raw, _ := io.ReadAll(io.LimitReader(z, stride*h)) // as far as it goes
	rows = int(int64(len(raw)) / stride)
	if half(rows, int(h)) != nil {
		return nil, 0, false
	}
	binary.BigEndian.PutUint32(head[4:], uint32(rows))
	mended = appendChunk([]byte("\x89PNG\r\n\x1a\n"), "IHDR", head)
	mended = append(mended, before...)
	var again bytes.Buffer
	store, err := zlib.NewWriterLevel(&again, zlib.NoCompression)
	if err != nil {
		return nil, 0, false
	}
	store.Write(raw[:int64(rows)*stride])
	store.Close()
	mended = appendChunk(mended, "IDAT", again.Bytes())
	return appendChunk(mended, "IEND", nil), rows, true
}

func appendChunk(to []byte, kind string, body []byte) []byte {
	to = binary.BigEndian.AppendUint32(to, uint32(len(body)))
	at := len(to)
	to = append(append(to, kind...), body...)
	return binary.BigEndian.AppendUint32(to, crc32.ChecksumIEEE(to[at:]))
}
