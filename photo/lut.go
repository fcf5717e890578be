package photo

import (
	"math"

	"kitwright/internal/icc"
	"kitwright/lab"
)

// quanta rounds XYZ to units of light; nothing real is brighter than twice
// white.
func quanta(v [3]float64) (out light) {
	for i := range v {
		out[i] = uint32(math.Round(math.Min(math.Max(v[i], 0), 1.99) * lab.LinearOne))
	}
	return out
}

// throughLUT shows a picture of red, green and blue through a profile made of
// tables. What it builds on has straight curves: its light is the file's
// numbers.
type throughLUT struct {
	pixels
	lut *icc.Table
}

// straight are the curves that change nothing.
func straight() curves { return newCurves(same3(func(v float64) float64 { return v })) }

func (p *throughLUT) line(y, x0, x1 int, out []light) {
	p.pixels.line(y, x0, x1, out)
	var last, made light
	for i, v := range out[:x1-x0] {
		if i == 0 || v != last {
			last = v
			made = quanta(p.lut.Light([4]float64{float64(v[0]) / lab.LinearOne, float64(v[1]) / lab.LinearOne, float64(v[2]) / lab.LinearOne}))
		}
		out[i] = made
	}
}

func (p *throughLUT) alpha(y, x0, x1 int, out []light) { opacity{p.pixels}.line(y, x0, x1, out) }

// lightOf is the light of up to four 8-bit numbers.
func lightOf(l *icc.Table, v [4]byte) light {
	return quanta(l.Light([4]float64{float64(v[0]) / 255, float64(v[1]) / 255, float64(v[2]) / 255, float64(v[3]) / 255}))
}
