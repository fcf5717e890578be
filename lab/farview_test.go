package lab

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestCellsPerDegree(t *testing.T) {
	for _, c := range []struct{ pitch, distance, want float64 }{
		{2.5, 400, 2.79}, {2.5, 1000, 6.98}, {2.5, 2000, 13.963}, {2.5, 4000, 27.93}, {2.8, 2000, 12.47},
	} {
		assert.InDelta(t, c.want, CellsPerDegree(c.pitch, c.distance), 5e-3)
	}
}

// checkerPictures: sRGB 40,80,200 and 200,60,40 by turns, against the flat
// field of their linear mean.
func checkerPictures() (target, made *Grid) {
	target, made = NewGrid(16, 16), NewGrid(16, 16)
	colors := [2][3]uint8{{40, 80, 200}, {200, 60, 40}}
	var mean [3]float64
	for k := range mean {
		mean[k] = (float64(Linear[colors[0][k]]) + float64(Linear[colors[1][k]])) / 2 / LinearOne
	}
	for i := range made.Cells {
		made.Cells[i] = FromSRGB(colors[(i%16+i/16)%2])
		target.Cells[i] = FromLinear(mean[0], mean[1], mean[2])
	}
	return target, made
}

// dotPictures: one white cell on linear gray .2, against the gray alone.
func dotPictures() (target, made *Grid) {
	target, made = NewGrid(16, 16), NewGrid(16, 16)
	for i := range made.Cells {
		target.Cells[i] = FromLinear(.2, .2, .2)
		made.Cells[i] = target.Cells[i]
	}
	made.Cells[8*16+8] = FromLinear(1, 1, 1)
	return target, made
}

func deltaE76(a, b Color) float64 {
	return math.Sqrt((a.L-b.L)*(a.L-b.L) + (a.A-b.A)*(a.A-b.A) + (a.B-b.B)*(a.B-b.B))
}

func mean(v []float64) (m float64) {
	for _, x := range v {
		m += x / float64(len(v))
	}
	return m
}

// What the authors' own program gives for the two pictures, run in Octave 7
// (github.com/wandell/SCIELAB-1996 at cacbc97), with the difference of 1976. It
// interpolates between samples where we integrate over cells, and so differs
// by up to a few percent, more so where a cell is smaller than its kernel.
func TestFarViewAgainstTheAuthorsProgram(t *testing.T) {
	for _, c := range []struct {
		n                             float64
		checker, checkerAt, dot, next float64 // mean, cell (8,8), cell (8,8), cell (8,9)
		within, withinAt, withinDot   float64
	}{
		{6.98, 14.0418, 14.0064, 43.5180, 4.9635, .03, .03, .01},
		{13.963, 5.5968, 5.2597, 36.2211, 7.4912, .03, .035, .01},
		{27.93, 1.0701, 0.7516, 23.6882, 9.8287, .08, .15, .08},
	} {
		target, made := checkerPictures()
		d := NewFarView(target, c.n).compare(made, deltaE76)
		assert.InEpsilon(t, c.checker, mean(d), c.within, "checker at %v", c.n)
		assert.InEpsilon(t, c.checkerAt, d[8*16+8], c.withinAt, "checker cell at %v", c.n)
		target, made = dotPictures()
		d = NewFarView(target, c.n).compare(made, deltaE76)
		assert.InEpsilon(t, c.dot, d[8*16+8], c.withinDot, "dot at %v", c.n)
		assert.InEpsilon(t, c.next, d[9*16+8], .04, "beside the dot at %v", c.n)
	}
}

// The Gaussians themselves. Weights: as the authors' program has them
// (separableFilters.m of SCIELAB-1996), which are those of its older lines, as in
// the paper, made to sum to 1. Widths: what the program calls half widths are
// full widths at half height, and within 7 percent those of the paper's spreads.
func TestEyeAgainstTheAuthorsFilters(t *testing.T) {
	for i, channel := range [3]struct{ width, weight, older []float64 }{
		{[]float64{.05, .225, 7}, []float64{1.00327, .114416, -.117686}, []float64{.9207, .105, -.108}},
		{[]float64{.0685, .826}, []float64{.616725, .383275}, []float64{.531, .33}},
		{[]float64{.092, .6451}, []float64{.567885, .432115}, []float64{.4877, .3711}},
	} {
		require.Len(t, eye[i], len(channel.width))
		sum := 0.
		for _, w := range channel.older {
			sum += w
		}
		for j, g := range eye[i] {
			assert.InDelta(t, channel.weight[j], g.weight, 1e-6)
			assert.InDelta(t, channel.older[j]/sum, g.weight, 5e-4)
			assert.InEpsilon(t, channel.width[j], 2*math.Sqrt(2*math.Ln2)*g.sigma, .07, "channel %d, Gaussian %d", i, j)
		}
	}
}

