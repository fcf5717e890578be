package heif

import (
	"image"
	"image/color"
	"math"
)

// Deep is a picture of luma and two color differences with more than 8 bits a
// number.
type Deep struct {
	Rect             image.Rectangle
	Ratio            image.YCbCrSubsampleRatio
	Bits             int      // of a number, 9 to 16
	Y, Cb, Cr        []uint16 // row by row
	A                []uint16 // opacity, or nil for opaque; as Y
	YStride, CStride int
	Kr, Kb           float64 // luma weights of red and blue
	Video            bool    // luma from 16 to 235, times 2 for each bit over 8
}

// ColorModel is that of 16 bits a channel.
func (d *Deep) ColorModel() color.Model { return color.NRGBA64Model }

// Bounds returns the part of the planes that is shown.
func (d *Deep) Bounds() image.Rectangle { return d.Rect }

// SubImage returns a part of the picture, sharing its planes.
func (d *Deep) SubImage(r image.Rectangle) image.Image {
	part := *d
	part.Rect = r.Intersect(d.Rect)
	return &part
}

// COffset returns the place of the color differences of a pixel.
func (d *Deep) COffset(x, y int) int {
	if d.Ratio != image.YCbCrSubsampleRatio444 {
		x /= 2
	}
	if d.Ratio == image.YCbCrSubsampleRatio420 {
		y /= 2
	}
	return y*d.CStride + x
}

// At returns one pixel, by the formulas of ITU-T H.273, section 8.3.
func (d *Deep) At(x, y int) color.Color {
	i, c := y*d.YStride+x, d.COffset(x, y)
	top := float64(int(1)<<d.Bits - 1)
	v := lumaToRGB(float64(d.Y[i]), float64(d.Cb[c]), float64(d.Cr[c]), d.Bits, d.Kr, d.Kb, d.Video)
	out := color.NRGBA64{word(v[0]), word(v[1]), word(v[2]), 65535}
	if d.A != nil {
		out.A = word(float64(d.A[i]) / top)
	}
	return out
}

// lumaToRGB returns red, green and blue, 1 being full, not clipped.
func lumaToRGB(y, cb, cr float64, bits int, kr, kb float64, video bool) [3]float64 {
	l, b, r := ranged(y, cb, cr, bits, video)
	red, blue := l+float64(2*(1-kr)*r), l+float64(2*(1-kb)*b)
	return [3]float64{red, (l - float64(kr*red) - float64(kb*blue)) / (1 - kr - kb), blue}
}

// ranged takes the range off: luma from 0 to 1, differences from -1/2 to 1/2.
func ranged(y, cb, cr float64, bits int, video bool) (l, b, r float64) {
	top, mid := float64(int(1)<<bits-1), float64(int(1)<<(bits-1))
	if !video {
		return y / top, (cb - mid) / top, (cr - mid) / top
	}
	step := float64(int(1) << (bits - 8))
	return (y/step - 16) / 219, (cb - mid) / step / 224, (cr - mid) / step / 224
}

func word(v float64) uint16 { return uint16(math.Round(65535 * math.Max(0, math.Min(1, v)))) }

// rgb makes 16 bits of red, green and blue out of planes: for the files that
// store these three themselves (in the order green, blue, red), or YCgCo, or
// colors that were multiplied by their opacity. Rare enough for floating point.
func (f *File) rgb(m *mosaic, matrix int) (*Picture, error) {
	if matrix == identity && m.ratio != image.YCbCrSubsampleRatio444 {
		return nil, ErrKind("stores its colors in a rare way")
	}
	kr, kb := 0.0, 0.0
	if matrix != identity && matrix != yCgCo {
		var err error
		if kr, kb, err = lumaWeights(matrix); err != nil {
			return nil, err
		}
	}
	number := func(c, i int) float64 {
		if m.depth == 8 {
			return float64(m.flat[c][i])
		}
		return float64(m.deep[c][i])
	}
	opaque := m.a == nil && m.aDeep == nil
	nrgba := image.NewNRGBA64(image.Rect(0, 0, m.w, m.h))
	at := &Deep{Ratio: m.ratio, CStride: m.cw}
	mid := float64(int(1) << (m.depth - 1))
	for y := range m.h {
		for x := range m.w {
			i, c := y*m.w+x, at.COffset(x, y)
			var v [3]float64
			switch matrix {
			case identity:
				g, _, _ := ranged(number(0, i), mid, mid, m.depth, f.video)
				b, _, _ := ranged(number(1, c), mid, mid, m.depth, f.video)
				r, _, _ := ranged(number(2, c), mid, mid, m.depth, f.video)
				v = [3]float64{r, g, b}
			case yCgCo:
				l, cg, co := ranged(number(0, i), number(1, c), number(2, c), m.depth, f.video)
				v = [3]float64{l - cg + co, l + cg, l - cg - co}
			default:
				v = lumaToRGB(number(0, i), number(1, c), number(2, c), m.depth, kr, kb, f.video)
			}
			a := uint16(65535)
			switch {
			case m.a != nil:
				a = uint16(m.a[i]) * 257
			case m.aDeep != nil:
				a = word(float64(m.aDeep[i]) / float64(int(1)<<m.depth-1))
			}
			nrgba.SetNRGBA64(x, y, color.NRGBA64{R: word(v[0]), G: word(v[1]), B: word(v[2]), A: a})
		}
	}
	if !opaque && f.premultiplied {
		return &Picture{Image: &image.RGBA64{Pix: nrgba.Pix, Stride: nrgba.Stride, Rect: nrgba.Rect}}, nil
	}
	return &Picture{Image: nrgba}, nil
}
