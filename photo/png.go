package photo

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"encoding/hex"
	"io"
)

// pngChunks walks the chunks of a PNG file (W3C PNG, third edition, section
// 5.3) until visit answers false.
func pngChunks(data []byte, visit func(kind string, body []byte) bool) {
	for at := 8; at+12 <= len(data); {
		n := int64(binary.BigEndian.Uint32(data[at:]))
		if n > int64(len(data)-at-12) {
			return
		}
		if !visit(string(data[at+4:at+8]), data[at+8:at+8+int(n)]) {
			return
		}
		at += 12 + int(n)
	}
}

// maxICC bounds a profile after unpacking; large printer profiles have 4 MB.
const maxICC = 16 << 20

// pngMeta reads what stands before, and for Exif behind, the picture.
func pngMeta(data []byte) meta {
	m := meta{turn: upright}
	exif := false
	pngChunks(data, func(kind string, body []byte) bool {
		switch kind {
		case "eXIf":
			m.readExif(body)
			exif = true
		case "tEXt", "zTXt":
			if raw := rawExif(kind, body); raw != nil && !exif {
				m.readExif(raw)
			}
		case "iCCP":
			m.profiled = true
			m.icc = inflateICC(body)
		case "IHDR":
			m.gray = len(body) >= 10 && body[9]&3 == 0 // color types 0 and 4
		case "cICP":
			if len(body) == 4 {
				m.coded = &[2]int{int(body[0]), int(body[1])}
			}
		case "sRGB":
			m.srgb = true
		case "gAMA":
			if len(body) == 4 {
				m.gamma = float64(binary.BigEndian.Uint32(body)) / 100000
			}
		case "cHRM":
			if len(body) == 32 {
				v := func(i int) float64 { return float64(binary.BigEndian.Uint32(body[4*i:])) / 100000 }
				m.chroma = &primaries{v(2), v(3), v(4), v(5), v(6), v(7), v(0), v(1)}
			}
		case "acTL":
			m.frames = len(body) >= 4 && binary.BigEndian.Uint32(body) > 1
		}
		return true
	})
	return m
}

// inflateICC unpacks the profile of an iCCP chunk: a name, a zero, a method 0,
// then zlib data. It answers nil where that fails.
func inflateICC(body []byte) []byte {
	i := bytes.IndexByte(body, 0)
	if i < 0 || i+2 > len(body) || body[i+1] != 0 {
		return nil
	}
	z, err := zlib.NewReader(bytes.NewReader(body[i+2:]))
	if err != nil {
		return nil
	}
	icc, err := io.ReadAll(io.LimitReader(z, maxICC))
	if err != nil {
		return nil
	}
	return icc
}

// rawExif returns the Exif data that ImageMagick and its kin kept in PNG before
// there was a chunk for it: a text called "Raw profile type exif" (or APP1)
// that holds a name, a length and the bytes in hexadecimal, a line each.
func rawExif(kind string, body []byte) []byte {
	name, text, ok := bytes.Cut(body, []byte{0})
	if !ok || string(name) != "Raw profile type exif" && string(name) != "Raw profile type APP1" {
		return nil
	}
	if kind == "zTXt" {
		if len(text) < 1 || text[0] != 0 {
			return nil
		}
		z, err := zlib.NewReader(bytes.NewReader(text[1:]))
		if err != nil {
			return nil
		}
		if text, err = io.ReadAll(io.LimitReader(z, maxRawExif)); err != nil {
			return nil
		}
	}
	lines := bytes.Fields(text)
	if len(lines) < 3 {
		return nil
	}
	raw := make([]byte, hex.DecodedLen(len(text)))
	n, err := hex.Decode(raw, bytes.Join(lines[2:], nil))
	if err != nil {
		return nil
	}
	return bytes.TrimPrefix(raw[:n], []byte("Exif\x00\x00"))
}

const maxRawExif = 1 << 20
