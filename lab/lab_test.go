package lab

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// Lab values of sRGB primaries, D65, as B. Lindbloom's color calculator
// publishes them to four decimals (values from memory, equal to those of
// scikit-image's rgb2lab within 0.02, whose white differs in the fifth digit).
func TestFromSRGBPublishedValues(t *testing.T) {
	for _, c := range []struct {
		rgb  [3]uint8
		want Color
	}{
		{[3]uint8{255, 255, 255}, Color{100, 0, 0}},
		{[3]uint8{0, 0, 0}, Color{0, 0, 0}},
		{[3]uint8{255, 0, 0}, Color{53.2408, 80.0925, 67.2032}},
		{[3]uint8{0, 255, 0}, Color{87.7347, -86.1827, 83.1793}},
		{[3]uint8{0, 0, 255}, Color{32.2970, 79.1875, -107.8602}},
		{[3]uint8{119, 119, 119}, Color{50.0344, 0, 0}},
	} {
		got := FromSRGB(c.rgb)
		assert.InDelta(t, c.want.L, got.L, 2e-3, "L of %v", c.rgb)
		assert.InDelta(t, c.want.A, got.A, 2e-3, "a of %v", c.rgb)
		assert.InDelta(t, c.want.B, got.B, 2e-3, "b of %v", c.rgb)
	}
}

func TestGraysHaveNoChromaInAGrid(t *testing.T) {
	for v := 0; v < 256; v++ {
		got := FromSRGB([3]uint8{uint8(v), uint8(v), uint8(v)}).Round()
		assert.Zero(t, got.A, "a of gray %d", v)
		assert.Zero(t, got.B, "b of gray %d", v)
	}
}

func TestSRGBThereAndBack(t *testing.T) {
	for r := 0; r < 256; r += 5 {
		for g := 0; g < 256; g += 15 {
			for b := 0; b < 256; b += 5 {
				want := [3]uint8{uint8(r), uint8(g), uint8(b)}
				got, inside := FromSRGB(want).SRGB()
				if got != want || !inside {
					t.Fatalf("%v came back as %v, inside %v", want, got, inside)
				}
			}
		}
	}
	_, inside := Color{50, 120, 0}.SRGB()
	assert.False(t, inside)
}
