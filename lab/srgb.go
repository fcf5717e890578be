package lab

import (
	"math"
	"strconv"
	"strings"

	"github.com/lucasb-eyer/go-colorful"
)

// White is the XYZ of D65 that every Color is relative to: the row sums of
// RGBToXYZ.
var White = [3]float64{0.95047, 1, 1.08883}

// LinearOne is the integer that stands for full linear light in [Linear].
const LinearOne = 1 << 24

// Linear is Decode for the 256 values of a byte, in units of 1/LinearOne of
// full light. It is a table of integers so that every machine has the same one.
var Linear = func() (t [256]uint32) {
	for i := range t {
		t[i] = uint32(math.Round(Decode(float64(i)/255) * LinearOne))
	}
	return t
}()

// Decode returns the linear light of an sRGB value, 1 being full: the transfer
// function of IEC 61966-2-1. Its last bit may differ between machines; what is
// kept goes through a table of integers, as in Linear.
func Decode(v float64) float64 {
	if v <= 0.04045 {
		return v / 12.92
	}
	return math.Pow((v+0.055)/1.055, 2.4)
}

// Encode is the inverse of Decode; below 0 it goes on as a straight line.
func Encode(v float64) float64 {
	if v <= 0.0031308 {
		return 12.92 * v
	}
	return float64(1.055*math.Pow(v, 1/2.4)) - 0.055
}

// RGBToXYZ turns linear light in the sRGB primaries into CIE XYZ relative to
// D65. It is the matrix of IEC 61966-2-1 at seven decimals, as published by
// B. Lindbloom ("RGB/XYZ matrices", sRGB, D65): its rows sum to White, so grays
// have no chroma. (The 16-digit matrix in go-colorful sums to another white;
// only its XYZ to Lab step is exact enough here.)
var RGBToXYZ = [3][3]float64{
	{0.4124564, 0.3575761, 0.1804375},
	{0.2126729, 0.7151522, 0.0721750},
	{0.0193339, 0.1191920, 0.9503041},
}

// XYZToRGB is the inverse of RGBToXYZ.
var XYZToRGB = inverse(RGBToXYZ)

// FromSRGB returns the color of an 8-bit sRGB value.
func FromSRGB(rgb [3]uint8) Color {
	return FromLinear(float64(Linear[rgb[0]])/LinearOne, float64(Linear[rgb[1]])/LinearOne, float64(Linear[rgb[2]])/LinearOne)
}

// FromLinear returns the color of linear light in the sRGB primaries, 1 being
// full light. Values outside 0..1 are colors that sRGB cannot show; they are
// kept.
func FromLinear(r, g, b float64) Color {
	v := times(RGBToXYZ, [3]float64{r, g, b})
	return FromXYZ(v[0], v[1], v[2])
}

// FromXYZ returns the color of CIE XYZ relative to D65, Y of white being 1.
func FromXYZ(x, y, z float64) Color {
	l, a, b := colorful.XyzToLabWhiteRef(x, y, z, White)
	return Color{L: l * 100, A: a * 100, B: b * 100}
}

// XYZ returns the color as CIE XYZ relative to D65, Y of white being 1.
func (c Color) XYZ() (x, y, z float64) {
	return colorful.LabToXyzWhiteRef(c.L/100, c.A/100, c.B/100, White)
}

// under returns XYZ of L*a*b* values relative to a white.
func (c Color) under(white [3]float64) [3]float64 {
	x, y, z := colorful.LabToXyzWhiteRef(c.L/100, c.A/100, c.B/100, white)
	return [3]float64{x, y, z}
}

// LinearRGB returns the color as linear light in the sRGB primaries, outside
// 0..1 where sRGB cannot show it.
func (c Color) LinearRGB() (r, g, b float64) {
	x, y, z := c.XYZ()
	v := times(XYZToRGB, [3]float64{x, y, z})
	return v[0], v[1], v[2]
}

// SRGB returns the nearest 8-bit sRGB value, each channel clipped, and whether
// sRGB can show the color: no channel more than half a step outside 0..255.
func (c Color) SRGB() (rgb [3]uint8, inside bool) {
	r, g, b := c.LinearRGB()
	inside = true
	for i, v := range [3]float64{r, g, b} {
		v = 255 * Encode(v)
		if v < -0.5 || v > 255.5 {
			inside = false
		}
		rgb[i] = uint8(math.Round(math.Min(255, math.Max(0, v))))
	}
	return rgb, inside
}

// Hex returns an 8-bit sRGB value as "#rrggbb".
func Hex(rgb [3]uint8) string {
	return colorful.Color{R: float64(rgb[0]) / 255, G: float64(rgb[1]) / 255, B: float64(rgb[2]) / 255}.Hex()
}

// ParseHex reads what Hex writes, with or without #, in any case of letters,
// and the short form #rgb.
func ParseHex(text string) (rgb [3]uint8, ok bool) {
	text = strings.TrimPrefix(text, "#")
	if len(text) == 3 {
		text = string([]byte{text[0], text[0], text[1], text[1], text[2], text[2]})
	}
	if len(text) != 6 {
		return rgb, false
	}
	v, err := strconv.ParseUint(text, 16, 32)
	if err != nil {
		return rgb, false
	}
	return [3]uint8{uint8(v >> 16), uint8(v >> 8), uint8(v)}, true
}
