package photo

import (
	"encoding/binary"
	"image"
	"image/color"

	"kitwright/internal/icc"
	"kitwright/lab"
)

// packed is a picture whose pixels lie in a row, each of a few numbers of 8 or
// 16 bits, as TIFF and BMP store them.
type packed struct {
	dims
	pix    []byte
	stride int
	n      int // numbers of a pixel
	colors int // of them, the first are colors: 1, 3, or 4 inks, the largest number being full ink
	alpha  int // which of them is the opacity; 0 = none
	premul bool
	deep   bool // 16 bits
	order  binary.ByteOrder
}

func (p *packed) Bounds() image.Rectangle { return image.Rect(0, 0, p.w, p.h) }

// ColorModel tells only how deep the picture is, and At nothing: nobody asks
// for single pixels.
func (p *packed) ColorModel() color.Model {
	if p.deep {
		return color.NRGBA64Model
	}
	return color.NRGBAModel
}
func (p *packed) At(x, y int) color.Color { return color.Black }

func (p *packed) channels() int { return p.colors }

// light shows the picture with the colors of a space.
func (p *packed) light(s *space, _ *lumaMatrix) pixels {
	l := &packedLight{dims: p.dims, p: p, lut: s.lut}
	switch {
	case s.lut != nil:
	case p.deep:
		l.deep = s.curves.deep()
	default:
		l.eight = s.curves.eight
	}
	return l
}

type packedLight struct {
	dims
	p     *packed
	lut   *icc.Table
	eight [3]*[256]uint32
	deep  [3][]uint32
}

// full is the largest number.
func (p *packed) full() uint32 {
	if p.deep {
		return 65535
	}
	return 255
}

// pixel reads the numbers of one pixel from the front of row.
func (p *packed) pixel(row []byte) (v [4]uint32, a uint32) {
	a = p.full()
	for i := range p.colors {
		if p.deep {
			v[i] = uint32(p.order.Uint16(row[2*i:]))
		} else {
			v[i] = uint32(row[i])
		}
	}
	if p.alpha > 0 {
		if p.deep {
			a = uint32(p.order.Uint16(row[2*p.alpha:]))
		} else {
			a = uint32(row[p.alpha])
		}
	}
	if p.premul && a > 0 && a < p.full() {
		for i := range p.colors {
			v[i] = min(p.full(), (v[i]*p.full()+a/2)/a)
		}
	}
	return v, a
}

func (l *packedLight) line(y, x0, x1 int, out []light) {
	p := l.p
	step := p.n
	if p.deep {
		step *= 2
	}
	row := p.pix[y*p.stride+step*x0:]
	var last [4]uint32
	var made light
	known := false
	for i := range out[:x1-x0] {
		v, a := p.pixel(row[i*step:])
		if !known || v != last {
			made, last, known = l.of(v), v, true
		}
		switch {
		case a == 0:
			out[i] = light{lab.LinearOne, lab.LinearOne, lab.LinearOne}
		default:
			out[i] = over(made, uint64(a), uint64(p.full()))
		}
	}
}

// of is the light of one pixel's numbers.
func (l *packedLight) of(v [4]uint32) (out light) {
	p := l.p
	switch {
	case l.lut != nil:
		full := float64(p.full())
		return quanta(l.lut.Light([4]float64{float64(v[0]) / full, float64(v[1]) / full, float64(v[2]) / full, float64(v[3]) / full}))
	case p.colors == 4:
		k := uint64(p.full() - v[3])
		for c := range 3 {
			v[c] = uint32((uint64(p.full()-v[c])*k + uint64(p.full())/2) / uint64(p.full()))
		}
	case p.colors == 1:
		v[1], v[2] = v[0], v[0]
	}
	for c := range out {
		if p.deep {
			out[c] = l.deep[c][v[c]]
		} else {
			out[c] = l.eight[c][v[c]]
		}
	}
	return out
}

func (l *packedLight) alpha(y, x0, x1 int, out []light) {
	p := l.p
	step := p.n
	if p.deep {
		step *= 2
	}
	row := p.pix[y*p.stride+step*x0:]
	for i := range out[:x1-x0] {
		_, a := p.pixel(row[i*step:])
		out[i] = light{share(uint64(a), uint64(p.full()))}
	}
}
