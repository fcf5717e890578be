package symbols

import (
	"math"
	"math/rand"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// neighbors makes weights like those of a photo: colors on a winding road
// through color space, close ones alike and often touching.
func neighbors(n int, seed int64) func(i, j int) float64 {
	rnd := rand.New(rand.NewSource(seed))
	type color [3]float64
	road := make([]color, n)
	at := color{50, 0, 0}
	for i := range road {
		for k := range at {
			at[k] += rnd.NormFloat64() * 9
		}
		road[i] = at
	}
	touch := make([][]float64, n)
	total, alike := 0.0, 0.0
	dE := func(i, j int) float64 {
		a, b := road[i], road[j]
		return math.Sqrt((a[0]-b[0])*(a[0]-b[0]) + (a[1]-b[1])*(a[1]-b[1]) + (a[2]-b[2])*(a[2]-b[2]))
	}
	for i := range touch {
		touch[i] = make([]float64, n)
		for j := range i {
			touch[i][j] = rnd.ExpFloat64() * rnd.ExpFloat64() * math.Exp(-dE(i, j)/15)
			total += touch[i][j]
			alike += math.Exp(-dE(i, j) / 8)
		}
	}
	return func(i, j int) float64 { return .7*touch[j][i]/total + .3*math.Exp(-dE(i, j)/8)/alike }
}

func TestGainsStayTrue(t *testing.T) {
	q := newAssignment(20, 30, neighbors(20, 1))
	q.greedy()
	q.tabu(100)
	assert.Equal(t, q.risk(), q.cost, "the running cost is the cost counted afresh")
	copy(q.at, q.best)
	assert.Equal(t, q.risk(), q.low, "the best is what it says")
	for range 10 { // and every gain is the difference of two costs
		before := q.risk()
		g := q.gain(3, 25)
		q.at[3], q.at[25] = q.at[25], q.at[3]
		assert.Equal(t, q.risk()-before, g)
	}
}

// A problem small enough to try everything: 5 colors on 5 symbols.
func TestAssignFindsTheBestOfAll(t *testing.T) {
	for seed := range int64(5) {
		q := newAssignment(5, 5, neighbors(5, seed))
		q.greedy()
		q.tabu(tabuSteps)
		low := q.low
		best := int64(math.MaxInt64)
		var try func(k int)
		try = func(k int) {
			if k == 5 {
				best = min(best, q.risk())
				return
			}
			for i := k; i < 5; i++ {
				q.at[k], q.at[i] = q.at[i], q.at[k]
				try(k + 1)
				q.at[k], q.at[i] = q.at[i], q.at[k]
			}
		}
		try(0)
		assert.Equal(t, best, low, "seed %d", seed)
	}
}

func TestAssignGivesEachColorItsOwn(t *testing.T) {
	for _, n := range []int{1, 2, 30, Named, Named + 1, Max} {
		got := Assign(n, neighbors(n, 7))
		require.Len(t, got, n)
		seen := map[rune]bool{}
		for _, s := range got {
			assert.False(t, seen[s.Rune], s.Name)
			seen[s.Rune] = true
			if n <= Named {
				assert.NotContains(t, s.Name, "mark")
			}
		}
		assert.Equal(t, got, Assign(n, neighbors(n, 7)))
		scaled := neighbors(n, 7)
		assert.Equal(t, got, Assign(n, func(i, j int) float64 { return 1024 * scaled(i, j) }), "only ratios count")
	}
	assert.Len(t, Assign(3, func(i, j int) float64 { return math.NaN() }), 3)
	assert.Len(t, Assign(3, func(i, j int) float64 { return math.Inf(1) }), 3)
	assert.Panics(t, func() { Assign(0, nil) })
	assert.Panics(t, func() { Assign(Max+1, nil) })
}

// gainOver is how many times less risk the assignment has than the mean of
// 500 arbitrary ones of the first n symbols.
func gainOver(n, m int, seed int64, steps int) float64 {
	q := newAssignment(n, m, neighbors(n, seed))
	rnd := rand.New(rand.NewSource(seed))
	sum := 0.0
	const tries = 500
	for range tries {
		q.at = rnd.Perm(n)
		sum += float64(q.risk()) / tries
	}
	q.greedy()
	q.tabu(steps)
	return sum / float64(q.low)
}

func TestAssignLowersTheRisk(t *testing.T) {
	for seed := range int64(4) {
		got := gainOver(40, 60, seed, tabuSteps)
		t.Logf("40 of 60: %.1f times less risk than arbitrary", got)
		assert.Greater(t, got, 3.0)
	}
}

func BenchmarkAssign(b *testing.B) {
	for _, c := range []struct {
		name string
		n, m int
	}{{"40of60", 40, 60}, {"100of100", 100, 100}} {
		b.Run(c.name, func(b *testing.B) {
			w := neighbors(c.n, 1)
			for b.Loop() {
				q := newAssignment(c.n, c.m, w)
				q.greedy()
				q.tabu(tabuSteps)
			}
			b.ReportMetric(gainOver(c.n, c.m, 1, tabuSteps), "times-less-risk")
		})
	}
}
