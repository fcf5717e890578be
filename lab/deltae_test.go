package lab

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/lucasb-eyer/go-colorful"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The 34 pairs of Sharma, Wu and Dalal (2005), table 1, as they stand in the
// test data of scikit-image (ciede2000_test_data.txt).
var published = []struct {
	a, b Color
	want float64
}{
	{Color{50, 2.6772, -79.7751}, Color{50, 0, -82.7485}, 2.0425},                  // 1
	{Color{50, 3.1571, -77.2803}, Color{50, 0, -82.7485}, 2.8615},                  // 2
	{Color{50, 2.8361, -74.02}, Color{50, 0, -82.7485}, 3.4412},                    // 3
	{Color{50, -1.3802, -84.2814}, Color{50, 0, -82.7485}, 1},                      // 4
	{Color{50, -1.1848, -84.8006}, Color{50, 0, -82.7485}, 1},                      // 5
	{Color{50, -0.9009, -85.5211}, Color{50, 0, -82.7485}, 1},                      // 6
	{Color{50, 0, 0}, Color{50, -1, 2}, 2.3669},                                    // 7
	{Color{50, -1, 2}, Color{50, 0, 0}, 2.3669},                                    // 8
	{Color{50, 2.49, -0.001}, Color{50, -2.49, 0.0009}, 7.1792},                    // 9
	{Color{50, 2.49, -0.001}, Color{50, -2.49, 0.001}, 7.1792},                     // 10
	{Color{50, 2.49, -0.001}, Color{50, -2.49, 0.0011}, 7.2195},                    // 11
	{Color{50, 2.49, -0.001}, Color{50, -2.49, 0.0012}, 7.2195},                    // 12
	{Color{50, -0.001, 2.49}, Color{50, 0.0009, -2.49}, 4.8045},                    // 13
	{Color{50, -0.001, 2.49}, Color{50, 0.001, -2.49}, 4.8045},                     // 14
	{Color{50, -0.001, 2.49}, Color{50, 0.0011, -2.49}, 4.7461},                    // 15
	{Color{50, 2.5, 0}, Color{50, 0, -2.5}, 4.3065},                                // 16
	{Color{50, 2.5, 0}, Color{73, 25, -18}, 27.1492},                               // 17
	{Color{50, 2.5, 0}, Color{61, -5, 29}, 22.8977},                                // 18
	{Color{50, 2.5, 0}, Color{56, -27, -3}, 31.903},                                // 19
	{Color{50, 2.5, 0}, Color{58, 24, 15}, 19.4535},                                // 20
	{Color{50, 2.5, 0}, Color{50, 3.1736, 0.5854}, 1},                              // 21
	{Color{50, 2.5, 0}, Color{50, 3.2972, 0}, 1},                                   // 22
	{Color{50, 2.5, 0}, Color{50, 1.8634, 0.5757}, 1},                              // 23
	{Color{50, 2.5, 0}, Color{50, 3.2592, 0.335}, 1},                               // 24
	{Color{60.2574, -34.0099, 36.2677}, Color{60.4626, -34.1751, 39.4387}, 1.2644}, // 25
	{Color{63.0109, -31.0961, -5.8663}, Color{62.8187, -29.7946, -4.0864}, 1.263},  // 26
	{Color{61.2901, 3.7196, -5.3901}, Color{61.4292, 2.248, -4.962}, 1.8731},       // 27
	{Color{35.0831, -44.1164, 3.7933}, Color{35.0232, -40.0716, 1.5901}, 1.8645},   // 28
	{Color{22.7233, 20.0904, -46.694}, Color{23.0331, 14.973, -42.5619}, 2.0373},   // 29
	{Color{36.4612, 47.858, 18.3852}, Color{36.2715, 50.5065, 21.2231}, 1.4146},    // 30
	{Color{90.8027, -2.0831, 1.441}, Color{91.1528, -1.6435, 0.0447}, 1.4441},      // 31
	{Color{90.9257, -0.5406, -0.9208}, Color{88.6381, -0.8985, -0.7239}, 1.5381},   // 32
	{Color{6.7747, -0.2908, -2.4247}, Color{5.8714, -0.0985, -2.2286}, 0.6377},     // 33
	{Color{2.0776, 0.0795, -1.135}, Color{0.9033, -0.0636, -0.5514}, 0.9082},       // 34
}

