package symbols

import (
	"math"
	"math/rand"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// neighbors makes the weights of a chart like a photo: 120 x 90 drills of
// smooth shades with some objects and grain, in n colors.
func neighbors(n int, seed int64) func(i, j int) float64 {
	const cols, rows = 120, 90
	type color [3]float64
	rnd := rand.New(rand.NewSource(seed))
	far := func(a, b color) float64 {
		return math.Sqrt((a[0]-b[0])*(a[0]-b[0]) + (a[1]-b[1])*(a[1]-b[1]) + (a[2]-b[2])*(a[2]-b[2]))
	}
	picture := make([]color, cols*rows)
	shade := func(mean, swing color, inside func(x, y float64) bool) {
		var wave [3][3][3]float64
		for k := range wave {
			for m := range wave[k] {
				wave[k][m] = [3]float64{rnd.NormFloat64() * 3, rnd.NormFloat64() * 3, rnd.Float64() * 6}
			}
		}
		for i := range picture {
			x, y := float64(i%cols)/cols, float64(i/cols)/rows
			if !inside(x, y) {
				continue
			}
			for k := range wave {
				v := mean[k] + rnd.NormFloat64()*1.5
				for _, w := range wave[k] {
					v += swing[k] / 2 * math.Sin(w[0]*x*3+w[1]*y*3+w[2])
				}
				picture[i][k] = v
			}
		}
	}
	shade(color{55, 0, 5}, color{30, 10, 14}, func(x, y float64) bool { return true })
	for range 6 {
		cx, cy, r := rnd.Float64(), rnd.Float64(), .08+.2*rnd.Float64()
		mean := color{20 + 60*rnd.Float64(), 30 * rnd.NormFloat64(), 30 * rnd.NormFloat64()}
		shade(mean, color{16, 8, 8}, func(x, y float64) bool { return math.Hypot(x-cx, y-cy) < r })
	}
	// the colors: means of the cells nearest to them, five times over
	list := make([]color, n)
	for i := range list {
		list[i] = picture[rnd.Intn(len(picture))]
	}
	cells := make([]int, len(picture))
	for round := range 5 {
		sum, count := make([]color, n), make([]float64, n)
		for c, p := range picture {
			best := 0
			for i := range list {
				if far(p, list[i]) < far(p, list[best]) {
					best = i
				}
			}
			cells[c] = best
			for k := range p {
				sum[best][k] += p[k]
			}
			count[best]++
		}
		for i := range list {
			if round < 4 && count[i] > 0 {
				list[i] = color{sum[i][0] / count[i], sum[i][1] / count[i], sum[i][2] / count[i]}
			}
		}
	}
	touch := make([][]float64, n)
	for i := range touch {
		touch[i] = make([]float64, n)
	}
	for c, i := range cells {
		for _, d := range [][2]int{{1, 0}, {0, 1}, {1, 1}, {-1, 1}} {
			if x, y := c%cols+d[0], c/cols+d[1]; x >= 0 && x < cols && y < rows {
				j := cells[y*cols+x]
				touch[i][j]++
				touch[j][i]++
			}
		}
	}
	total, alike := 0.0, 0.0
	for i := range list {
		for j := range i {
			d := far(list[i], list[j])
			touch[i][j] *= math.Exp(-d / 15)
			touch[j][i] = touch[i][j]
			total += touch[i][j]
			alike += math.Exp(-d / 8)
		}
	}
	return func(i, j int) float64 {
		return .7*touch[i][j]/total + .3*math.Exp(-far(list[i], list[j])/8)/alike
	}
}

func TestGainsStayTrue(t *testing.T) {
	q := newAssignment(20, first(30), upright, neighbors(20, 1))
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
		q := newAssignment(5, first(5), upright, neighbors(5, seed))
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
	sizes := []int{1, 2, 30, Sure, Sure + 1, Named, Named + 1, Max}
	if testing.Short() {
		sizes = []int{1, 2, 30, Sure + 1}
	}
	for _, n := range sizes {
		w := neighbors(n, 7)
		got := Assign(n, w)
		require.Len(t, got, n)
		seen := map[rune]bool{}
		for _, s := range got {
			assert.False(t, seen[s.Rune], s.Name)
			seen[s.Rune] = true
			if n <= Named {
				assert.NotContains(t, s.Name, "mark")
			}
		}
		assert.Equal(t, got, Assign(n, w))
		assert.Equal(t, got, Assign(n, func(i, j int) float64 { return 1024 * w(i, j) }), "only ratios count")
	}
	assert.Len(t, Assign(3, func(i, j int) float64 { return math.NaN() }), 3)
	assert.Len(t, Assign(3, func(i, j int) float64 { return math.Inf(1) }), 3)
	assert.Panics(t, func() { Assign(0, nil) })
	assert.Panics(t, func() { Assign(Max+1, nil) })
}

// What is printed in one legend stays apart, also where colors never meet.
func TestAssignKeepsTheLegendApart(t *testing.T) {
	for _, c := range []struct {
		n        int
		up, turn float64
	}{{8, .25, .09}, {12, .19, .09}, {30, .15, .08}, {Sure, .15, .08}, {Max, .12, .07}} {
		got := Assign(c.n, neighbors(c.n, 3))
		for i := range got {
			for j := range i {
				up, turn := Distance(byRune[got[i].Rune], byRune[got[j].Rune])
				assert.GreaterOrEqual(t, up, c.up, "%d colors: %s and %s", c.n, got[i].Name, got[j].Name)
				assert.GreaterOrEqual(t, turn, c.turn, "%d colors: %s and %s turned", c.n, got[i].Name, got[j].Name)
			}
		}
	}
}

// Symbols for a canvas that is turned stay apart whichever way each is held, and
// upright no less.
func TestAssignTurned(t *testing.T) {
	for _, c := range []struct {
		n    int
		turn float64
	}{{8, .22}, {12, .22}, {30, .17}, {40, .14}, {60, .12}, {80, .09}, {Max, .07}} {
		w := neighbors(c.n, 3)
		got := AssignTurned(c.n, w)
		assert.Equal(t, got, AssignTurned(c.n, w))
		seen := map[rune]bool{}
		for i, s := range got {
			assert.False(t, seen[s.Rune], s.Name)
			seen[s.Rune] = true
			for j := range i {
				up, turn := Distance(byRune[s.Rune], byRune[got[j].Rune])
				assert.GreaterOrEqual(t, turn, c.turn, "%d colors: %s and %s", c.n, s.Name, got[j].Name)
				assert.GreaterOrEqual(t, up, c.turn)
			}
		}
		if c.n < Named {
			have := append([]Symbol(nil), got...)
			have[c.n/2] = Symbol{}
			after := ExtendTurned(have, map[rune]bool{got[c.n/2].Rune: true}, w)
			assert.NotEqual(t, got[c.n/2].Rune, after[c.n/2].Rune)
			assert.False(t, seen[after[c.n/2].Rune])
		}
	}
}

// gainOver is how many times less risk the assignment has than the mean of
// 500 arbitrary ones of the first n symbols; risk is the mean confusion of a
// pair, by weight.
func gainOver(n, m int, seed int64) (gain, risk float64) {
	w := neighbors(n, seed)
	q := newAssignment(n, first(m), upright, w)
	rnd := rand.New(rand.NewSource(seed))
	sum := 0.0
	const tries = 500
	for range tries {
		q.at = rnd.Perm(n)
		sum += float64(q.risk()) / tries
	}
	with := newAssignment(n, first(m), upright, withLegend(n, w)) // as Assign does it
	with.greedy()
	with.tabu(tabuSteps)
	q.at = with.best
	all := 0.0
	for i := range n {
		for j := range i {
			all += float64(q.w[i][j]) * 1e6
		}
	}
	return sum / float64(q.risk()), float64(q.risk()) / all
}

func TestAssignLowersTheRisk(t *testing.T) {
	for seed := range int64(4) {
		got, risk := gainOver(40, Sure, seed)
		t.Logf("40 of 60: %.1f times less risk than arbitrary, %.5f", got, risk)
		assert.Greater(t, got, 4.0)
	}
}

// What is found is what is given: the symbols of the answer carry far less risk
// than those of the table in its own order.
func TestAssignGivesWhatItFound(t *testing.T) {
	const n = 40
	weight := neighbors(n, 1)
	place := map[rune]int{}
	for i := range Sure {
		place[table[i].Rune] = i
	}
	risk := func(at func(i int) int) (sum float64) {
		for i := range n {
			for j := i + 1; j < n; j++ {
				up, _ := Distance(at(i), at(j))
				sum += weight(i, j) * math.Exp(-up/0.08)
			}
		}
		return sum
	}
	given := Assign(n, weight)
	found := risk(func(i int) int { return place[given[i].Rune] })
	assert.Less(t, 3*found, risk(func(i int) int { return i }))
}

func BenchmarkAssign(b *testing.B) {
	for _, c := range []struct {
		name string
		n, m int
	}{{"40of60", 40, 60}, {"100of100", 100, 100}} {
		b.Run(c.name, func(b *testing.B) {
			w := neighbors(c.n, 1)
			for b.Loop() {
				q := newAssignment(c.n, first(c.m), upright, w)
				q.greedy()
				q.tabu(tabuSteps)
			}
			gain, risk := gainOver(c.n, c.m, 1)
			b.ReportMetric(gain, "times-less-risk")
			b.ReportMetric(risk, "risk")
		})
	}
}
