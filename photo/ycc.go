package photo

import (
	"image"

	"kitwright/lab"
)

// lumaMatrix says how luma and two color differences become red, green and blue, in
// integers: channel = (y[Y] + sum of the tables of Cb and Cr) >> shift.
type lumaMatrix struct {
	y, rCr, gCb, gCr, bCb [256]int32
	shift                 uint
	smooth                bool // color differences run smoothly from pixel to pixel
}

// jpegRange is full-range BT.601 as JFIF has it (ITU-T T.871, section 7:
// R = Y + 1.402 Cr, G = Y - 0.344136 Cb - 0.714136 Cr, B = Y + 1.772 Cb), in
// units of 2^-16 and rounded, as common JPEG libraries do it.
var jpegRange = newLumaMatrix(0.299, 0.114, false)

// newLumaMatrix returns the integers for a matrix with the luma weights kr and kb,
// for full-range numbers or for the video range: luma 16 to 235, differences 16
// to 240 (ITU-T H.273, section 8.3).
func newLumaMatrix(kr, kb float64, video bool) *lumaMatrix {
	const one = 1 << 16
	gain, offset, chroma := 1.0, 0.0, 1.0
	if video {
		gain, offset, chroma = 255.0/219, 16, 255.0/224
	}
	kg := 1 - kr - kb
	t := &lumaMatrix{shift: 16}
	for i := range 256 {
		c := (float64(i) - 128) * chroma
		t.y[i] = round32((float64(i)-offset)*gain*one) + one/2
		t.rCr[i] = round32(2 * (1 - kr) * c * one)
		t.bCb[i] = round32(2 * (1 - kb) * c * one)
		t.gCb[i] = round32(-2 * (1 - kb) * kb / kg * c * one)
		t.gCr[i] = round32(-2 * (1 - kr) * kr / kg * c * one)
	}
	return t
}

// webpRange is video-range BT.601 in the integers of the reference decoder
// (libwebp, src/dsp/yuv.h, VP8YUVToR and its sisters), with the color
// differences smoothed as that decoder does it unless told otherwise: it gives
// the very numbers of `dwebp`. The Go library hands lossy WebP out as if it
// were full range, which looks washed out.
var webpRange = func() *lumaMatrix {
	t := &lumaMatrix{shift: 6, smooth: true}
	for i := range 256 {
		v := int32(i)
		t.y[i] = v * 19077 >> 8
		t.rCr[i] = v*26149>>8 - 14234
		t.gCb[i] = -(v * 6419 >> 8)
		t.gCr[i] = -(v * 13320 >> 8) + 8708
		t.bCb[i] = v*33050>>8 - 17685
	}
	return t
}()

func round32(v float64) int32 {
	if v < 0 {
		return -int32(0.5 - float64(v)) // v may be a product
	}
	return int32(float64(v) + 0.5)
}

// ycc is a picture of luma and two color differences, as JPEG and WebP store
// it, read straight from its planes.
type ycc struct {
	dims
	m       *image.YCbCr
	a       []byte // opacity plane; nil = opaque
	aStride int
	matrix  *lumaMatrix
	half    bool // two neighbors in a row share their color differences
	curve   [3][1024]uint32
}

// The tables of a ycc take numbers from -ccLow to 1023-ccLow: what a matrix
// makes of extreme differences, clamped to 0..255 inside the table.
const ccLow = 384

func newYCC(m *image.YCbCr, a []byte, aStride int, k *lumaMatrix, c curves) *ycc {
	p := &ycc{dims: sized(m), m: m, a: a, aStride: aStride, matrix: k}
	p.half = (m.SubsampleRatio == image.YCbCrSubsampleRatio420 || m.SubsampleRatio == image.YCbCrSubsampleRatio422) && m.Rect.Min.X%2 == 0
	for ch := range p.curve {
		for i := range p.curve[ch] {
			p.curve[ch][i] = c.eight[ch][min(max(i-ccLow, 0), 255)]
		}
	}
	return p
}