func TestDeltaEPublishedPairs(t *testing.T) {
	require.Len(t, published, 34)
	for i, p := range published {
		// The paper prints four decimals.
		assert.InDelta(t, p.want, DeltaE(p.a, p.b), 1e-4, "pair %d", i+1)
		assert.InDelta(t, p.want, DeltaE(p.b, p.a), 1e-4, "pair %d turned round", i+1)
		if i != 9 && i != 13 { // degrees round the 180 of pairs 10 and 14 to either side
			assert.InDelta(t, p.want, textbook(p.a, p.b), 1e-4, "pair %d, the reference of this test", i+1)
		}
	}
}

// textbook is CIEDE2000 as the paper writes it, with angles in degrees.
func textbook(x, y Color) float64 {
	const deg = math.Pi / 180
	sq := func(v float64) float64 { return v * v }
	c7 := math.Pow((math.Hypot(x.A, x.B)+math.Hypot(y.A, y.B))/2, 7)
	g := 0.5 * (1 - math.Sqrt(c7/(c7+math.Pow(25, 7))))
	a1, a2 := (1+g)*x.A, (1+g)*y.A
	c1, c2 := math.Hypot(a1, x.B), math.Hypot(a2, y.B)
	h1, h2 := hueOf(a1, x.B), hueOf(a2, y.B)
	dh, mean := 0.0, h1+h2
	if c1*c2 != 0 {
		switch dh = h2 - h1; {
		case dh > 180:
			dh -= 360
		case dh < -180:
			dh += 360
		}
		switch {
		case math.Abs(h1-h2) <= 180:
			mean = (h1 + h2) / 2
		case h1+h2 < 360:
			mean = (h1 + h2 + 360) / 2
		default:
			mean = (h1 + h2 - 360) / 2
		}
	}
	dL, dC, dH := y.L-x.L, c2-c1, 2*math.Sqrt(c1*c2)*math.Sin(dh/2*deg)
	l, c := (x.L+y.L)/2, (c1+c2)/2
	t := 1 - 0.17*math.Cos((mean-30)*deg) + 0.24*math.Cos(2*mean*deg) + 0.32*math.Cos((3*mean+6)*deg) - 0.20*math.Cos((4*mean-63)*deg)
	sl := 1 + 0.015*sq(l-50)/math.Sqrt(20+sq(l-50))
	sc, sh := 1+0.045*c, 1+0.015*c*t
	c7 = math.Pow(c, 7)
	rt := -math.Sin(60*math.Exp(-sq((mean-275)/25))*deg) * 2 * math.Sqrt(c7/(c7+math.Pow(25, 7)))
	return math.Sqrt(sq(dL/sl) + sq(dC/sc) + sq(dH/sh) + rt*dC/sc*dH/sh)
}

func hueOf(a, b float64) float64 {
	h := math.Atan2(b, a) * 180 / math.Pi
	if h < 0 {
		h += 360
	}
	return h
}

// opposite tells whether two hues lie within 1e-6 degrees of 180 apart, where
// the formula jumps and rounding chooses the side.
func opposite(x, y Color) bool {
	c7 := math.Pow((math.Hypot(x.A, x.B)+math.Hypot(y.A, y.B))/2, 7)
	g := 1.5 - 0.5*math.Sqrt(c7/(c7+math.Pow(25, 7)))
	return math.Abs(math.Abs(hueOf(g*x.A, x.B)-hueOf(g*y.A, y.B))-180) < 1e-6
}

