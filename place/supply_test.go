package place

import (
	"context"
	"fmt"
	"math/rand/v2"
	"runtime"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/lab"
)

// scarce makes rooms for all cells and share more, of uneven size, and serves
// the cells one after the other by the nearest color that is left.
func scarce(rng *rand.Rand, g *lab.Grid, colors []lab.Color, share float64) *Supply {
	s := &Supply{Room: make([]int64, len(colors)), Price: make([]float64, len(colors)), Start: make([]uint16, len(g.Cells))}
	size := make([]float64, len(colors))
	sum := 0.0
	for c := range size {
		size[c] = .1 + rng.Float64()*rng.Float64()
		sum += size[c]
	}
	total := int64(0)
	for c := range size {
		s.Room[c] = int64(size[c] / sum * share * float64(len(g.Cells)))
		total += s.Room[c]
	}
	s.Room[0] += max(0, int64(len(g.Cells))-total)
	left := append([]int64(nil), s.Room...)
	for i, c := range g.Cells {
		best, least := -1, 0.0
		for j, q := range colors {
			if d := lab.DeltaE(c, q); left[j] > 0 && (best < 0 || d < least) {
				best, least = j, d
			}
		}
		left[best]--
		s.Start[i] = uint16(best)
	}
	return s
}

// Light ground is left as plain as counts allow: where there are enough drills
// of both blues, hardly a drill of one lies amid the other; where one runs out,
// the other is laid, and no drill is used twice.
func TestSupplyLeavesLightGroundPlain(t *testing.T) {
	a, b := lab.Color{L: 90, A: -6, B: -4}, lab.Color{L: 81, A: -6, B: -15}
	g := shaded(64, 36, a, b)
	start := nearestColors(g, []lab.Color{a, b})
	sides := func(room int64) (n int) {
		s := &Supply{Room: []int64{room, 36 * 64}, Price: []float64{0, 0}, Start: make([]uint16, 36*64)}
		left := room
		for i, c := range start {
			if s.Start[i] = c; c == 0 && left == 0 {
				s.Start[i] = 1
			} else if c == 0 {
				left--
			}
		}
		at := lay(t, g, []lab.Color{a, b}, Options{Calm: .5, Supply: s})
		checkRooms(t, s, at)
		for i := range at {
			if x := i % 64; (x < 20 || x >= 43) && x < 63 && at[i] != at[i+1] {
				n++
			}
		}
		return n
	}
	assert.LessOrEqual(t, sides(36*64), 4)
	assert.LessOrEqual(t, sides(36*32), 40)
}

func checkRooms(t *testing.T, s *Supply, cells []uint16) {
	t.Helper()
	load := make([]int64, len(s.Room))
	for _, c := range cells {
		load[c]++
	}
	for c, n := range load {
		require.LessOrEqual(t, n, s.Room[c], "color %d", c)
	}
}

// Never more drills of a color than there are, however calm, and the energy is
// lower than where it began.
func TestPlaceWithinASupply(t *testing.T) {
	g := scene(48, 37)
	colors := spread(g, 14)
	rng := rand.New(rand.NewPCG(12, 31))
	for _, share := range []float64{1, 1.02, 1.3, 3} {
		for _, calm := range []float64{0, .5, 1} {
			s := scarce(rng, g, colors, share)
			opt := Options{Calm: calm, Supply: s}
			at := lay(t, g, colors, opt)
			checkRooms(t, s, at)
			plain := newPlain(g, colors, Options{Calm: calm})
			start, got := plain.energy(s.Start), plain.energy(at)
			assert.Less(t, got, start)
			t.Logf("share %.2f, calm %.1f: energy %.0f of %.0f, lone %.3f of %.3f", share, calm, got, start, loneShare(at, 48, 37), loneShare(s.Start, 48, 37))
		}
	}
}

// With more than enough of everything the counts cost hardly anything.
func TestPlaceWithPlenty(t *testing.T) {
	g := scene(48, 37)
	colors := spread(g, 14)
	s := &Supply{Room: make([]int64, 14), Price: make([]float64, 14), Start: nearestColors(g, colors)}
	for c := range s.Room {
		s.Room[c] = 1 << 40
	}
	plain := newPlain(g, colors, Options{Calm: .5})
	free, within := plain.energy(lay(t, g, colors, Options{Calm: .5})), plain.energy(lay(t, g, colors, Options{Calm: .5, Supply: s}))
	assert.InDelta(t, free, within, .01*free)
}

