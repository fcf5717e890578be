package lab

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestLightness(t *testing.T) {
	for l := 0.0; l <= 100; l += 0.5 {
		y := Lit(l)
		assert.InDelta(t, l, Lightness(y), 1e-12)
		assert.InDelta(t, l, FromXYZ(y*White[0], y, y*White[2]).L, 1e-9)
	}
	// Middle gray: 18.42 percent is L* 50 (CIE 15; every handbook).
	assert.InDelta(t, 50, Lightness(0.18418651851), 1e-8)
}
