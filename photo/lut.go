package photo

import (
	"math"

	"kitwright/lab"
)

// lut is a profile made of tables: curves, a cube of samples, curves, and for
// some a matrix in between (ICC.1:2022, 10.10 lut16Type, 10.11 lut8Type, 10.12
// lutAToBType). Presses, scanners and papers have such profiles.
type lut struct {
	in, out int // channels: 3 or 4 in, 3 out
	before  []func(float64) float64
	grid    []int     // samples along each input; nil = no cube
	cube    []float64 // 0..1, the last input running fastest, out values each
	middle  []func(float64) float64
	matrix  *matrix // with offset, between middle and after
	offset  [3]float64
	after   []func(float64) float64
	xyz     bool                                 // the connection space is XYZ, otherwise Lab
	encoded func(v [3]float64) (l, a, b float64) // how Lab is packed in 0..1
}

// light returns device numbers, 0..1, as XYZ relative to D50.
func (l *lut) light(v [4]float64) [3]float64 {
	for i, f := range l.before {
		v[i] = f(v[i])
	}
	var o [3]float64
	switch {
	case l.grid == nil:
		o = [3]float64{v[0], v[1], v[2]}
	case l.in == 3:
		o = l.tetrahedron(0, 0, v[0], v[1], v[2])
	default:
		// Straight along the first ink, as Little CMS does it.
		first, part := cell(v[0], l.grid[0])
		step := l.grid[1] * l.grid[2] * l.grid[3] * l.out
		lo := l.tetrahedron(1, first*step, v[1], v[2], v[3])
		if part > 0 {
			hi := l.tetrahedron(1, (first+1)*step, v[1], v[2], v[3])
			for c := range lo {
				lo[c] += float64(part * (hi[c] - lo[c]))
			}
		}
		o = lo
	}
	for i, f := range l.middle {
		o[i] = f(o[i])
	}
	if l.matrix != nil {
		o = l.matrix.times(o)
		for i := range o {
			o[i] += l.offset[i]
		}
	}
	for i, f := range l.after {
		o[i] = f(clamp01(o[i]))
	}
	if l.xyz {
		const scale = 1 + 32767.0/32768
		return [3]float64{o[0] * scale, o[1] * scale, o[2] * scale}
	}
	L, a, b := l.encoded(o)
	fy := (L + 16) / 116
	return [3]float64{d50[0] * unlab(fy+a/500), unlab(fy), d50[2] * unlab(fy-b/200)}
}

// unlab is the inverse of the cube root of CIE Lab and its straight foot.
func unlab(t float64) float64 {
	if t <= 6.0/29 {
		return math.Max(0, 108.0/841*(t-4.0/29))
	}
	return t * t * t
}

// cell returns the sample below a place on an axis, and how far behind it the
// place lies, 0 to 1.
func cell(v float64, samples int) (int, float64) {
	at := float64(clamp01(v) * float64(samples-1))
	i := int(at)
	return i, at - float64(i)
}

// tetrahedron interpolates between four corners of a cell of the cube, along
// three axes from the one numbered axis (Kasson, Nin, Plouffe and Hafner 1995,
// J. Electronic Imaging 4(3), 226: the cell is cut into six tetrahedra).
func (l *lut) tetrahedron(axis, base int, x, y, z float64) (out [3]float64) {
	gy, gz := l.grid[axis+1], l.grid[axis+2]
	ix, fx := cell(x, l.grid[axis])
	iy, fy := cell(y, gy)
	iz, fz := cell(z, gz)
	dx, dy, dz := gy*gz*l.out, gz*l.out, l.out
	at := base + ix*dx + iy*dy + iz*dz
	if fx == 0 {
		dx = 0
	}
	if fy == 0 {
		dy = 0
	}
	if fz == 0 {
		dz = 0
	}
	// Walk along the axis with the largest part first.
	d, f := [3]int{dx, dy, dz}, [3]float64{fx, fy, fz}
	if f[0] < f[1] {
		d[0], d[1], f[0], f[1] = d[1], d[0], f[1], f[0]
	}
	if f[1] < f[2] {
		d[1], d[2], f[1], f[2] = d[2], d[1], f[2], f[1]
	}
	if f[0] < f[1] {
		d[0], d[1], f[0], f[1] = d[1], d[0], f[1], f[0]
	}
	copy(out[:], l.cube[at:at+3])
	for i := range d {
		next := at + d[i]
		for c := range out {
			out[c] += float64(f[i] * (l.cube[next+c] - l.cube[at+c]))
		}
		at = next
	}
	return out
}

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
	lut *lut
}

// straight are the curves that change nothing.
func straight() curves { return newCurves(same3(func(v float64) float64 { return v })) }

func (p *throughLUT) line(y, x0, x1 int, out []light) {
	p.pixels.line(y, x0, x1, out)
	var last, made light
	for i, v := range out[:x1-x0] {
		if i == 0 || v != last {
			last = v
			made = quanta(p.lut.light([4]float64{float64(v[0]) / lab.LinearOne, float64(v[1]) / lab.LinearOne, float64(v[2]) / lab.LinearOne}))
		}
		out[i] = made
	}
}

func (p *throughLUT) alpha(y, x0, x1 int, out []light) { opacity{p.pixels}.line(y, x0, x1, out) }

// bytes is the light of up to four 8-bit numbers.
func (l *lut) bytes(v [4]byte) light {
	return quanta(l.light([4]float64{float64(v[0]) / 255, float64(v[1]) / 255, float64(v[2]) / 255, float64(v[3]) / 255}))
}