// Our own values, so that a change shows: difference of 1976 and CIEDE2000.
func TestFarViewGolden(t *testing.T) {
	for _, c := range []struct {
		n                                                  float64
		checker, checkerAt, dot, next, checker00, dotDot00 float64
	}{
		{6.98, 13.8048, 13.7338, 43.4234, 5.1149, 7.5207, 33.1360},
		{13.963, 5.4375, 5.0852, 36.0355, 7.7210, 3.4521, 28.9025},
		{27.93, 0.9942, 0.6454, 23.1884, 9.8998, 0.5579, 20.4043},
	} {
		target, made := checkerPictures()
		far := NewFarView(target, c.n)
		d := far.compare(made, deltaE76)
		assert.InDelta(t, c.checker, mean(d), 3e-3, "checker at %v", c.n)
		assert.InDelta(t, c.checkerAt, d[8*16+8], 3e-3, "checker cell at %v", c.n)
		assert.InDelta(t, c.checker00, MeanMiss(far.Miss(made)), 3e-3, "checker, CIEDE2000, at %v", c.n)
		target, made = dotPictures()
		d = NewFarView(target, c.n).compare(made, deltaE76)
		assert.InDelta(t, c.dot, d[8*16+8], 3e-3, "dot at %v", c.n)
		assert.InDelta(t, c.next, d[9*16+8], 3e-3, "beside the dot at %v", c.n)
		assert.InDelta(t, c.dotDot00, FarMiss(target, made, c.n)[8*16+8], 3e-3, "dot, CIEDE2000, at %v", c.n)
	}
}

// A flat area is as different from afar as from near.
func TestFarViewOfFlatAreas(t *testing.T) {
	a, b := NewGrid(9, 5), NewGrid(9, 5)
	for i := range a.Cells {
		a.Cells[i], b.Cells[i] = Color{40, 10, -20}, Color{47, 2, 5}
	}
	for _, n := range []float64{1, 2.79, 14, 60} {
		for _, d := range FarMiss(a, b, n) {
			assert.InDelta(t, DeltaE(a.Cells[0], b.Cells[0]), d, 1e-4)
		}
		for _, c := range FarPicture(b, n).Cells {
			assert.InDelta(t, 0, deltaE76(b.Cells[0], c), 1e-3)
		}
	}
}

// Opposite hues side by side melt into one with distance, in the numbers and
// in the picture.
func TestFarPictureMelts(t *testing.T) {
	target, made := checkerPictures()
	last := math.Inf(1)
	for _, n := range []float64{3, 7, 14, 28} {
		far := FarPicture(made, n)
		d := deltaE76(far.Cells[100], target.Cells[100])
		assert.Less(t, d, last)
		last = d
	}
	assert.Less(t, last, 2.0)
}

func TestCellKernel(t *testing.T) {
	for _, c := range []struct {
		s     float64
		reach int
	}{{.05, 1}, {.28, 7}, {1.3, 7}, {42, 7}, {.3, 0}} {
		k := cellKernel(c.s, c.reach)
		sum := k[0]
		for _, v := range k[1:] {
			sum += 2 * v
		}
		assert.InDelta(t, 1, sum, 1e-7)
		// Against plain numeric integration over 400 x 400 points.
		if c.reach == 7 && c.s > .2 {
			var want, all float64
			for j := -7; j <= 7; j++ {
				for a := range 200 {
					for b := range 200 {
						x := float64(j) + (float64(a)-float64(b))/200
						w := math.Exp(-x * x / (2 * c.s * c.s))
						all += w
						if j == 2 {
							want += w
						}
					}
				}
			}
			assert.InDelta(t, want/all, k[2], 1e-4)
		}
	}
}

func TestMirror(t *testing.T) {
	for i, want := range []int{1, 2, 2, 1, 0, 0, 1, 2, 2, 1, 0, 0} {
		assert.Equal(t, want, mirror(i-5, 3), "place %d", i-5)
	}
}

func BenchmarkFarMiss(b *testing.B) {
	target, made := NewGrid(160, 200), NewGrid(160, 200)
	for i := range target.Cells {
		target.Cells[i] = Color{L: float64(i % 97), A: float64(i%31) - 15, B: float64(i%53) - 26}
		made.Cells[i] = Color{L: float64(i % 89), A: float64(i%29) - 15, B: float64(i%59) - 26}
	}
	for b.Loop() {
		FarMiss(target, made, 13.963)
	}
	b.ReportMetric(float64(len(target.Cells)*b.N)/1e6/b.Elapsed().Seconds(), "Mcells/s")
}
