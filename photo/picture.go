package photo

import (
	"image"
	"math"

	"kitwright/lab"
)

// Picture returns a part of the photo for showing: upright, opaque, 8-bit
// sRGB, at most maxW x maxH pixels and never larger than the part itself.
// It is made smaller in linear light. Colors that sRGB cannot show are
// clipped.
func (p *Photo) Picture(crop Crop, maxW, maxH int) *image.NRGBA {
	win := p.window(crop)
	w, h := float64(win.w)/sub, float64(win.h)/sub
	scale := math.Min(1, math.Min(float64(max(maxW, 1))/w, float64(max(maxH, 1))/h))
	cols, rows := pixelsOf(w*scale), pixelsOf(h*scale)

	sw, sh := p.px.size()
	cw, ch := p.turn.size(cols, rows)
	stored := means(p.px, p.turn.window(win, sw, sh), cw, ch)
	m := image.NewNRGBA(image.Rect(0, 0, cw, ch))
	for i, c := range stored {
		if p.toRGB != nil {
			v := p.toRGB.times([3]float64{float64(c[0]) / lab.LinearOne, float64(c[1]) / lab.LinearOne, float64(c[2]) / lab.LinearOne})
			c = light{quantum(v[0]), quantum(v[1]), quantum(v[2])}
		}
		m.Pix[4*i] = srgbByte(c[0])
		m.Pix[4*i+1] = srgbByte(c[1])
		m.Pix[4*i+2] = srgbByte(c[2])
		m.Pix[4*i+3] = 255
	}
	return p.turn.image(m)
}

func pixelsOf(v float64) int { return max(1, int(math.Round(v))) }

// srgbByte returns the 8-bit sRGB number nearest to an amount of light.
func srgbByte(v uint32) byte { return srgbBytes[v>>8] }

// srgbBytes holds the answer for every 256 units of light, taken from their
// middle; the darkest two numbers are 5092 units apart.
var srgbBytes = func() (t [lab.LinearOne>>8 + 1]byte) {
	n := 0
	for i := range t {
		v := uint32(i)<<8 + 128
		for n < 255 && lab.Decode((float64(n)+0.5)/255)*lab.LinearOne < float64(v) {
			n++
		}
		t[i] = byte(n)
	}
	return t
}()

// Upto returns the whole photo as sRGB, reduced to a longer side of so many
// pixels where it has more, and by how much.
func (p *Photo) Upto(long int) (*image.NRGBA, float64) {
	w, h := p.Width, p.Height
	if is := max(w, h); is > long {
		w, h = w*long/is, h*long/is
	}
	img := p.Picture(p.Whole(), w, h)
	return img, float64(img.Bounds().Dx()) / float64(p.Width)
}
