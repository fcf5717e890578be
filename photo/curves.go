package photo

import (
	"math"
	"sync"

	"kitwright/lab"
)

// light is a pixel of linear light in the three channels of the file's own
// color space, lab.LinearOne being full light.
type light [3]uint32

// curves turn the numbers of a file into linear light: one curve for each
// channel. Between the two ends they are read from tables of integers, so that
// every machine gets the same light.
type curves struct {
	eight [3]*[256]uint32
	// deep returns the curves for 16-bit numbers, 65536 entries each. They are
	// big, so they are made when a deep picture asks for them.
	deep func() [3][]uint32
}

// newCurves makes the tables of three functions from 0..1 to 0..1.
func newCurves(f [3]func(float64) float64) curves {
	var c curves
	for i := range f {
		c.eight[i] = new([256]uint32)
		for v := range c.eight[i] {
			c.eight[i][v] = quantum(f[i](float64(v) / 255))
		}
	}
	c.deep = sync.OnceValue(func() (t [3][]uint32) {
		for i := range f {
			t[i] = make([]uint32, 65536)
			for v := range t[i] {
				t[i][v] = quantum(f[i](float64(v) / 65535))
			}
		}
		return t
	})
	return c
}

// quantum rounds light to whole units, within 0 and full light.
func quantum(v float64) uint32 {
	if !(v > 0) { // NaN counts as no light
		return 0
	}
	return uint32(math.Round(math.Min(v, 1) * lab.LinearOne))
}

// srgb are the curves of sRGB: lab.Linear, and the same function for 16 bits.
var srgb = curves{
	eight: [3]*[256]uint32{&lab.Linear, &lab.Linear, &lab.Linear},
	deep: sync.OnceValue(func() [3][]uint32 {
		t := make([]uint32, 65536)
		for v := range t {
			t[v] = quantum(lab.Decode(float64(v) / 65535))
		}
		return [3][]uint32{t, t, t}
	}),
}

// matrix turns a column of three numbers into another, row by row.
type matrix [9]float64

func (m *matrix) times(v [3]float64) [3]float64 {
	var out [3]float64
	for i := range out {
		out[i] = float64(m[3*i]*v[0]) + float64(m[3*i+1]*v[1]) + float64(m[3*i+2]*v[2])
	}
	return out
}

// mul returns the matrix that does n first and then m.
func (m *matrix) mul(n *matrix) *matrix {
	var out matrix
	for i := range 3 {
		for j := range 3 {
			out[3*i+j] = float64(m[3*i]*n[j]) + float64(m[3*i+1]*n[3+j]) + float64(m[3*i+2]*n[6+j])
		}
	}
	return &out
}
