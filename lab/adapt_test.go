package lab

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// The matrix D50 to D65 by Bradford, as published by B. Lindbloom ("Chromatic
// adaptation": 0.9555766 -0.0230393 0.0631636, -0.0282895 1.0099416 0.0210077,
// 0.0122982 -0.0204830 1.3299098), from memory; its columns are what Adapt
// makes of the three unit vectors.
func TestAdaptIsThePublishedMatrix(t *testing.T) {
	want := [3][3]float64{
		{0.9555766, -0.0230393, 0.0631636},
		{-0.0282895, 1.0099416, 0.0210077},
		{0.0122982, -0.0204830, 1.3299098},
	}
	for j := range 3 {
		var unit [3]float64
		unit[j] = 1
		got := Adapt(unit, D50)
		for i := range 3 {
			assert.InDelta(t, want[i][j], got[i], 2e-6, "row %d column %d", i, j)
		}
	}
}

// White stays white, and what is relative to D65 already stays as it is.
func TestRelative(t *testing.T) {
	w := Relative(100, 0, 0, D50)
	assert.InDelta(t, 100, w.L, 1e-9)
	assert.InDelta(t, 0, w.A, 1e-9)
	assert.InDelta(t, 0, w.B, 1e-9)
	assert.Equal(t, Color{50, 10, -20}, Relative(50, 10, -20, White))
}
