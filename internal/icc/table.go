package icc

import (
	"encoding/binary"
	"math"
)

// Table is a way through a profile that is made of tables: curves, a cube of
// samples, curves, and for some a matrix in between (ICC.1:2022, 10.10
// lut16Type, 10.11 lut8Type, 10.12 lutAToBType, 10.13 lutBToAType). Presses,
// scanners and papers have such profiles.
type Table struct {
	In, Out int // channels, 3 or 4 of device numbers and 3 of the connection space
	stages  []func(v *[4]float64)
	xyz     bool // the connection space is XYZ, otherwise Lab
	back    bool // from the connection space
	old     bool // Lab packed as in 16-bit tables of version 2: 100 is 0xFF00
}

// D50 is the white of the connection space (ICC.1:2022, 7.2.16).
var D50 = [3]float64{0.9642, 1, 0.8249}

// Table reads an element such as "A2B1" or "B2A0", in so many channels, to so
// many.
func (p *Profile) Table(name string, in, out int) (*Table, error) {
	tag := p.tags[name]
	if len(tag) < 32 || int(tag[8]) != in || int(tag[9]) != out || in < 3 || in > 4 || out < 3 || out > 4 {
		return nil, ErrBroken
	}
	t := &Table{In: in, Out: out, back: name[0] == 'B'}
	switch p.PCS() {
	case "XYZ ":
		t.xyz = true
	case "Lab ":
	default:
		return nil, ErrBroken
	}
	var err error
	switch string(tag[:4]) {
	case "mft1":
		err = t.readTables(tag, 48, 256, 256, 1)
	case "mft2":
		t.old = true
		if len(tag) < 52 {
			return nil, ErrBroken
		}
		err = t.readTables(tag, 52, int(binary.BigEndian.Uint16(tag[48:])), int(binary.BigEndian.Uint16(tag[50:])), 2)
	case "mAB ":
		err = t.readStages(tag, false)
	case "mBA ":
		err = t.readStages(tag, true)
	default:
		err = ErrBroken
	}
	if err != nil {
		return nil, err
	}
	return t, nil
}

// Eval takes numbers of 0..1 through the table.
func (t *Table) Eval(v [4]float64) [4]float64 {
	for _, s := range t.stages {
		s(&v)
	}
	return v
}

// Light returns device numbers as XYZ relative to D50, through a table to the
// connection space.
func (t *Table) Light(v [4]float64) [3]float64 {
	o := t.Eval(v)
	if t.xyz {
		const scale = 1 + 32767.0/32768
		return [3]float64{o[0] * scale, o[1] * scale, o[2] * scale}
	}
	L, a, b := t.unpack(o)
	fy := (L + 16) / 116
	return [3]float64{D50[0] * unlab(fy+a/500), unlab(fy), D50[2] * unlab(fy-b/200)}
}

// Device returns XYZ relative to D50 as device numbers, through a table from
// the connection space.
func (t *Table) Device(xyz [3]float64) [4]float64 {
	if t.xyz {
		const scale = 1 + 32767.0/32768
		return t.Eval([4]float64{Clamp01(xyz[0] / scale), Clamp01(xyz[1] / scale), Clamp01(xyz[2] / scale)})
	}
	x, y, z := cubed(xyz[0]/D50[0]), cubed(xyz[1]), cubed(xyz[2]/D50[2])
	return t.Eval(t.pack(float64(116*y)-16, 500*(x-y), 200*(y-z)))
}

func (t *Table) unpack(o [4]float64) (l, a, b float64) {
	if t.old {
		return o[0] * 6553500 / 65280, float64(o[1]*65535/256) - 128, float64(o[2]*65535/256) - 128
	}
	return 100 * o[0], float64(255*o[1]) - 128, float64(255*o[2]) - 128
}

func (t *Table) pack(l, a, b float64) [4]float64 {
	if t.old {
		return [4]float64{Clamp01(l * 65280 / 6553500), Clamp01((a + 128) * 256 / 65535), Clamp01((b + 128) * 256 / 65535)}
	}
	return [4]float64{Clamp01(l / 100), Clamp01((a + 128) / 255), Clamp01((b + 128) / 255)}
}

// unlab is the inverse of the cube root of CIE Lab and its straight foot;
// cubed is that.
func unlab(t float64) float64 {
	if t <= 6.0/29 {
		return math.Max(0, 108.0/841*(t-4.0/29))
	}
	return t * t * t
}

func cubed(v float64) float64 {
	if v <= 216.0/24389 {
		return float64(841.0/108*v) + 4.0/29
	}
	return math.Cbrt(v)
}

// curves is the stage of one curve a channel.
func curves(f []func(float64) float64) func(v *[4]float64) {
	return func(v *[4]float64) {
		for i := range f {
			v[i] = f[i](v[i])
		}
	}
}

// clamped is curves of what may lie outside of 0..1.
func clamped(f []func(float64) float64) func(v *[4]float64) {
	return func(v *[4]float64) {
		for i := range f {
			v[i] = f[i](Clamp01(v[i]))
		}
	}
}

