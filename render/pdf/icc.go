package pdf

import (
	"encoding/binary"
	"math"

	"kitwright/lab"
)

// srgbProfile returns an ICC profile (ICC.1:2001-04, version 2.4, class
// monitor, matrix and tone curve) of the sRGB space, made here byte by byte so
// that nobody's file has to be carried along. It tags every color of a print.
//
// The primaries are the chromaticities of IEC 61966-2-1 (red .64 .33, green .30
// .60, blue .15 .06, white .3127 .3290) taken to the D50 of the connection space
// by the Bradford transform; they sum to D50. The curve has 1024 points.
func srgbProfile() []byte {
	const points = 1024
	curve := make([]byte, 12+2*points)
	copy(curve, "curv")
	binary.BigEndian.PutUint32(curve[8:], points)
	for i := 0; i < points; i++ {
		v := lab.Decode(float64(i) / (points - 1))
		binary.BigEndian.PutUint16(curve[12+2*i:], uint16(math.Round(v*65535)))
	}
	return iccFile([]iccTag{
		{"desc", iccDescription("sRGB")},
		{"cprt", iccText("No copyright: numbers of a public standard")},
		{"wtpt", iccXYZ(0.9505, 1, 1.0891)}, // the medium white as measured, D65
		{"rXYZ", iccXYZ(0.436041, 0.222485, 0.013920)},
		{"gXYZ", iccXYZ(0.385113, 0.716905, 0.097067)},
		{"bXYZ", iccXYZ(0.143046, 0.060610, 0.713913)},
		{"rTRC", curve}, {"gTRC", curve}, {"bTRC", curve},
	})
}

// iccTag is one tagged element of a profile.
type iccTag struct {
	name string
	data []byte
}

// iccFile puts a header and a tag table before the elements. Neighboring tags
// with the same data share it.
func iccFile(tags []iccTag) []byte {
	head := make([]byte, 128+4+12*len(tags))
	be := binary.BigEndian
	be.PutUint32(head[8:], 0x02400000)
	copy(head[12:], "mntrRGB XYZ ")
	for i, v := range []uint16{2000, 1, 1, 0, 0, 0} { // a fixed date: same bytes each time
		be.PutUint16(head[24+2*i:], v)
	}
	copy(head[36:], "acsp")
	copy(head[68:], iccXYZ(0.9642, 1, 0.8249)[8:]) // D50, the illuminant of the connection space
	be.PutUint32(head[128:], uint32(len(tags)))
	var body []byte
	at := 0
	for i, t := range tags {
		if i == 0 || &t.data[0] != &tags[i-1].data[0] {
			for len(body)%4 != 0 {
				body = append(body, 0)
			}
			at = len(head) + len(body)
			body = append(body, t.data...)
		}
		entry := head[132+12*i:]
		copy(entry, t.name)
		be.PutUint32(entry[4:], uint32(at))
		be.PutUint32(entry[8:], uint32(len(t.data)))
	}
	out := append(head, body...)
	for len(out)%4 != 0 {
		out = append(out, 0)
	}
	be.PutUint32(out, uint32(len(out)))
	return out
}

func iccXYZ(x, y, z float64) []byte {
	b := make([]byte, 20)
	copy(b, "XYZ ")
	for i, v := range [3]float64{x, y, z} {
		binary.BigEndian.PutUint32(b[8+4*i:], uint32(int32(math.Round(v*65536))))
	}
	return b
}

func iccText(s string) []byte { return append([]byte("text\x00\x00\x00\x00"+s), 0) }

func iccDescription(s string) []byte {
	b := []byte("desc\x00\x00\x00\x00\x00\x00\x00\x00" + s + "\x00")
	binary.BigEndian.PutUint32(b[8:], uint32(len(s)+1))
	return append(b, make([]byte, 4+4+2+1+67)...) // no Unicode, no script name
}
