package lab

import (
	"math"
	"math/rand/v2"
	"testing"
)

// Whatever a box rules out lies beyond the limit, in the blues above all.
func TestBoxNeverRulesOutANearColor(t *testing.T) {
	n := 400_000
	if testing.Short() {
		n = 40_000
	}
	rng := rand.New(rand.NewPCG(7, 8))
	ruled, alone, half := 0, 0, 0
	for i := range n {
		p := PointOf(randomLab(rng))
		if i%2 == 0 {
			p = PointOf(Color{100 * rng.Float64(), 40 * rng.NormFloat64(), -80 * rng.Float64()})
		}
		spread := 40 * rng.Float64() * rng.Float64()
		var box Box
		inside := make([]Point, 1+rng.IntN(4))
		for j := range inside {
			inside[j] = PointOf(Color{p.L + spread*rng.NormFloat64(), p.A + spread*rng.NormFloat64(), p.B + spread*rng.NormFloat64()})
			box.Add(inside[j])
		}
		d := spread * rng.Float64()
		if box.Beyond(p, d) {
			ruled++
			for _, q := range inside {
				if got := p.DeltaE(q); got <= d || !p.Beyond(q, d) {
					t.Fatalf("%v is %v from %v, ruled out beyond %v by the box and %v by itself", p, got, q, d, p.Beyond(q, d))
				}
			}
		}
		for _, q := range inside {
			got := p.DeltaE(q)
			if p.Beyond(q, d) {
				alone++
				if got <= d || !q.Beyond(p, d) {
					t.Fatalf("%v is %v from %v, ruled out beyond %v", p, got, q, d)
				}
			}
			switch within := p.Within(q, d); {
			case math.IsInf(within, 1) && got > d:
				half++
			case within != got:
				t.Fatalf("%v is %v from %v, or %v within %v", p, got, q, within, d)
			}
		}
	}
	if ruled < n/10 || ruled > n*9/10 || alone < ruled || half < alone {
		t.Errorf("%d of %d boxes, %d colors and %d half compared ruled out: the test does not look near the limit", ruled, n, alone, half)
	}
}
