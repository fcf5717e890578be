package photo

import (
	"math"

	"kitwright/internal/icc"
	"kitwright/lab"
)

// space tells what the numbers of a file mean: curves to linear light, then a
// matrix to the linear light of the sRGB primaries. Wide colors leave 0..1 and
// are kept: nothing passes through 8-bit sRGB on its way to CIE Lab.
type space struct {
	name   string
	curves curves
	toRGB  *matrix    // nil = the primaries of sRGB already
	gray   bool       // for pictures of one channel
	lut    *icc.Table // in place of curves and matrix: profiles made of tables
}

var srgbSpace = &space{name: "sRGB", curves: srgb}

// d50 is the white of the profile connection space (ICC.1:2022, 7.2.16).
var d50 = icc.D50

// xyzToRGB is lab.XYZToRGB, flat.
var xyzToRGB = flat(&lab.XYZToRGB)

func flat(m *[3][3]float64) *matrix {
	return &matrix{m[0][0], m[0][1], m[0][2], m[1][0], m[1][1], m[1][2], m[2][0], m[2][1], m[2][2]}
}

// fromPCS leads from XYZ relative to D50 to linear light of the sRGB primaries.
var fromPCS = xyzToRGB.mul(bradford(d50, lab.White))

// bradford returns the linear Bradford adaptation from one white to another
// (ICC.1:2022, annex E; cone matrix by Lam 1985).
func bradford(from, to [3]float64) *matrix {
	cone := &matrix{0.8951, 0.2664, -0.1614, -0.7502, 1.7135, 0.0367, 0.0389, -0.0685, 1.0296}
	a, b := cone.times(from), cone.times(to)
	scale := &matrix{b[0] / a[0], 0, 0, 0, b[1] / a[1], 0, 0, 0, b[2] / a[2]}
	return cone.inverse().mul(scale).mul(cone)
}

// inverse returns the inverse by cofactors; the determinant must not be 0.
func (m *matrix) inverse() *matrix {
	minor := func(a, b, c, d int) float64 { return float64(m[a]*m[d]) - float64(m[b]*m[c]) }
	c := matrix{
		minor(4, 5, 7, 8), minor(2, 1, 8, 7), minor(1, 2, 4, 5),
		minor(5, 3, 8, 6), minor(0, 2, 6, 8), minor(2, 0, 5, 3),
		minor(3, 4, 6, 7), minor(1, 0, 7, 6), minor(0, 1, 3, 4),
	}
	det := float64(m[0]*c[0]) + float64(m[1]*c[3]) + float64(m[2]*c[6])
	for i := range c {
		c[i] /= det
	}
	return &c
}

// primaries is a set of chromaticities: red, green, blue, white, each x, y.
type primaries [8]float64

var (
	d65xy     = [2]float64{0.3127, 0.3290}
	bt709     = primaries{0.640, 0.330, 0.300, 0.600, 0.150, 0.060, d65xy[0], d65xy[1]}
	displayP3 = primaries{0.680, 0.320, 0.265, 0.690, 0.150, 0.060, d65xy[0], d65xy[1]} // SMPTE EG 432-1 with D65
	dciP3     = primaries{0.680, 0.320, 0.265, 0.690, 0.150, 0.060, 0.314, 0.351}
	bt2020    = primaries{0.708, 0.292, 0.170, 0.797, 0.131, 0.046, d65xy[0], d65xy[1]}
	bt601625  = primaries{0.640, 0.330, 0.290, 0.600, 0.150, 0.060, d65xy[0], d65xy[1]}
	bt601525  = primaries{0.630, 0.340, 0.310, 0.595, 0.155, 0.070, d65xy[0], d65xy[1]}
	adobe     = primaries{0.640, 0.330, 0.210, 0.710, 0.150, 0.060, d65xy[0], d65xy[1]} // Adobe RGB (1998), section 4.3
)

// toRGB returns the matrix from these primaries to those of sRGB, whites
// matched by Bradford; nil where the primaries make no sense.
func (p primaries) toRGB() *matrix {
	if p == bt709 {
		return nil
	}
	xyz := func(x, y float64) [3]float64 { return [3]float64{x / y, 1, (1 - x - y) / y} }
	for i := 1; i < 8; i += 2 {
		if !(p[i] > 0.0001) {
			return nil
		}
	}
	r, g, b, w := xyz(p[0], p[1]), xyz(p[2], p[3]), xyz(p[4], p[5]), xyz(p[6], p[7])
	m := &matrix{r[0], g[0], b[0], r[1], g[1], b[1], r[2], g[2], b[2]}
	s := m.inverse().times(w)
	for i := range m {
		m[i] *= s[i%3]
		if math.IsNaN(m[i]) || math.IsInf(m[i], 0) {
			return nil
		}
	}
	return xyzToRGB.mul(bradford(w, lab.White)).mul(m)
}

