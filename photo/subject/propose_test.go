package subject

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"kitwright/photo"
)

// common is the intersection of two boxes over their union.
func common(a, b photo.Ellipse) float64 {
	w := math.Min(a.X+a.W, b.X+b.W) - math.Max(a.X, b.X)
	h := math.Min(a.Y+a.H, b.Y+b.H) - math.Max(a.Y, b.Y)
	if w <= 0 || h <= 0 {
		return 0
	}
	return w * h / (a.W*a.H + b.W*b.H - w*h)
}

// The first ellipse comes nearer to the boxes about animals that were drawn by
// hand than the middle of the photo does, also on photos that nobody looked at
// while it was made (go test -v -run Proposal ./photo/subject).
func TestProposalOnTracedAnimals(t *testing.T) {
	var sums [2][2]float64
	var n [2]float64
	for _, a := range tracings(t) {
		_, boxes := a.boxes()
		got, told := Propose(a.photo)
		k := 0
		if !tuned[a.name] {
			k = 1
		}
		ours, middle := common(got, boxes[0]), common(Middle, boxes[0])
		t.Logf("%-14s %.2f, the middle %.2f, told %v: %v for %.0f", a.name, ours, middle, told, got, boxes[0])
		sums[k][0] += ours
		sums[k][1] += middle
		n[k]++
	}
	for k, name := range []string{"looked at", "only measured"} {
		t.Logf("%s: %.2f, the middle %.2f", name, sums[k][0]/n[k], sums[k][1]/n[k])
		assert.Greater(t, sums[k][0], sums[k][1], name)
	}
}

// A crop holds the ellipse where the photo is large enough, keeps its
// proportions and stays in the photo.
func TestCropAround(t *testing.T) {
	for _, e := range []photo.Ellipse{Middle, {X: 40, Y: 40, W: 20, H: 20}, {X: 0, Y: 70, W: 30, H: 30}, {X: 90, Y: 0, W: 10, H: 90}} {
		for _, proportion := range []float64{.75, 1, 4. / 3} {
			c := CropAround(e, 1200, 900, proportion)
			assert.InDelta(t, proportion, c.W*1200/(c.H*900), .01)
			assert.True(t, c.X >= 0 && c.Y >= 0 && c.X+c.W <= 100 && c.Y+c.H <= 100, "%v", c)
			if c.W < 99 && c.H < 99 && e.W*1200 < 900*proportion*100 {
				assert.True(t, c.X <= e.X+.1 && c.Y <= e.Y+.1 && c.X+c.W >= e.X+e.W-.1 && c.Y+c.H >= e.Y+e.H-.1, "%v holds %v at %v", c, e, proportion)
			}
		}
	}
}
