package photo

import (
	"image"

	"kitwright/internal/heif"
	"kitwright/lab"
)

// pixels hands out a stored picture as linear light, a row at a time: opaque,
// whatever lies behind see-through parts being white.
//
// White is mixed in as light, not as numbers: the edge of a cut-out is a share
// of the pixel, and shares add up as light does.
type pixels interface {
	size() (w, h int)
	// line writes the pixels x0 to x1 of row y to the front of out.
	line(y, x0, x1 int, out []light)
}

// seeThrough is a picture that knows how opaque each pixel is.
type seeThrough interface {
	pixels
	// alpha writes the opacity, lab.LinearOne being opaque, to out[i][0].
	alpha(y, x0, x1 int, out []light)
}

// opacity shows the opacity of a picture in place of its light.
type opacity struct{ of pixels }

func (o opacity) size() (int, int) { return o.of.size() }

func (o opacity) line(y, x0, x1 int, out []light) {
	if s, ok := o.of.(seeThrough); ok {
		s.alpha(y, x0, x1, out)
		return
	}
	for i := range out[:x1-x0] {
		out[i] = light{lab.LinearOne}
	}
}

// hasAlpha tells whether any pixel is less than opaque.
func hasAlpha(px pixels) bool {
	s, ok := px.(seeThrough)
	if !ok {
		return false
	}
	switch p := px.(type) {
	case *ycc:
		if p.a == nil {
			return false
		}
	case *packedLight:
		if p.p.alpha == 0 {
			return false
		}
	}
	if y, ok := px.(*deepYCC); ok && y.m.A == nil {
		return false
	}
	w, h := px.size()
	row := make([]light, w)
	for y := range h {
		s.alpha(y, 0, w, row)
		for _, v := range row {
			if v[0] != lab.LinearOne {
				return true
			}
		}
	}
	return false
}

// over lays light of an opacity a out of full over white.
func over(v light, a, full uint64) light {
	if a == full {
		return v
	}
	white := (full - a) * lab.LinearOne
	for i := range v {
		v[i] = uint32((a*uint64(v[i]) + white + full/2) / full)
	}
	return v
}

// share returns a out of full in units of lab.LinearOne.
func share(a, full uint64) uint32 { return uint32((a*lab.LinearOne + full/2) / full) }

// dims is the size of a picture, to build on.
type dims struct{ w, h int }

func (d dims) size() (int, int) { return d.w, d.h }

func sized(m image.Image) dims { return dims{m.Bounds().Dx(), m.Bounds().Dy()} }

// picture is a decoder's picture of a kind of our own.
type picture interface {
	image.Image
	channels() int // of color: 1, 3 or 4
	light(s *space, k *lumaMatrix) pixels
}

// newPixels wraps a decoder's picture, whose numbers mean what s says, after k
// has made colors of luma and color differences. It answers nil for a kind of
// picture that no decoder here gives.
func newPixels(m image.Image, s *space, k *lumaMatrix) pixels {
	d := sized(m)
	if m, ok := m.(picture); ok {
		return m.light(s, k)
	}
	if s.lut != nil {
		if px := newPixels(m, &space{curves: straight()}, k); px != nil {
			return &throughLUT{px, s.lut}
		}
		return nil
	}
	c := s.curves
	switch m := m.(type) {
	case *image.YCbCr:
		return newYCC(m, nil, 0, k, c)
	case *image.NYCbCrA:
		return newYCC(&m.YCbCr, m.A, m.AStride, k, c)
	case *heif.Deep:
		return newDeepYCC(m, c)
	case *image.Gray:
		return &gray8{d, m.Pix, m.Stride, c.eight}
	case *image.Gray16:
		return &gray16{d, m.Pix, m.Stride, c.deep()}
	case *image.NRGBA:
		return &rgba8{d, m.Pix, m.Stride, false, c.eight}
	case *image.RGBA:
		return &rgba8{d, m.Pix, m.Stride, true, c.eight}
	case *image.NRGBA64:
		return &rgba16{d, m.Pix, m.Stride, false, c.deep()}
	case *image.RGBA64:
		return &rgba16{d, m.Pix, m.Stride, true, c.deep()}
	case *image.Paletted:
		return newPaletted(m, c)
	}
	return nil
}

type gray8 struct {
	dims
	pix    []byte
	stride int
	curve  [3]*[256]uint32
}

func (p *gray8) line(y, x0, x1 int, out []light) {
	for i, v := range p.pix[y*p.stride+x0 : y*p.stride+x1] {
		out[i] = light{p.curve[0][v], p.curve[1][v], p.curve[2][v]}
	}
}

