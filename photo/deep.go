package photo

import (
	"image"
	"math"

	"kitwright/internal/heif"
	"kitwright/lab"
)

// deepYCC is a picture of luma and two color differences with more than 8 bits
// a number, as phones write HEIC and AVIF in ten bits.
type deepYCC struct {
	dims
	m     *heif.Deep
	curve [3][]uint32

	// A channel is (luma*gain + differences*weight + start) >> deepShift, from
	// 0 to 65535, in integers: the formulas of ITU-T H.273, section 8.3.
	gain, start        int64
	rCr, gCb, gCr, bCb int64
	mid                int64
}

const deepShift = 24

func newDeepYCC(m *heif.Deep, c curves) *deepYCC {
	top := float64(int(1)<<m.Bits - 1)
	gain, low, chroma := 1/top, 0.0, 1/top
	if m.Video {
		step := float64(int(1) << (m.Bits - 8))
		gain, low, chroma = 1/(219*step), 16*step, 1/(224*step)
	}
	const one = 65535 * (1 << deepShift)
	whole := func(v float64) int64 { return int64(math.Round(v * one)) }
	kg := 1 - m.Kr - m.Kb
	return &deepYCC{
		dims: sized(m), m: m, curve: c.deep(),
		gain: whole(gain), start: -whole(float64(gain*low)) + 1<<(deepShift-1),
		rCr: whole(2 * (1 - m.Kr) * chroma), bCb: whole(2 * (1 - m.Kb) * chroma),
		gCb: whole(-2 * (1 - m.Kb) * m.Kb / kg * chroma), gCr: whole(-2 * (1 - m.Kr) * m.Kr / kg * chroma),
		mid: 1 << (m.Bits - 1),
	}
}

func (p *deepYCC) line(y, x0, x1 int, out []light) {
	at := p.m.Rect.Min.Add(image.Pt(x0, y))
	luma := p.m.Y[at.Y*p.m.YStride+at.X:][:x1-x0]
	out = out[:len(luma)]
	within := func(v int64) int64 { return min(max(v>>deepShift, 0), 65535) }
	for i, v := range luma {
		c := p.m.COffset(at.X+i, at.Y)
		l := int64(v)*p.gain + p.start
		b, r := int64(p.m.Cb[c])-p.mid, int64(p.m.Cr[c])-p.mid
		out[i] = light{
			p.curve[0][within(l+r*p.rCr)],
			p.curve[1][within(l+b*p.gCb+r*p.gCr)],
			p.curve[2][within(l+b*p.bCb)],
		}
	}
	if p.m.A == nil {
		return
	}
	top := uint64(1)<<p.m.Bits - 1
	for i, a := range p.opacity(y, x0, x1) {
		out[i] = over(out[i], uint64(a), top)
	}
}

func (p *deepYCC) alpha(y, x0, x1 int, out []light) {
	if p.m.A == nil {
		for i := range out[:x1-x0] {
			out[i] = light{lab.LinearOne}
		}
		return
	}
	top := uint64(1)<<p.m.Bits - 1
	for i, a := range p.opacity(y, x0, x1) {
		out[i] = light{share(uint64(a), top)}
	}
}

func (p *deepYCC) opacity(y, x0, x1 int) []uint16 {
	at := p.m.Rect.Min.Add(image.Pt(x0, y))
	return p.m.A[at.Y*p.m.YStride+at.X:][:x1-x0]
}
