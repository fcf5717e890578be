package quantize

import (
	"context"
	"math"
	"math/big"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/lab"
)

// worst returns the dearest of 30 random open sets: a proof that starts there
// has to find the best set by itself.
func worst(rng *rand.Rand, t *table, p plan) (open []int32) {
	dearest := int64(-1)
	for range 30 {
		set := append([]int32(nil), p.must...)
		for _, j := range rng.Perm(t.m) {
			if len(set) < p.k && !holds(p.must, int32(j)) {
				set = append(set, int32(j))
			}
		}
		if cost := t.price(set); cost > dearest {
			open, dearest = set, cost
		}
	}
	return open
}

func holds(list []int32, j int32) bool {
	for _, v := range list {
		if v == j {
			return true
		}
	}
	return false
}

// Bounding, settling, branching and giving up are true by themselves, without
// the luck of the swap search: from a bad start they end at the best set where
// nothing limits them, and never claim too much where something does. Every
// third problem lists only a part of the facilities for each client, as
// pictures do.
func TestProofFromTheWorstStart(t *testing.T) {
	n := 4000
	if testing.Short() {
		n = 400
	}
	const endless = math.MaxInt64
	rng := rand.New(rand.NewPCG(12, 12))
	gaveUp, swapless := 0, 0
	for try := range n {
		m := 2 + rng.IntN(10)
		c := randomCosts(rng, 1+rng.IntN(25), m)
		p := plan{k: 1 + rng.IntN(m-1)}
		all := make([]int32, m)
		var keep []int
		for j := range all {
			all[j] = int32(j)
			if rng.IntN(9) == 0 && len(keep) < p.k {
				keep, p.must = append(keep, j), append(p.must, int32(j))
			}
		}
		full := c.table(all)
		table := full
		if try%3 == 0 {
			table = cutOff(full, rng)
			table.row = func(i, j, _ int32) (int64, int32) {
				return fine * c.weight(int(i)) * int64(c.At[int(i)*c.Facilities+int(j)]), math.MaxInt32
			}
		}
		want := bruteForce(c, p.k, keep, nil) * fine
		start := worst(rng, table, p)
		lam := make([]int64, table.clients())
		for i := range lam {
			lam[i] = rng.Int64N(table.end[i] + 1)
		}
		for _, lim := range []limits{
			{steps: 1000, work: endless, part: 40, tries: 3},
			{steps: 1000, work: endless, part: 40},
			{steps: 3, work: endless, part: 3},
			{steps: 3, work: endless, part: 3, tries: 3},
			{steps: 3, work: rng.Int64N(4000), part: 3},
			{steps: 3, part: 3},
		} {
			s := &solver{root: table, plan: p, limits: lim, unit: fine}
			s.offer(start)
			s.solve(context.Background(), append([]int64(nil), lam...))
			if s.bound > want || s.cost < want || table.price(s.best) != s.cost {
				t.Fatalf("%+v k %d must %v, %+v: cost %d and bound %d, brute force %d", c, p.k, p.must, lim, s.cost, s.bound, want)
			}
			switch {
			case lim.work == endless && (s.cost != want || s.proven() != want):
				t.Fatalf("%+v k %d must %v, %+v: cost %d and bound %d, but nothing kept it from %d", c, p.k, p.must, lim, s.cost, s.bound, want)
			case s.proven() < s.cost:
				gaveUp++
			case lim.tries == 0:
				swapless++
			}
		}
	}
	t.Logf("of %d runs, %d were proven without a swap and %d gave up", 6*n, swapless, gaveUp)
	require.Greater(t, gaveUp, n/10, "nothing was given up, so giving up was not tried")
}