type gray16 struct {
	dims
	pix    []byte
	stride int
	curve  [3][]uint32
}

func (p *gray16) line(y, x0, x1 int, out []light) {
	row := p.pix[y*p.stride+2*x0 : y*p.stride+2*x1]
	for i := range out[:x1-x0] {
		v := int(row[2*i])<<8 | int(row[2*i+1])
		out[i] = light{p.curve[0][v], p.curve[1][v], p.curve[2][v]}
	}
}

type rgba8 struct {
	dims
	pix    []byte
	stride int
	premul bool // the numbers were multiplied by the opacity
	curve  [3]*[256]uint32
}

func (p *rgba8) line(y, x0, x1 int, out []light) {
	row := p.pix[y*p.stride+4*x0 : y*p.stride+4*x1]
	r, g, b := p.curve[0], p.curve[1], p.curve[2]
	for i := range out[:x1-x0] {
		s := row[4*i : 4*i+4 : 4*i+4]
		switch a := uint32(s[3]); {
		case a == 255:
			out[i] = light{r[s[0]], g[s[1]], b[s[2]]}
		case a == 0:
			out[i] = light{lab.LinearOne, lab.LinearOne, lab.LinearOne}
		case p.premul:
			out[i] = over(light{r[divided(s[0], a)], g[divided(s[1], a)], b[divided(s[2], a)]}, uint64(a), 255)
		default:
			out[i] = over(light{r[s[0]], g[s[1]], b[s[2]]}, uint64(a), 255)
		}
	}
}

// divided takes a multiplication by the opacity a back.
func divided(v byte, a uint32) byte { return byte(min(255, (uint32(v)*255+a/2)/a)) }

func (p *rgba8) alpha(y, x0, x1 int, out []light) {
	row := p.pix[y*p.stride+4*x0 : y*p.stride+4*x1]
	for i := range out[:x1-x0] {
		out[i] = light{share(uint64(row[4*i+3]), 255)}
	}
}

type rgba16 struct {
	dims
	pix    []byte
	stride int
	premul bool
	curve  [3][]uint32
}

func (p *rgba16) line(y, x0, x1 int, out []light) {
	row := p.pix[y*p.stride+8*x0 : y*p.stride+8*x1]
	for i := range out[:x1-x0] {
		s := row[8*i : 8*i+8 : 8*i+8]
		v := [3]uint64{uint64(s[0])<<8 | uint64(s[1]), uint64(s[2])<<8 | uint64(s[3]), uint64(s[4])<<8 | uint64(s[5])}
		a := uint64(s[6])<<8 | uint64(s[7])
		if a == 0 {
			out[i] = light{lab.LinearOne, lab.LinearOne, lab.LinearOne}
			continue
		}
		if p.premul && a < 65535 {
			for c := range v {
				v[c] = min(65535, (v[c]*65535+a/2)/a)
			}
		}
		out[i] = over(light{p.curve[0][v[0]], p.curve[1][v[1]], p.curve[2][v[2]]}, a, 65535)
	}
}

func (p *rgba16) alpha(y, x0, x1 int, out []light) {
	row := p.pix[y*p.stride+8*x0 : y*p.stride+8*x1]
	for i := range out[:x1-x0] {
		out[i] = light{share(uint64(row[8*i+6])<<8|uint64(row[8*i+7]), 65535)}
	}
}

// paletted is a picture of few colors. Its table is filled up to 256 entries,
// so that no index can miss.
type paletted struct {
	dims
	pix    []byte
	stride int
	light  [256]light
	opaque [256]uint32
}

func newPaletted(m *image.Paletted, c curves) *paletted {
	p := &paletted{dims: sized(m), pix: m.Pix, stride: m.Stride}
	for i := range p.light {
		p.light[i], p.opaque[i] = light{}, lab.LinearOne
		if i >= len(m.Palette) {
			continue
		}
		r, g, b, a := m.Palette[i].RGBA()
		one := rgba16{dims{1, 1}, []byte{byte(r >> 8), byte(r), byte(g >> 8), byte(g), byte(b >> 8), byte(b), byte(a >> 8), byte(a)}, 8, true, c.deep()}
		one.line(0, 0, 1, p.light[i:i+1])
		p.opaque[i] = share(uint64(a), 65535)
	}
	return p
}

func (p *paletted) line(y, x0, x1 int, out []light) {
	for i, v := range p.pix[y*p.stride+x0 : y*p.stride+x1] {
		out[i] = p.light[v]
	}
}

func (p *paletted) alpha(y, x0, x1 int, out []light) {
	for i, v := range p.pix[y*p.stride+x0 : y*p.stride+x1] {
		out[i] = light{p.opaque[v]}
	}
}
