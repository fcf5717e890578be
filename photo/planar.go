package photo

import (
	"image"
	"image/color"

	"kitwright/internal/icc"
	"kitwright/internal/quickjpeg"
)

// planar is a picture in planes that no picture of package image has room for:
// red, green and blue or four inks apart, or color differences sampled in a
// way of their own. It is read straight from its planes.
type planar struct {
	*quickjpeg.Picture
}

func (p *planar) Bounds() image.Rectangle { return image.Rect(0, 0, p.Width, p.Height) }

// ColorModel and At make a planar an image, so that it can be handed on as
// one; nobody asks it for single pixels.
func (p *planar) ColorModel() color.Model { return color.YCbCrModel }
func (p *planar) At(x, y int) color.Color { return color.Black }

// channels is how many colors a profile has to know of.
func (p *planar) channels() int { return len(p.Planes) }

// light shows the planes with the colors of a space.
func (p *planar) light(s *space, k *lumaMatrix) pixels {
	l := &planarLight{dims: sized(p), p: p, lut: s.lut, matrix: k}
	if s.lut == nil {
		l.curve = s.curves.eight
	}
	return l
}

// imageOf wraps the planes of a JPEG, of which the upper rows are there.
func imageOf(p *quickjpeg.Picture) image.Image {
	p.Height = p.Rows
	shown := image.Rect(0, 0, p.Width, p.Height)
	y := p.Planes[0]
	switch {
	case p.Colors == quickjpeg.Gray:
		return &image.Gray{Pix: y.Pix, Stride: y.Stride, Rect: shown}
	case p.Colors == quickjpeg.YCC && y.H == 1 && y.V == 1 && p.Planes[1].H == p.Planes[2].H && p.Planes[1].V == p.Planes[2].V:
		if ratio, ok := ratios[[2]int{p.Planes[1].H, p.Planes[1].V}]; ok {
			return &image.YCbCr{
				Y: y.Pix, Cb: p.Planes[1].Pix, Cr: p.Planes[2].Pix,
				YStride: y.Stride, CStride: p.Planes[1].Stride, SubsampleRatio: ratio, Rect: shown,
			}
		}
	}
	return &planar{p}
}

// ratios are the samplings that package image knows, as pixels across and down
// to a color difference.
var ratios = map[[2]int]image.YCbCrSubsampleRatio{
	{1, 1}: image.YCbCrSubsampleRatio444, {2, 1}: image.YCbCrSubsampleRatio422, {2, 2}: image.YCbCrSubsampleRatio420,
	{1, 2}: image.YCbCrSubsampleRatio440, {4, 1}: image.YCbCrSubsampleRatio411, {4, 2}: image.YCbCrSubsampleRatio410,
}

// planarLight shows a planar as light: through curves, or through a profile of
// tables.
type planarLight struct {
	dims
	p      *planar
	curve  [3]*[256]uint32
	lut    *icc.Table
	matrix *lumaMatrix
}

// numbers reads the pixel x, y: three numbers of red, green and blue, or four
// of inks, 255 being full ink.
func (p *planarLight) numbers(x, y int) (v [4]byte) {
	for i, plane := range p.p.Planes {
		v[i] = plane.Pix[y/plane.V*plane.Stride+x/plane.H]
	}
	switch p.p.Colors {
	case quickjpeg.YCC, quickjpeg.YCCInk:
		v[0], v[1], v[2] = p.matrix.rgb(v[0], v[1], v[2])
	}
	switch p.p.Colors {
	case quickjpeg.YCCInk: // what libjpeg inverts on the way and Adobe inverts in the file cancel out
		v[3] = 255 - v[3]
	case quickjpeg.Inks:
		v = [4]byte{255 - v[0], 255 - v[1], 255 - v[2], 255 - v[3]}
	}
	return v
}

func (p *planarLight) line(y, x0, x1 int, out []light) {
	var last [4]byte
	for i := range out[:x1-x0] {
		v := p.numbers(x0+i, y)
		if i > 0 && v == last {
			out[i] = out[i-1]
			continue
		}
		last = v
		switch {
		case p.lut != nil:
			out[i] = lightOf(p.lut, v)
		case p.p.channels() == 4:
			out[i] = guessedInk(v, p.curve)
		default:
			out[i] = light{p.curve[0][v[0]], p.curve[1][v[1]], p.curve[2][v[2]]}
		}
	}
}

// guessedInk is the light of four inks without a profile: each takes its share
// of the numbers, as image/color does it. A rough guess at any real press.
func guessedInk(v [4]byte, curve [3]*[256]uint32) (out light) {
	k := 255 - uint32(v[3])
	for c := range out {
		out[c] = curve[c][((255-uint32(v[c]))*k+127)/255]
	}
	return out
}

// rgb turns luma and color differences into 8-bit red, green and blue.
func (k *lumaMatrix) rgb(y, cb, cr byte) (r, g, b byte) {
	v := k.y[y]
	clamp := func(v int32) byte { return byte(min(max(v>>k.shift, 0), 255)) }
	return clamp(v + k.rCr[cr]), clamp(v + k.gCb[cb] + k.gCr[cr]), clamp(v + k.bCb[cb])
}