// What a picture's lists leave out costs at least what they say it does, and a
// set costs what it costs when every color is compared with every cell.
func TestEndsOfRealLists(t *testing.T) {
	g, card := demoGrid(t, 40, 50), munsell(t)
	p, err := Prepare(g, card)
	require.NoError(t, err)
	rng := rand.New(rand.NewPCG(13, 13))
	allowed := make([]int32, 0, len(card))
	for j := range card {
		if j%7 != 3 {
			allowed = append(allowed, int32(j))
		}
	}
	spared := 0
	for _, rare := range []float64{0, 0.7, 1} {
		o := p.objective(Options{Rare: rare})
		sel, err := p.Select(context.Background(), Options{K: 9, Rare: rare, Effort: Quick, Avoid: []int{3, 10, 17}})
		require.NoError(t, err)
		near := make([]int32, 0, len(sel.Chosen))
		for _, j := range sel.Chosen {
			if j%7 != 3 {
				near = append(near, int32(j))
			}
		}
		for f, l := range p.levels {
			table, _ := p.tableFor(context.Background(), f, o, allowed, near)
			unlisted := 0
			for i := range table.clients() {
				listed := make([]bool, table.m)
				fac, cost := table.list(i)
				require.NotEmpty(t, fac)
				require.IsNonDecreasing(t, cost)
				require.GreaterOrEqual(t, table.end[i], cost[len(cost)-1])
				point := table.point[i]
				for q, j := range fac {
					listed[j] = true
					require.Equal(t, o.weights[f][point]*o.cost(units(l.points[point], l.from[allowed[j]])), cost[q])
				}
				for j, is := range listed {
					exact := o.weights[f][point] * o.cost(units(l.points[point], l.from[allowed[j]]))
					row, off := table.row(int32(i), int32(j), math.MaxInt32)
					require.Equal(t, exact, row)
					require.Equal(t, units(l.points[point], l.from[allowed[j]]), off)
					within := rng.Int32N(2 * (off + 1))
					if row, _ = table.row(int32(i), int32(j), within); row != exact {
						require.EqualValues(t, math.MaxInt64, row)
						require.Greater(t, exact, o.weights[f][point]*o.cost(within))
						spared++
					}
					if !is {
						unlisted++
						if exact < table.end[i] {
							t.Fatalf("level %d rare %v: color %d costs %d, but what is not listed is said to cost %d at least", f, rare, j, exact, table.end[i])
						}
					}
				}
			}
			require.Equal(t, f > 0, unlisted > 0, "only the coarsest level lists all")
			for range 5 {
				open := make([]int32, 0, 6)
				for _, j := range rng.Perm(table.m)[:6] {
					open = append(open, int32(j))
				}
				sum := int64(0)
				for i := range table.clients() {
					best := int64(math.MaxInt64)
					for _, j := range open {
						row, _ := table.row(int32(i), j, math.MaxInt32)
						best = min(best, row)
					}
					sum += best
				}
				require.Equal(t, sum, table.price(open))
				require.Equal(t, sum, table.serve(sorted(open)).cost)
			}
		}
	}
	require.Positive(t, spared, "every color was compared, however far")
}

// The largest weights, rare colors and colors far from the whole card: the
// weights are divided until costs fit, and what comes out is the cost that
// arithmetic without limits gives.
func TestWeightsBeyondTheLimit(t *testing.T) {
	const most = 1 << 36
	rng := rand.New(rand.NewPCG(14, 14))
	g := lab.NewGrid(60, 60)
	weight := make([]uint16, len(g.Cells))
	for i := range g.Cells {
		g.Cells[i] = lab.Color{L: 100 * rng.Float64(), A: 250*rng.Float64() - 125, B: 250*rng.Float64() - 125}.Round()
		weight[i] = math.MaxUint16 - uint16(i%3)
	}
	card := []lab.Color{{L: 0}, {L: 3}, {L: 6, A: 2}, {L: 9, B: 2}}
	p, err := Prepare(g, card)
	require.NoError(t, err)
	opt := Options{K: 2, Rare: 1, Weight: weight}
	o := p.objective(opt)
	sum := int64(0)
	for _, w := range o.weights[2] {
		require.Positive(t, w, "a cell that counts was forgotten")
		sum += w
	}
	require.LessOrEqual(t, sum, int64(most+len(o.weights[2])))
	require.Greater(t, sum, int64(most/2), "divided by more than was needed")
	require.Equal(t, sum/int64(len(o.weights[2])), o.scale)

	s, err := p.Select(context.Background(), opt)
	require.NoError(t, err)
	exact := new(big.Int)
	for i, j := range p.nearest([]int32{int32(s.Chosen[0]), int32(s.Chosen[1])}) {
		d := big.NewInt(int64(units(p.levels[2].points[i], p.levels[2].from[j])))
		square := new(big.Int).Mul(d, d)
		square.Div(square, big.NewInt(even))
		exact.Add(exact, square.Mul(square, big.NewInt(o.weights[2][i])))
	}
	require.True(t, exact.IsInt64(), "%s does not fit", exact)
	assert.Equal(t, exact.Int64(), s.Cost)
	assert.Equal(t, s.Cost, s.Bound)
	assert.Equal(t, sum, s.Weight)
}

// Just below the limit weights stay as they are; above it nothing that weighs
// anything falls to nothing.
func TestLimitOfWeights(t *testing.T) {
	const most = 1 << 36
	w := []int64{most - 5, 0, 4}
	assert.Equal(t, int64((most-1)/3), limit(w))
	assert.Equal(t, []int64{most - 5, 0, 4}, w)
	w = []int64{most * 6, 0, 4}
	limit(w)
	assert.Equal(t, int64(0), w[1])
	assert.Equal(t, int64(1), w[2])
	assert.InDelta(t, most, w[0], most/6)
	assert.LessOrEqual(t, w[0], int64(most))
}
