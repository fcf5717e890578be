package photo

import "encoding/binary"

// Exif data is a TIFF file: a header, then directories of 12-byte entries
// (TIFF 6.0, Adobe 1992, section 2; Exif CIPA DC-008). Only a few entries
// matter here, each in a directory that is at most two steps away from the
// first, so a directory that points back at itself does no harm.
const (
	tagOrientation = 0x0112
	tagICC         = 0x8773 // 34675: an ICC profile inside a TIFF
	tagExif        = 0x8769 // the directory of camera settings
	tagInterop     = 0xA005 // the directory of the DCF rules
	tagInteropRule = 0x0001 // "R98" = sRGB, "R03" = the optional space, Adobe RGB
	tagDNG         = 0xC612 // the file is a camera raw
	tagSubfile     = 0x00FE // 1: the picture in this directory is a thumbnail
)

// tiff is a TIFF file in memory, or Exif data.
type tiff struct {
	data  []byte
	order binary.ByteOrder
	first uint32 // where the first directory lies
}

// newTIFF answers false where the header is wrong.
func newTIFF(data []byte) (tiff, bool) {
	if len(data) < 8 {
		return tiff{}, false
	}
	t := tiff{data: data}
	switch string(data[:4]) {
	case "II*\x00":
		t.order = binary.LittleEndian
	case "MM\x00*":
		t.order = binary.BigEndian
	default:
		return tiff{}, false
	}
	t.first = t.order.Uint32(data[4:])
	return t, true
}

// entries returns the entries of the directory at an offset, 12 bytes each,
// as many as lie inside the data, and the offset of the next directory or 0.
func (t tiff) entries(at uint32) (entries []byte, next uint32) {
	if int64(at)+2 > int64(len(t.data)) {
		return nil, 0
	}
	n := int(t.order.Uint16(t.data[at:]))
	rest := t.data[at+2:]
	if 12*n+4 <= len(rest) {
		next = t.order.Uint32(rest[12*n:])
	}
	return rest[:min(12*n, len(rest)/12*12)], next
}

// sizes of the field types 1 to 13 in bytes.
var tiffTypes = [14]int64{1: 1, 2: 1, 3: 2, 4: 4, 5: 8, 6: 1, 7: 1, 8: 2, 9: 4, 10: 8, 11: 4, 12: 8, 13: 4}

// find returns the bytes of a tag's value in the directory at an offset.
func (t tiff) find(at uint32, tag uint16) []byte {
	v, _ := t.value(at, tag)
	return v
}

// value returns them with their field type.
func (t tiff) value(at uint32, tag uint16) ([]byte, uint16) {
	entries, _ := t.entries(at)
	for ; len(entries) >= 12; entries = entries[12:] {
		if t.order.Uint16(entries) != tag {
			continue
		}
		kind := t.order.Uint16(entries[2:])
		if int(kind) >= len(tiffTypes) {
			return nil, 0
		}
		size := tiffTypes[kind] * int64(t.order.Uint32(entries[4:]))
		if size <= 4 {
			return entries[8 : 8+size], kind
		}
		start := int64(t.order.Uint32(entries[8:]))
		if start+size > int64(len(t.data)) {
			return nil, 0
		}
		return t.data[start : start+size], kind
	}
	return nil, 0
}

// numbers returns a tag's value as numbers of BYTE, SHORT or LONG.
func (t tiff) numbers(at uint32, tag uint16) (out []uint32) {
	v, kind := t.value(at, tag)
	switch kind {
	case 1:
		for _, b := range v {
			out = append(out, uint32(b))
		}
	case 3:
		for ; len(v) >= 2; v = v[2:] {
			out = append(out, uint32(t.order.Uint16(v)))
		}
	case 4, 13:
		for ; len(v) >= 4; v = v[4:] {
			out = append(out, t.order.Uint32(v))
		}
	}
	return out
}

// number returns a tag's value as one number. Some writers store a BYTE where
// the standard wants a SHORT.
func (t tiff) number(at uint32, tag uint16) (uint32, bool) {
	if v := t.numbers(at, tag); len(v) == 1 {
		return v[0], true
	}
	return 0, false
}

// readExif takes from Exif data what concerns the picture: how it must be
// turned, and whether the camera wrote Adobe RGB (DCF, CIPA DC-009, marks its
// optional color space by the rule "R03").
func (m *meta) readExif(data []byte) {
	t, ok := newTIFF(data)
	if !ok {
		return
	}
	if v, ok := t.number(t.first, tagOrientation); ok && v <= 8 {
		m.turn = turn(v).known()
	}
	if at, ok := t.number(t.first, tagExif); ok {
		if at, ok = t.number(at, tagInterop); ok {
			rule := t.find(at, tagInteropRule)
			m.adobeRGB = len(rule) >= 3 && string(rule[:3]) == "R03"
		}
	}
}
