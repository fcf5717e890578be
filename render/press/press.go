// Package press knows how a print shop's machine shows colors: it reads the
// shop's ICC profile, takes screen colors to inks by it, and tells how they
// will look. Begin with [Read].
package press

import (
	"math"

	"kitwright/internal/icc"
	"kitwright/internal/say"
	"kitwright/lab"
)

// Color is an 8-bit sRGB color.
type Color = [3]uint8

// Intent is how colors are taken over that a machine cannot print (ICC.1:2022,
// 6.2).
type Intent string

const (
	// Relative keeps every color that can be printed, on the material's own
	// white, and takes the darkest screen black to the darkest that the machine
	// prints (black point compensation, ISO 18619).
	Relative Intent = "relative"
	// Perceptual is how the maker of the profile makes room for all colors.
	Perceptual Intent = "perceptual"
)

// Profile is a print shop's profile: of a printing machine with red, green and
// blue or with four inks.
type Profile struct {
	Name string
	Data []byte
	Inks int // 3 or 4

	to    map[Intent]*icc.Table // from the connection space
	shown *icc.Table            // to it, as measured
	black float64               // light of the darkest neutral, Y
}

// Read reads a profile and refuses what cannot tell how a machine prints.
func Read(name string, data []byte) (*Profile, error) {
	const ask = "ask the print shop for the ICC profile of the machine and material, of class printer, RGB or CMYK"
	p, err := icc.Parse(data)
	if err != nil {
		return nil, say.Failed(ask, "%s is no ICC profile, or a broken one", name)
	}
	if class := p.Class(); class != "prtr" {
		what := map[string]string{"mntr": "a screen", "scnr": "a scanner or camera", "link": "two devices in one", "spac": "a color space", "abst": "an effect", "nmcl": "named colors"}[class]
		if what == "" {
			what = "something else than a printer"
		}
		return nil, say.Failed(ask, "the profile %s is of %s, not of a printer", name, what)
	}
	if v := p.Version(); v != 2 && v != 4 {
		return nil, say.Failed(ask, "the profile %s is of version %d; versions 2 and 4 are read", name, v)
	}
	out := &Profile{Name: p.Name(), Data: data, to: map[Intent]*icc.Table{}}
	switch p.Space() {
	case "RGB ":
		out.Inks = 3
	case "CMYK":
		out.Inks = 4
	default:
		return nil, say.Failed(ask, "the profile %s is of %q; RGB and CMYK are known", name, p.Space())
	}
	broken := func(tag string) error {
		return say.Failed(ask, "the profile %s lacks a usable table %s, or is broken", name, tag)
	}
	first := func(in, out int, tags ...string) (*icc.Table, error) {
		for _, tag := range tags {
			if p.Tag(tag) != nil {
				t, err := p.Table(tag, in, out)
				if err != nil {
					return nil, broken(tag)
				}
				return t, nil
			}
		}
		return nil, broken(tags[0])
	}
	if out.shown, err = first(out.Inks, 3, "A2B1", "A2B0"); err != nil {
		return nil, err
	}
	if out.to[Relative], err = first(3, out.Inks, "B2A1", "B2A0"); err != nil {
		return nil, err
	}
	if out.to[Perceptual], err = first(3, out.Inks, "B2A0", "B2A1"); err != nil {
		return nil, err
	}
	out.black = math.Min(out.shown.Light(out.to[Relative].Device([3]float64{}))[1], lab.Lit(50))
	return out, nil
}

// Device returns what the machine gets for a screen color, each number 0 to 1.
func (p *Profile) Device(c Color, by Intent) [4]float64 {
	xyz := connection(c)
	if by == Relative {
		for i, white := range icc.D50 { // ISO 18619, formula for XYZ; sRGB's black has no light
			floor := p.black * white
			xyz[i] = floor + float64(xyz[i]*(white-floor)/white)
		}
	}
	return p.to[by].Device(xyz)
}

// Gray returns how much of the black ink alone looks as light as a screen
// gray, on the material.
func (p *Profile) Gray(v uint8) float64 {
	want := connection(Color{v, v, v})[1]
	lo, hi := 0.0, 1.0
	for range 20 {
		mid := (lo + hi) / 2
		if p.shown.Light([4]float64{0, 0, 0, mid})[1] > want {
			lo = mid
		} else {
			hi = mid
		}
	}
	return hi
}

// Seen returns the color that device numbers show, beside the material's white
// as the white, in L*a*b* relative to D65 as all colors of ours.
func (p *Profile) Seen(device [4]float64) lab.Color {
	x := lab.Adapt(p.shown.Light(device), icc.D50)
	return lab.FromXYZ(x[0], x[1], x[2])
}

// Screen is Seen as a screen color.
func (p *Profile) Screen(device [4]float64) Color {
	rgb, _ := p.Seen(device).SRGB()
	return rgb
}

// connection is the light of a screen color in the connection space: the rows
// are what sRGB's primaries come to there by the Bradford transform, and sum to
// D50 (the same numbers stand in the profile that tags our files).
func connection(c Color) [3]float64 {
	var v [3]float64
	for i := range v {
		v[i] = lab.Decode(float64(c[i]) / 255)
	}
	var xyz [3]float64
	for i, row := range [3][3]float64{{0.436041, 0.385113, 0.143046}, {0.222485, 0.716905, 0.060610}, {0.013920, 0.097067, 0.713913}} {
		xyz[i] = float64(row[0]*v[0]) + float64(row[1]*v[1]) + float64(row[2]*v[2])
	}
	return xyz
}
