package photo

import (
	"encoding/binary"
	"errors"
	"math"
	"strings"
	"unicode/utf16"

	"kitwright/lab"
)

// iccProfile is an ICC profile in memory (ICC.1:2022, profile version 4.4, and
// ICC.1:2001-04 for version 2). Every offset in it is checked before use.
type iccProfile struct {
	data []byte
	tags map[string][]byte
}

var errICC = errors.New("broken color profile")

// parseICC reads a profile for pictures of a number of channels: 1 gray, 3
// RGB, 4 CMYK. An RGB profile also serves a gray picture.
func parseICC(data []byte, channels int) (*space, error) {
	p, err := newICC(data)
	if err != nil {
		return nil, err
	}
	s := &space{name: p.name()}
	switch kind := string(data[16:20]); {
	case kind == "GRAY" && channels == 1:
		err = p.grayInto(s)
	case kind == "RGB " && channels <= 3:
		if p.lutTag() != nil {
			s.lut, err = p.newLUT(3)
		} else {
			err = p.matrixInto(s)
		}
	case kind == "CMYK" && channels == 4:
		s.lut, err = p.newLUT(4)
	default:
		err = errors.New("the profile is for another kind of picture")
	}
	if err != nil {
		return s, err
	}
	if s.isSRGB() {
		s.curves, s.toRGB = srgb, nil
	}
	if s.lut != nil {
		s.toRGB = fromPCS
	}
	return s, nil
}

func newICC(data []byte) (*iccProfile, error) {
	if len(data) < 132 || string(data[36:40]) != "acsp" {
		return nil, errICC
	}
	if n := int64(binary.BigEndian.Uint32(data)); n < 132 || n > int64(len(data)) {
		return nil, errICC // it lies about its size
	}
	p := &iccProfile{data: data, tags: map[string][]byte{}}
	count := binary.BigEndian.Uint32(data[128:])
	if count > 200 || int64(132+12*count) > int64(len(data)) {
		return nil, errICC
	}
	for e := data[132 : 132+12*count]; len(e) > 0; e = e[12:] {
		at, n := int64(binary.BigEndian.Uint32(e[4:])), int64(binary.BigEndian.Uint32(e[8:]))
		if at+n > int64(len(data)) || n < 8 {
			continue // a tag that is missed is named when it is asked for
		}
		p.tags[string(e[:4])] = data[at : at+n]
	}
	return p, nil
}

// name returns the description of the profile, or "unnamed".
func (p *iccProfile) name() string {
	d := p.tags["desc"]
	var s string
	switch {
	case len(d) > 12 && string(d[:4]) == "desc":
		n := min(int64(binary.BigEndian.Uint32(d[8:])), int64(len(d)-12))
		s = string(d[12 : 12+n])
	case len(d) >= 28 && string(d[:4]) == "mluc":
		n, at := int64(binary.BigEndian.Uint32(d[20:])), int64(binary.BigEndian.Uint32(d[24:]))
		if at+n <= int64(len(d)) {
			var u []uint16
			for b := d[at : at+n]; len(b) >= 2; b = b[2:] {
				u = append(u, binary.BigEndian.Uint16(b))
			}
			s = string(utf16.Decode(u))
		}
	}
	s, _, _ = strings.Cut(s, "\x00")
	s = strings.TrimSpace(strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7F || r == 0xFFFD {
			return -1
		}
		return r
	}, s))
	if r := []rune(s); len(r) > 60 {
		s = string(r[:60])
	}
	if s == "" {
		return "unnamed"
	}
	return s
}

// grayInto reads a gray profile: one curve to the light of a neutral, or to
// its lightness where the connection space is Lab (ICC.1:2022, 8.3.4, F.2).
func (p *iccProfile) grayInto(s *space) error {
	f, _, err := parseCurve(p.tags["kTRC"])
	if err != nil {
		return err
	}
	g := f
	if string(p.data[20:24]) == "Lab " {
		g = func(v float64) float64 { return lab.Lit(100 * f(v)) }
	}
	s.curves, s.gray = newCurves(same3(g)), true
	return nil
}

