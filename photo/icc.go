package photo

import (
	"errors"

	"kitwright/internal/icc"
	"kitwright/lab"
)

// profile is what a photo's ICC profile makes of its numbers.
type profile struct{ *icc.Profile }

var errICC = icc.ErrBroken

// parseICC reads a profile for pictures of a number of channels: 1 gray, 3
// RGB, 4 CMYK. An RGB profile also serves a gray picture.
func parseICC(data []byte, channels int) (*space, error) {
	head, err := icc.Parse(data)
	if err != nil {
		return nil, err
	}
	p := profile{head}
	s := &space{name: p.Name()}
	switch kind := p.Space(); {
	case kind == "GRAY" && channels == 1:
		err = p.grayInto(s)
	case kind == "RGB " && channels <= 3:
		if p.lutTag() != "" {
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

// grayInto reads a gray profile: one curve to the light of a neutral, or to
// its lightness where the connection space is Lab (ICC.1:2022, 8.3.4, F.2).
func (p profile) grayInto(s *space) error {
	f, _, err := icc.ParseCurve(p.Tag("kTRC"))
	if err != nil {
		return err
	}
	g := f
	if p.PCS() == "Lab " {
		g = func(v float64) float64 { return lab.Lit(100 * f(v)) }
	}
	s.curves, s.gray = newCurves(same3(g)), true
	return nil
}

// matrixInto reads a three-component matrix profile (ICC.1:2022, F.3).
func (p profile) matrixInto(s *space) error {
	if p.PCS() != "XYZ " {
		return errICC
	}
	var f [3]func(float64) float64
	var m matrix
	for i, c := range []string{"r", "g", "b"} {
		var err error
		if f[i], _, err = icc.ParseCurve(p.Tag(c + "TRC")); err != nil {
			return err
		}
		xyz := p.Tag(c + "XYZ")
		if len(xyz) < 20 || string(xyz[:4]) != "XYZ " {
			return errICC
		}
		for row := range 3 {
			m[3*row+i] = icc.Fixed16(xyz[8+4*row:])
		}
	}
	// The three colorants together are the white, whose light is 1.
	if y := m[3] + m[4] + m[5]; y < 0.9 || y > 1.1 {
		return errICC
	}
	s.curves, s.toRGB = newCurves(f), fromPCS.mul(&m)
	return nil
}

// lutTag names the table to the connection space for matching colors as
// measured, or the one for pleasing pictures where that is all there is; "" is
// none.
func (p profile) lutTag() string {
	for _, name := range []string{"A2B1", "A2B0"} {
		if p.Tag(name) != nil {
			return name
		}
	}
	return ""
}

func (p profile) newLUT(channels int) (*icc.Table, error) { return p.Table(p.lutTag(), channels, 3) }