// What is reckoned of a change is what the energy changes by.
func TestSupplyChanges(t *testing.T) {
	g := scene(30, 25)
	colors := spread(g, 9)
	rng := rand.New(rand.NewPCG(12, 32))
	s := newSupplied(g, colors, Options{force: unbent(.5), Supply: scarce(rng, g, colors, 1.3)})
	s.layer.price(false)
	s.count()
	plain := newPlain(g, colors, Options{force: unbent(.5)})
	for range 60 {
		q := s.place(rng.IntN(30), rng.IntN(25))
		choice, cost := s.choicesOf(q)
		j := rng.IntN(len(choice))
		if cost[j] == none || choice[j] == s.at[q] {
			continue
		}
		before := plain.energy(s.cells())
		dx, dy, dz := s.step(s.at[q], choice[j])
		alone := float64(s.farCost(s.wide[q].of(dx, dy, dz)+s.mesh.wide[s.block(q)].of(dx, dy, dz))) / unit // seen from afar, amid what is right
		change := float64(s.change(q, choice[j])) / unit
		s.give(q, choice[j])
		now := plain.energy(s.cells()) - before
		assert.InDelta(t, now, change, .02+.008*(max(now, -now)+2*alone)) // kernels and metrics are whole numbers there
	}
}

// Small pictures of every kind, no drill to spare.
func TestPlaceTinySupplies(t *testing.T) {
	rng := rand.New(rand.NewPCG(12, 33))
	runs := 400
	if testing.Short() {
		runs = 60
	}
	for range runs {
		g := scene(1+rng.IntN(9), 1+rng.IntN(9))
		colors := make([]lab.Color, 1+rng.IntN(20)) // some alike
		for i := range colors {
			colors[i] = lab.Color{L: float64(rng.IntN(7) * 15), A: float64(rng.IntN(3))}
		}
		s := scarce(rng, g, colors, 1)
		opt := Options{Calm: rng.Float64(), Supply: s}
		if rng.IntN(3) == 0 { // some cells are settled, as they start
			opt.Fixed = make([]int32, len(g.Cells))
			for i := range opt.Fixed {
				opt.Fixed[i] = -1
				if rng.IntN(4) == 0 {
					opt.Fixed[i] = int32(s.Start[i])
				}
			}
		}
		at := lay(t, g, colors, opt)
		checkRooms(t, s, at)
		for i, c := range opt.Fixed {
			if c >= 0 {
				require.Equal(t, uint16(c), at[i])
			}
		}
	}
}

func TestSupplyIsTheSameWithAnyNumberOfProcessors(t *testing.T) {
	g := scene(61, 47)
	colors := spread(g, 16)
	s := scarce(rand.New(rand.NewPCG(12, 34)), g, colors, 1.1)
	var want []uint16
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	for _, procs := range []int{1, 2, 5} {
		runtime.GOMAXPROCS(procs)
		at := lay(t, g, colors, Options{Calm: .5, Supply: s})
		if want == nil {
			want = at
		}
		require.Equal(t, want, at)
	}
}

func TestSupplyStops(t *testing.T) {
	g := scene(50, 50)
	colors := spread(g, 12)
	s := scarce(rand.New(rand.NewPCG(12, 35)), g, colors, 1.1)
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	at, err := Place(ctx, g, colors, Options{Supply: s})
	require.ErrorIs(t, err, context.Canceled)
	checkRooms(t, s, at)
}

// BenchmarkSupply lays 160 x 200 drills of 60 colors freely and within a supply
// that suffices for 1.3 times as many, from no prices at all: more has to be
// repaired than where they are known.
func BenchmarkSupply(b *testing.B) {
	g := scene(160, 200)
	colors := spread(g, 60)
	s := scarce(rand.New(rand.NewPCG(12, 36)), g, colors, 1.3)
	for _, calm := range []float64{0, .5, 1} {
		b.Run(fmt.Sprintf("free-%v", calm), func(b *testing.B) {
			for b.Loop() {
				lay(b, g, colors, Options{Calm: calm})
			}
		})
		b.Run(fmt.Sprintf("within-%v", calm), func(b *testing.B) {
			for b.Loop() {
				at := lay(b, g, colors, Options{Calm: calm, Supply: s})
				b.ReportMetric(100*loneShare(at, g.Cols, g.Rows), "lone-%")
			}
		})
	}
}