func TestDeltaEAgreesWithTextbook(t *testing.T) {
	n := 3_000_000
	if testing.Short() {
		n = 100_000
	}
	rng := rand.New(rand.NewPCG(1, 2))
	worst, left := 0.0, 0
	for i := 0; i < n; i++ {
		var a, b Color
		switch i % 3 {
		case 0: // anywhere in sRGB
			a, b = randomSRGB(rng), randomSRGB(rng)
		case 1: // neighbors
			a = randomSRGB(rng)
			b = Color{a.L + rng.NormFloat64(), a.A + 3*rng.NormFloat64(), a.B + 3*rng.NormFloat64()}
		default: // anywhere that occurs, on the grid of 1/4096, many on an axis
			a, b = randomLab(rng).Round(), randomLab(rng).Round()
			if i%2 == 0 {
				a.A = 0
			}
			if i%5 == 0 {
				b.B = 0
			}
		}
		got := DeltaE(a, b)
		if got != DeltaE(b, a) {
			t.Fatalf("%v %v: not the same both ways", a, b)
		}
		if opposite(a, b) {
			left++
			continue
		}
		err := math.Abs(got - textbook(a, b))
		if !(err <= 1e-4) {
			t.Fatalf("%v %v: %v, textbook %v", a, b, got, textbook(a, b))
		}
		worst = math.Max(worst, err)
	}
	t.Logf("%d pairs, largest difference %.1e; %d with opposite hues left out", n-left, worst, left)
	assert.Less(t, left, n/10)
}

func TestDeltaEOfEqualColorsIsZero(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	for i := 0; i < 10000; i++ {
		c := randomLab(rng)
		assert.Zero(t, DeltaE(c, c))
	}
	assert.Zero(t, DeltaE(Color{}, Color{}))
	assert.InDelta(t, 100, DeltaE(Color{}, Color{L: 100}), 1e-12)
}

func randomSRGB(rng *rand.Rand) Color {
	v := rng.Uint32()
	return FromSRGB([3]uint8{uint8(v), uint8(v >> 8), uint8(v >> 16)})
}

func randomLab(rng *rand.Rand) Color {
	return Color{100 * rng.Float64(), 256*rng.Float64() - 128, 256*rng.Float64() - 128}
}

// BenchmarkDeltaE times three forms on the same pairs in turn and reports the
// ratios: how many times as long as ours the others take. go-colorful's takes
// sRGB and converts both colors first.
func BenchmarkDeltaE(b *testing.B) {
	rng := rand.New(rand.NewPCG(5, 6))
	const n = 4096
	var x, y [n]Color
	var px, py [n]Point
	var cx, cy [n]colorful.Color
	for i := range x {
		x[i], y[i] = randomSRGB(rng), randomSRGB(rng)
		px[i], py[i] = PointOf(x[i]), PointOf(y[i])
		cx[i], cy[i] = colorful.Lab(x[i].L/100, x[i].A/100, x[i].B/100), colorful.Lab(y[i].L/100, y[i].A/100, y[i].B/100)
	}
	forms := []struct {
		name string
		f    func(i int) float64
	}{
		{"color", func(i int) float64 { return DeltaE(x[i], y[i]) }},
		{"point", func(i int) float64 { return px[i].DeltaE(py[i]) }},
		{"textbook", func(i int) float64 { return textbook(x[i], y[i]) }},
		{"colorful", func(i int) float64 { return cx[i].DistanceCIEDE2000(cy[i]) }},
	}
	best := make([]float64, len(forms))
	sink := 0.0
	for b.Loop() {
		for k, form := range forms {
			start := now()
			for i := range x {
				sink += form.f(i)
			}
			if ns := float64(now()-start) / n; best[k] == 0 || ns < best[k] {
				best[k] = ns
			}
		}
	}
	for k, form := range forms {
		b.ReportMetric(best[k], form.name+"-ns/pair")
	}
	b.ReportMetric(best[2]/best[1], "textbook/point")
	b.ReportMetric(best[3]/best[1], "colorful/point")
	if math.IsNaN(sink) {
		b.Fatal("not a number")
	}
}

func now() int64 { return time.Now().UnixNano() }