// sane tells whether the primaries span a triangle around their white.
func (p primaries) sane() bool {
	area := func(ax, ay, bx, by, cx, cy float64) float64 {
		return float64((bx-ax)*(cy-ay)) - float64((cx-ax)*(by-ay))
	}
	for i := range p {
		if !(p[i] >= 0 && p[i] <= 1) || i%2 == 1 && p[i] < 0.001 {
			return false
		}
	}
	w := p[6:]
	return area(p[0], p[1], p[2], p[3], p[4], p[5]) > 0.01 &&
		area(p[0], p[1], p[2], p[3], w[0], w[1]) > 0 &&
		area(p[2], p[3], p[4], p[5], w[0], w[1]) > 0 &&
		area(p[4], p[5], p[0], p[1], w[0], w[1]) > 0
}

// power is the curve of a plain exponent.
func power(gamma float64) func(float64) float64 {
	return func(v float64) float64 { return math.Pow(v, gamma) }
}

func same3(f func(float64) float64) [3]func(float64) float64 {
	return [3]func(float64) float64{f, f, f}
}

// adobeRGB is the space of cameras set to it without a profile in the file:
// exponent 2 + 51/256 (Adobe RGB (1998) Color Image Encoding, 2005, 4.3.4.2).
func adobeRGB() *space {
	return &space{name: "Adobe RGB", curves: newCurves(same3(power(2 + 51.0/256))), toRGB: adobe.toRGB()}
}

// codedSpace is a space named by the code points of ITU-T H.273 (tables 2 and
// 3), as cICP in PNG and nclx in HEIC and AVIF write them. Wide dynamic range,
// and codes unknown here, are read as if they were plain, which note tells.
//
// The camera curves of BT.709 and its kin are read with the curve of sRGB:
// pictures marked so are meant to be shown as they are on such a screen.
func codedSpace(primary, transfer int) (s *space, note string) {
	s = &space{name: "sRGB", curves: srgb}
	switch primary {
	case 1, 2:
	case 4:
		s.name, s.toRGB = "BT.470M", primaries{0.67, 0.33, 0.21, 0.71, 0.14, 0.08, 0.310, 0.316}.toRGB()
	case 5:
		s.name, s.toRGB = "BT.601", bt601625.toRGB()
	case 6, 7:
		s.name, s.toRGB = "BT.601", bt601525.toRGB()
	case 9:
		s.name, s.toRGB = "BT.2020", bt2020.toRGB()
	case 11:
		s.name, s.toRGB = "DCI P3", dciP3.toRGB()
	case 12:
		s.name, s.toRGB = "Display P3", displayP3.toRGB()
	default:
		note = "the photo names colors that are not known here; they are read as sRGB"
	}
	switch transfer {
	case 1, 2, 6, 11, 12, 13, 14, 15:
	case 4:
		s.curves = newCurves(same3(power(2.2)))
	case 5:
		s.curves = newCurves(same3(power(2.8)))
	case 8:
		s.curves = newCurves(same3(power(1)))
	case 16, 18:
		note = "the photo is stored for bright (HDR) screens and may come out flat; export it as plain JPEG if the colors look weak"
	default:
		note = "the photo names a brightness curve that is not known here; it is read as sRGB"
	}
	return s, note
}

// isSRGB tells whether a space is sRGB but for rounding, by its curves and its
// matrix; such spaces take sRGB's own tables.
func (s *space) isSRGB() bool {
	if s.lut != nil || s.gray {
		return false
	}
	const tiny = lab.LinearOne / 2000
	for c := range s.curves.eight {
		for v, want := range lab.Linear {
			if d := int64(s.curves.eight[c][v]) - int64(want); d < -tiny || d > tiny {
				return false
			}
		}
	}
	if s.toRGB == nil {
		return true
	}
	for i, v := range s.toRGB {
		want := 0.0
		if i%4 == 0 {
			want = 1
		}
		if math.Abs(v-want) > 0.001 {
			return false
		}
	}
	return true
}
