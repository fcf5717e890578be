package photo

import (
	"bytes"
	"encoding/binary"
	"math"
	"sort"
)

// meta is what a file says about its picture besides the pixels.
type meta struct {
	turn     turn
	frames   bool       // there are more pictures behind the first
	gray     bool       // one channel, though the decoder may give three
	profiled bool       // the file holds an ICC profile, whole or not
	icc      []byte     // that profile; nil where it cannot be had
	coded    *[2]int    // primaries and transfer as code points of ITU-T H.273
	srgb     bool       // a PNG says that it is sRGB
	gamma    float64    // a PNG's gAMA: the exponent it was encoded with; 0 = none
	chroma   *primaries // a PNG's cHRM
	adobeRGB bool       // Exif marks the optional color space of DCF
	quality  int        // of a JPEG, 1 to 100
}

// jpegMeta walks the segments before the picture (ITU-T T.81, annex B).
func jpegMeta(data []byte) meta {
	m := meta{turn: upright}
	var parts []iccPart
	for at := 2; at+4 <= len(data); {
		if data[at] != 0xFF {
			break
		}
		kind := data[at+1]
		if kind == 0xFF { // filling
			at++
			continue
		}
		if kind == 0x01 || kind >= 0xD0 && kind <= 0xD8 {
			at += 2
			continue
		}
		if kind == 0xDA || kind == 0xD9 {
			break
		}
		end := at + 2 + int(binary.BigEndian.Uint16(data[at+2:]))
		if end < at+4 || end > len(data) {
			break
		}
		body := data[at+4 : end]
		switch {
		case kind == 0xDB && m.quality == 0:
			m.quality = jpegQuality(body)
		case kind == 0xE1 && bytes.HasPrefix(body, []byte("Exif\x00")) && len(body) > 6:
			m.readExif(body[6:])
		case kind == 0xE2 && bytes.HasPrefix(body, []byte("ICC_PROFILE\x00")) && len(body) > 14:
			parts = append(parts, iccPart{body[12], body[13], body[14:]})
		}
		at = end
	}
	m.joinICC(parts)
	return m
}

// usualLuma is the table of quantization for luma in ITU-T T.81, annex K.1, in
// zigzag order.
var usualLuma = [64]int{
	16, 11, 12, 14, 12, 10, 16, 14, 13, 14, 18, 17, 16, 19, 24, 40, 26, 24, 22, 22, 24, 49, 35, 37, 29, 40, 58, 51, 61, 60, 57, 51,
	56, 55, 64, 72, 92, 78, 64, 68, 87, 69, 55, 56, 80, 109, 81, 87, 95, 98, 103, 104, 103, 62, 77, 113, 121, 112, 100, 120, 92, 101, 103, 99,
}

// jpegQuality guesses from a table of quantization for luma the quality that
// the usual encoder was asked for: it multiplies the usual table by 5000/q
// percent below 50 and by 200 - 2q from there on, and cuts at 255 (libjpeg,
// jcparam.c, jpeg_quality_scaling). 0 = not told.
func jpegQuality(body []byte) int {
	if len(body) < 65 || body[0] != 0 { // 16 bits, or not the first table
		return 0
	}
	sum, usual := 0, 0
	for i, v := range body[1:65] {
		if v < 255 {
			sum, usual = sum+int(v), usual+usualLuma[i]
		}
	}
	if usual == 0 {
		return 1
	}
	percent := float64(sum) * 100 / float64(usual)
	if percent > 100 {
		return max(1, int(math.Round(5000/percent)))
	}
	return min(100, int(math.Round((200-percent)/2)))
}

// iccPart is one piece of a profile too long for one JPEG segment (ICC.1
// annex B.4): its number from 1, how many there are, and its bytes.
type iccPart struct {
	number, of byte
	data       []byte
}

func (m *meta) joinICC(parts []iccPart) {
	if len(parts) == 0 {
		return
	}
	m.profiled = true
	sort.SliceStable(parts, func(i, j int) bool { return parts[i].number < parts[j].number })
	for i, p := range parts {
		if int(p.number) != i+1 || int(p.of) != len(parts) {
			m.icc = nil // a piece is missing or comes twice
			return
		}
		m.icc = append(m.icc, p.data...)
	}
}

// riff walks the chunks of a WebP file (RIFF: four letters, a length, the
// bytes, filled to an even length) until visit answers false.
func riff(data []byte, visit func(kind string, body []byte) bool) {
	for len(data) >= 8 {
		n := int64(binary.LittleEndian.Uint32(data[4:]))
		if n > int64(len(data)-8) {
			n = int64(len(data) - 8)
		}
		if !visit(string(data[:4]), data[8:8+n]) {
			return
		}
		data = data[min(int64(len(data)), 8+n+n&1):]
	}
}

// webpMeta reads the extended chunks of a WebP file (RFC 9649, section 2.7).
func webpMeta(data []byte) meta {
	m := meta{turn: upright}
	if len(data) < 12 {
		return m
	}
	frames := 0
	riff(data[12:], func(kind string, body []byte) bool {
		switch kind {
		case "EXIF":
			// Some writers keep the six letters that JPEG puts before it.
			m.readExif(bytes.TrimPrefix(body, []byte("Exif\x00\x00")))
		case "ICCP":
			m.icc, m.profiled = body, true
		case "ANMF":
			frames++
		}
		return true
	})
	m.frames = frames > 1
	return m
}

// tiffMeta reads the first directory of a TIFF file.
func tiffMeta(data []byte) meta {
	m := meta{turn: upright}
	t, ok := newTIFF(data)
	if !ok {
		return m
	}
	m.readExif(data)
	if icc := t.find(t.first, tagICC); icc != nil {
		m.icc, m.profiled = icc, true
	}
	_, next := t.entries(t.first)
	m.frames = next != 0
	return m
}

// gifMeta looks for a second picture behind the first (GIF89a, sections 18 to
// 26: a header, perhaps a color table, then blocks).
func gifMeta(data []byte) meta {
	m := meta{turn: upright}
	if len(data) < 13 {
		return m
	}
	at := 13 + gifTable(data[10])
	for pictures := 0; at < len(data); {
		switch data[at] {
		case 0x21: // an extension
			at = gifBlocks(data, at+2)
		case 0x2C: // a picture
			if pictures++; pictures > 1 {
				m.frames = true
				return m
			}
			if at+10 > len(data) {
				return m
			}
			at = gifBlocks(data, at+10+gifTable(data[at+9])+1)
		default:
			return m
		}
	}
	return m
}

// gifTable returns the length of the color table that a flag byte announces.
func gifTable(flags byte) int {
	if flags&0x80 == 0 {
		return 0
	}
	return 3 << (flags&7 + 1)
}

// gifBlocks returns the place behind a row of data blocks.
func gifBlocks(data []byte, at int) int {
	for at < len(data) && data[at] != 0 {
		at += int(data[at]) + 1
	}
	return at + 1
}