// matrixInto reads a three-component matrix profile (ICC.1:2022, F.3).
func (p *iccProfile) matrixInto(s *space) error {
	if string(p.data[20:24]) != "XYZ " {
		return errICC
	}
	var f [3]func(float64) float64
	var m matrix
	for i, c := range []string{"r", "g", "b"} {
		var err error
		if f[i], _, err = parseCurve(p.tags[c+"TRC"]); err != nil {
			return err
		}
		xyz := p.tags[c+"XYZ"]
		if len(xyz) < 20 || string(xyz[:4]) != "XYZ " {
			return errICC
		}
		for row := range 3 {
			m[3*row+i] = fixed16(xyz[8+4*row:])
		}
	}
	// The three colorants together are the white, whose light is 1.
	if y := m[3] + m[4] + m[5]; y < 0.9 || y > 1.1 {
		return errICC
	}
	s.curves, s.toRGB = newCurves(f), fromPCS.mul(&m)
	return nil
}

// fixed16 reads an s15Fixed16Number.
func fixed16(b []byte) float64 { return float64(int32(binary.BigEndian.Uint32(b))) / 65536 }

// parseCurve reads a curve (ICC.1:2022, 10.6 curveType, 10.18
// parametricCurveType) as a function from 0..1 to 0..1, and its length in
// bytes without filling.
func parseCurve(tag []byte) (f func(float64) float64, length int, err error) {
	if len(tag) < 12 {
		return nil, 0, errICC
	}
	switch string(tag[:4]) {
	case "curv":
		n := int64(binary.BigEndian.Uint32(tag[8:]))
		if 12+2*n > int64(len(tag)) {
			return nil, 0, errICC
		}
		length = 12 + 2*int(n)
		switch n {
		case 0:
			return func(v float64) float64 { return clamp01(v) }, length, nil
		case 1:
			bend := power(float64(binary.BigEndian.Uint16(tag[12:])) / 256)
			return func(v float64) float64 { return clamp01(bend(clamp01(v))) }, length, nil
		}
		table := make([]float64, n)
		for i := range table {
			table[i] = float64(binary.BigEndian.Uint16(tag[12+2*i:])) / 65535
		}
		return tabled(table), length, nil
	case "para":
		kind := int(binary.BigEndian.Uint16(tag[8:]))
		counts := []int{1, 3, 4, 5, 7}
		if kind >= len(counts) || len(tag) < 12+4*counts[kind] {
			return nil, 0, errICC
		}
		var v [7]float64
		for i := range counts[kind] {
			v[i] = fixed16(tag[12+4*i:])
		}
		return parametric(kind, v), 12 + 4*counts[kind], nil
	}
	return nil, 0, errICC
}

// tabled is a curve through equally spaced values, straight between them.
func tabled(table []float64) func(float64) float64 {
	last := len(table) - 1
	return func(v float64) float64 {
		at := float64(clamp01(v) * float64(last))
		i := min(int(at), last)
		if i == last {
			return table[last]
		}
		return table[i] + float64((at-float64(i))*(table[i+1]-table[i]))
	}
}

// parametric returns the curves of ICC.1:2022, table 68, in its letters.
func parametric(kind int, v [7]float64) func(float64) float64 {
	g, a, b, c, d, e, f := v[0], v[1], v[2], v[3], v[4], v[5], v[6]
	bend := func(x float64) float64 { return math.Pow(math.Max(float64(a*x)+b, 0), g) }
	var y func(float64) float64
	switch kind {
	case 0:
		y = power(g)
	case 1:
		y = func(x float64) float64 {
			if float64(a*x)+b >= 0 {
				return bend(x)
			}
			return 0
		}
	case 2:
		y = func(x float64) float64 {
			if float64(a*x)+b >= 0 {
				return bend(x) + c
			}
			return c
		}
	case 3:
		y = func(x float64) float64 {
			if x >= d {
				return bend(x)
			}
			return c * x
		}
	default:
		y = func(x float64) float64 {
			if x >= d {
				return bend(x) + e
			}
			return float64(c*x) + f
		}
	}
	return func(x float64) float64 { return clamp01(y(clamp01(x))) }
}

// clamp01 cuts a number to 0..1; what is no number becomes 0.
func clamp01(v float64) float64 {
	if !(v > 0) {
		return 0
	}
	return math.Min(v, 1)
}