func (p *ycc) line(y, x0, x1 int, out []light) {
	at := p.m.Rect.Min.Add(image.Pt(x0, y))
	luma := p.m.Y[p.m.YOffset(at.X, at.Y):]
	luma = luma[:x1-x0]
	out = out[:len(luma)]
	chroma := p.m.COffset(at.X, at.Y)
	if p.matrix.smooth && p.m.SubsampleRatio == image.YCbCrSubsampleRatio420 {
		p.smoothLine(y, x0, luma, out)
	} else if p.half {
		p.pairs(luma, p.m.Cb[chroma:], p.m.Cr[chroma:], x0&1, out)
	} else {
		for i, v := range luma {
			c := p.m.COffset(at.X+i, at.Y)
			out[i] = p.at(v, p.m.Cb[c], p.m.Cr[c])
		}
	}
	if p.a == nil {
		return
	}
	for i, a := range p.a[y*p.aStride+x0 : y*p.aStride+x1] {
		out[i] = over(out[i], uint64(a), 255)
	}
}

func (p *ycc) alpha(y, x0, x1 int, out []light) {
	if p.a == nil {
		for i := range out[:x1-x0] {
			out[i] = light{lab.LinearOne}
		}
		return
	}
	for i, a := range p.a[y*p.aStride+x0 : y*p.aStride+x1] {
		out[i] = light{share(uint64(a), 255)}
	}
}

func (p *ycc) at(y, cb, cr byte) light {
	k := p.matrix
	v := k.y[y]
	return light{
		p.curve[0][((v+k.rCr[cr])>>k.shift+ccLow)&1023],
		p.curve[1][((v+k.gCb[cb]+k.gCr[cr])>>k.shift+ccLow)&1023],
		p.curve[2][((v+k.bCb[cb])>>k.shift+ccLow)&1023],
	}
}

// pairs is the quick way for rows whose color differences are stored once for
// two pixels; odd is 1 when the row starts with the second of a pair.
func (p *ycc) pairs(luma, cb, cr []byte, odd int, out []light) {
	k := p.matrix
	r, g, b := &p.curve[0], &p.curve[1], &p.curve[2]
	shift := k.shift & 31
	n := len(luma)
	i := 0
	if odd == 1 && n > 0 {
		out[0] = p.at(luma[0], cb[0], cr[0])
		cb, cr = cb[1:], cr[1:]
		i = 1
	}
	for c := 0; i+1 < n; i, c = i+2, c+1 {
		vr, vg, vb := k.rCr[cr[c]], k.gCb[cb[c]]+k.gCr[cr[c]], k.bCb[cb[c]]
		y := k.y[luma[i]]
		out[i] = light{r[((y+vr)>>shift+ccLow)&1023], g[((y+vg)>>shift+ccLow)&1023], b[((y+vb)>>shift+ccLow)&1023]}
		y = k.y[luma[i+1]]
		out[i+1] = light{r[((y+vr)>>shift+ccLow)&1023], g[((y+vg)>>shift+ccLow)&1023], b[((y+vb)>>shift+ccLow)&1023]}
	}
	if i < n {
		out[i] = p.at(luma[i], cb[i/2], cr[i/2])
	}
}

// smoothLine is a row whose color differences, one for 2 x 2 pixels, run
// smoothly: each pixel takes 9, 3, 3 and 1 parts of the four nearest, rounded
// as libwebp does it (src/dsp/upsampling.c, UpsampleLinePair).
func (p *ycc) smoothLine(y, x0 int, luma []byte, out []light) {
	w, h := p.w, p.h
	// The row of differences that this row lies in, and its neighbor.
	near := y / 2
	far := near - 1 + 2*(y&1)
	far = min(max(far, 0), (h+1)/2-1)
	cols := (w + 1) / 2
	row := func(plane []byte, r int) []byte { return plane[r*p.m.CStride:][:cols] }
	bn, bf := row(p.m.Cb, near), row(p.m.Cb, far)
	rn, rf := row(p.m.Cr, near), row(p.m.Cr, far)
	for i, v := range luma {
		x := x0 + i
		out[i] = p.at(v, smoothed(bn, bf, x, cols), smoothed(rn, rf, x, cols))
	}
}

// smoothed is the color difference at pixel x between two rows of them.
func smoothed(near, far []byte, x, cols int) byte {
	if x == 0 || x == 2*cols-1 {
		return byte((3*int(near[x/2]) + int(far[x/2]) + 2) >> 2)
	}
	i := (x + 1) / 2
	a, b, c, d := int(near[i-1]), int(near[i]), int(far[i-1]), int(far[i])
	all := a + b + c + d + 8
	if x&1 == 1 {
		return byte(((all+2*(b+c))>>3 + a) >> 1)
	}
	return byte(((all+2*(a+d))>>3 + b) >> 1)
}