// linear is the stage of a matrix and an offset, read from twelve numbers.
func linear(b []byte, offset bool) func(v *[4]float64) {
	var m [9]float64
	var o [3]float64
	for i := range m {
		m[i] = Fixed16(b[4*i:])
	}
	for i := range o {
		if offset {
			o[i] = Fixed16(b[36+4*i:])
		}
	}
	return func(v *[4]float64) {
		a, b, c := v[0], v[1], v[2]
		for i := range 3 {
			v[i] = float64(m[3*i]*a) + float64(m[3*i+1]*b) + float64(m[3*i+2]*c)
			v[i] += o[i]
		}
	}
}

// readTables reads lut8 and lut16: tables of n and m entries before and behind
// the cube, size bytes a number.
func (t *Table) readTables(tag []byte, at, n, m, size int) error {
	g := int(tag[10])
	if n < 2 || m < 2 || n > 4096 || m > 4096 || g < 2 {
		return ErrBroken
	}
	var grid []int
	cells := t.Out
	for range t.In {
		grid = append(grid, g)
		if cells *= g; cells > MaxSize {
			return ErrBroken
		}
	}
	if len(tag) < at+size*(t.In*n+cells+t.Out*m) {
		return ErrBroken
	}
	if t.xyz && t.In == 3 { // the matrix counts where XYZ goes in
		t.stages = append(t.stages, linear(tag[12:48], false))
	}
	take := func(count int) []float64 {
		v := numbers(tag[at:], count, size)
		at += count * size
		return v
	}
	tables := func(channels, n int) (f []func(float64) float64) {
		for range channels {
			f = append(f, Tabled(take(n)))
		}
		return f
	}
	before := tables(t.In, n)
	c := &cube{in: t.In, out: t.Out, grid: grid, at: take(cells), even: t.back && !t.xyz}
	t.stages = append(t.stages, curves(before), c.stage, clamped(tables(t.Out, m)))
	return nil
}

func numbers(b []byte, count, size int) []float64 {
	v := make([]float64, count)
	for i := range v {
		if size == 1 {
			v[i] = float64(b[i]) / 255
		} else {
			v[i] = float64(binary.BigEndian.Uint16(b[2*i:])) / 65535
		}
	}
	return v
}

// readStages reads lutAToBType (A curves, cube, M curves, matrix, B curves) or,
// back, lutBToAType, the same from behind.
func (t *Table) readStages(tag []byte, back bool) (err error) {
	at := func(i int) int64 { return int64(binary.BigEndian.Uint32(tag[12+4*i:])) }
	read := func(start int64, n int) (f []func(float64) float64) {
		for range n {
			if err != nil || start > int64(len(tag)) {
				err = ErrBroken
				return nil
			}
			c, length, e := ParseCurve(tag[start:])
			if e != nil {
				err = e
				return nil
			}
			f = append(f, c)
			start += int64(length+3) &^ 3
		}
		return f
	}
	device, pcs := t.In, t.Out
	if back {
		device, pcs = pcs, device
	}
	if pcs != 3 {
		return ErrBroken
	}
	b, m, c, k, a := at(0), at(1), at(2), at(3), at(4)
	var stages []func(*[4]float64)
	if a != 0 {
		if f := read(a, device); back {
			stages = append(stages, clamped(f))
		} else {
			stages = append(stages, curves(f))
		}
	}
	if k != 0 {
		cube, e := t.readCube(tag, k)
		if e != nil {
			return e
		}
		stages = append(stages, cube.stage)
	} else if t.In != t.Out {
		return ErrBroken
	}
	if c != 0 {
		stages = append(stages, curves(read(c, pcs)))
	}
	if m != 0 && err == nil {
		if m+48 > int64(len(tag)) {
			return ErrBroken
		}
		stages = append(stages, linear(tag[m:m+48], true))
	}
	stages = append(stages, clamped(read(b, pcs)))
	if err != nil {
		return err
	}
	if back {
		for i, j := 0, len(stages)-1; i < j; i, j = i+1, j-1 {
			stages[i], stages[j] = stages[j], stages[i]
		}
	}
	t.stages = stages
	return nil
}

func (t *Table) readCube(tag []byte, k int64) (*cube, error) {
	if k+20 > int64(len(tag)) {
		return nil, ErrBroken
	}
	c := &cube{in: t.In, out: t.Out, even: t.back && !t.xyz}
	cells := t.Out
	for i := range t.In {
		g := int(tag[k+int64(i)])
		if g < 2 {
			return nil, ErrBroken
		}
		c.grid = append(c.grid, g)
		if cells *= g; cells > MaxSize {
			return nil, ErrBroken
		}
	}
	size := int(tag[k+16])
	if size != 1 && size != 2 || k+20+int64(size*cells) > int64(len(tag)) {
		return nil, ErrBroken
	}
	c.at = numbers(tag[k+20:], cells, size)
	return c, nil
}
