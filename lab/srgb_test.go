package lab

import (
	"math"
	"testing"

	"github.com/lucasb-eyer/go-colorful"
	"github.com/stretchr/testify/assert"
)

// Against go-colorful's conversion, an implementation of its own.
func TestTransferFunction(t *testing.T) {
	for i := range 1001 {
		v := float64(i) / 1000
		r, _, _ := colorful.Color{R: v, G: v, B: v}.LinearRgb()
		assert.InDelta(t, r, Decode(v), 1e-12)
		assert.InDelta(t, v, Encode(Decode(v)), 2e-8) // the two pieces of the standard meet within this
	}
	assert.InDelta(t, -12.92*.1, Encode(-.1), 1e-12)
}

func TestMatrices(t *testing.T) {
	for i, row := range RGBToXYZ {
		assert.InDelta(t, White[i], row[0]+row[1]+row[2], 2e-7)
		for j := range 3 {
			want := 0.0
			if i == j {
				want = 1
			}
			assert.InDelta(t, want, times(RGBToXYZ, [3]float64{XYZToRGB[0][j], XYZToRGB[1][j], XYZToRGB[2][j]})[i], 1e-12)
		}
	}
	// The inverse as printed by B. Lindbloom ("RGB/XYZ matrices", sRGB, D65).
	for i, row := range [3][3]float64{{3.2404542, -1.5371385, -0.4985314}, {-0.9692660, 1.8760108, 0.0415560}, {0.0556434, -0.2040259, 1.0572252}} {
		for j, v := range row {
			assert.InDelta(t, v, XYZToRGB[i][j], 1e-6)
		}
	}
	assert.InDelta(t, 1, Luminance([3]float64{1, 1, 1}), 2e-7)
	assert.InDelta(t, .7151522, Luminance([3]float64{0, 1, 0}), 1e-12)
}

func TestGaussian(t *testing.T) {
	k := Gaussian(1.5, 6)
	sum := k[0]
	for i, w := range k {
		assert.InDelta(t, math.Exp(-float64(i*i)/4.5), w/k[0], 1e-12)
		if i > 0 {
			sum += 2 * w
		}
	}
	assert.InDelta(t, 1, sum, 1e-12)
	assert.Equal(t, []float64{1}, Gaussian(.7, 0))
}
