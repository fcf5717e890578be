package quantize

import (
	"context"
	"errors"
	"math"
	"math/bits"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/say"
)

// randomCosts makes a problem of one of several kinds: random numbers, points
// in the plane, few different values (many ties), with and without weights.
func randomCosts(rng *rand.Rand, clients, facilities int) Costs {
	c := Costs{Clients: clients, Facilities: facilities, At: make([]int32, clients*facilities)}
	kind := rng.IntN(3)
	x := make([]float64, 2*(clients+facilities))
	for i := range x {
		x[i] = rng.Float64()
	}
	for i := range c.At {
		a, b := i/facilities, clients+i%facilities
		switch kind {
		case 0:
			c.At[i] = rng.Int32N(1000)
		case 1:
			c.At[i] = int32(1000 * math.Hypot(x[2*a]-x[2*b], x[2*a+1]-x[2*b+1]))
		default:
			c.At[i] = rng.Int32N(5)
		}
	}
	if rng.IntN(2) == 0 {
		c.Weight = make([]int64, clients)
		for i := range c.Weight {
			c.Weight[i] = int64(rng.IntN(9))
		}
	}
	return c
}

// bruteForce tries every allowed set.
func bruteForce(c Costs, k int, keep, avoid []int) int64 {
	must, no := 0, 0
	for _, j := range keep {
		must |= 1 << j
	}
	for _, j := range avoid {
		no |= 1 << j
	}
	best := int64(math.MaxInt64)
	for set := range 1 << c.Facilities {
		if bits.OnesCount(uint(set)) != k || set&must != must || set&no != 0 {
			continue
		}
		var open []int
		for j := range c.Facilities {
			if set>>j&1 == 1 {
				open = append(open, j)
			}
		}
		best = min(best, plainCost(c, open))
	}
	return best
}

func TestMedianAgreesWithBruteForce(t *testing.T) {
	n := 3000
	if testing.Short() {
		n = 300
	}
	rng := rand.New(rand.NewPCG(1, 1))
	cut := 0
	for range n {
		m := 1 + rng.IntN(10)
		c := randomCosts(rng, 1+rng.IntN(20), m)
		k := 1 + rng.IntN(m)
		var keep, avoid []int
		for j := range m {
			switch {
			case rng.IntN(8) == 0 && len(keep) < k:
				keep = append(keep, j)
			case rng.IntN(8) == 0 && len(avoid) < m-k:
				avoid = append(avoid, j)
			}
		}
		s, err := Median(context.Background(), c, MedianOptions{K: k, Keep: keep, Avoid: avoid, Effort: Prove})
		require.NoError(t, err)
		want := bruteForce(c, k, keep, avoid)
		if s.Cost != want || s.Bound != want || plainCost(c, s.Open) != want {
			t.Fatalf("%+v k %d keep %v avoid %v: %+v, brute force %d", c, k, keep, avoid, s, want)
		}
		require.Len(t, s.Open, k)
		require.Subset(t, s.Open, keep)
		for _, j := range avoid {
			require.NotContains(t, s.Open, j)
		}

		// With little effort the bound may lie lower, never higher.
		s, err = Median(context.Background(), c, MedianOptions{K: k, Keep: keep, Avoid: avoid, Effort: Quick})
		require.NoError(t, err)
		if s.Bound > want || s.Cost < want || plainCost(c, s.Open) != s.Cost {
			t.Fatalf("%+v k %d: %+v, brute force %d", c, k, s, want)
		}
		if s.Bound < s.Cost {
			cut++
		}
	}
	t.Logf("quick effort left %d of %d unproven", cut, n)
}

// Offers of any kind give a bound that no set undercuts, on lists that are cut
// off anywhere.
func TestBoundHoldsForAnyOffers(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 2))
	for range 3000 {
		m := 2 + rng.IntN(7)
		c := randomCosts(rng, 1+rng.IntN(15), m)
		k := 1 + rng.IntN(m-1)
		all := make([]int32, m)
		for j := range all {
			all[j] = int32(j)
		}
		full := c.table(all)
		short := cutOff(full, rng)
		lam := make([]int64, c.Clients)
		for i := range lam {
			lam[i] = rng.Int64N(1200 * fine)
		}
		w := newVolume(short, plan{k: k}, lam)
		want := bruteForce(c, k, nil, nil) * fine
		if w.bound > want {
			t.Fatalf("a bound of %d, but %d is possible", w.bound, want)
		}
		w.run(context.Background(), 50, want, nobody(want))
		if w.bound > want {
			t.Fatalf("a bound of %d after 50 steps, but %d is possible", w.bound, want)
		}
	}
}

type nobody int64

func (n nobody) better(*volume) int64 { return int64(n) }

// cutOff ends every list at a random place.
func cutOff(t *table, rng *rand.Rand) *table {
	c := &table{m: t.m, start: []int32{0}, weight: t.weight, name: t.name}
	for i := range t.clients() {
		fac, cost := t.list(i)
		n := rng.IntN(len(fac) + 1)
		end := cost[len(cost)-1]
		if n < len(fac) {
			end = cost[n]
		}
		c.fac, c.cost = append(c.fac, fac[:n]...), append(c.cost, cost[:n]...)
		c.start, c.end = append(c.start, int32(len(c.fac))), append(c.end, end)
	}
	return c
}

// What is settled and added up changes no cost.
func TestReduceIsExact(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 3))
	for range 1000 {
		m := 3 + rng.IntN(7)
		c := randomCosts(rng, 1+rng.IntN(30), m)
		all := make([]int32, m)
		for j := range all {
			all[j] = int32(j)
		}
		full := c.table(all)
		known := newSettled(m)
		for j := range all {
			known.set(int32(j), int8(rng.IntN(3)-1))
		}
		free := 0
		for _, s := range known.state {
			if s == 0 {
				free++
			}
		}
		opened := known.open()
		if free == 0 {
			continue
		}
		core := full.reduce(known, newVolume(full, plan{k: 1}, make([]int64, c.Clients)), make([]int64, c.Clients), make([]float64, c.Clients), &room{})
		var inner, outer []int32
		for q := range free {
			if q == 0 && len(opened) == 0 || rng.IntN(2) == 0 {
				inner = append(inner, int32(q))
				outer = append(outer, core.name[q])
			}
		}
		require.Equal(t, full.price(append(outer, opened...)), core.t.price(inner)+core.base)
	}
}

// The cost of a set that was reached by swaps is the cost of the set.
func TestSwapsKeepCount(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 4))
	for try := range 300 {
		m := 4 + rng.IntN(20)
		c := randomCosts(rng, 40, m)
		all := make([]int32, m)
		for j := range all {
			all[j] = int32(j)
		}
		full := c.table(all)
		p := plan{k: 2 + rng.IntN(m-3)}
		cut := try%2 == 0
		if cut { // swaps are then priced roughly
			full = cutOff(full, rng)
			full.row = func(i, j, _ int32) (int64, int32) {
				return fine * c.weight(int(i)) * int64(c.At[int(i)*m+int(j)]), math.MaxInt32
			}
		}
		w := newSwapper(full, p)
		s := full.serve(full.greedy(p))
		for {
			in, out, value := w.best(s)
			if value >= 0 {
				break
			}
			before := s.cost
			w.swap(s, in, out)
			if !cut {
				require.Equal(t, before+value, s.cost)
				require.Equal(t, full.price(s.open), s.cost)
			}
			in, out, value = w.best(s)
			inAnew, outAnew, valueAnew := newSwapper(full, p).best(s)
			require.Equal(t, []any{inAnew, outAnew, valueAnew}, []any{in, out, value}, "what a swap touches was counted otherwise")
			if s.cost >= before {
				break
			}
		}
		for _, in := range all { // no single swap helps
			for out := range s.open {
				if s.slot[in] >= 0 {
					continue
				}
				open := append([]int32(nil), s.open...)
				open[out] = in
				require.True(t, cut || full.price(open) >= s.cost)
			}
		}
	}
}

func TestMedianRefusesContradictions(t *testing.T) {
	c := randomCosts(rand.New(rand.NewPCG(5, 5)), 6, 5)
	for name, opt := range map[string]MedianOptions{
		"no k":                {},
		"negative k":          {K: -1},
		"k above all":         {K: 6},
		"k above the allowed": {K: 4, Avoid: []int{0, 1}},
		"kept above k":        {K: 1, Keep: []int{0, 1}},
		"keep and avoid":      {K: 2, Keep: []int{3}, Avoid: []int{3}},
		"no such facility":    {K: 2, Keep: []int{5}},
		"no such to avoid":    {K: 2, Avoid: []int{-1}},
	} {
		_, err := Median(context.Background(), c, opt)
		var said *say.Error
		require.True(t, errors.As(err, &said), name)
		assert.True(t, said.Usage, name)
		assert.NotEmpty(t, said.Try, name)
	}
}

func TestMedianRefusesBadCosts(t *testing.T) {
	for name, c := range map[string]Costs{
		"nothing":         {},
		"too few costs":   {Clients: 2, Facilities: 2, At: []int32{1, 2, 3}},
		"too few weights": {Clients: 2, Facilities: 1, At: []int32{1, 2}, Weight: []int64{1}},
		"negative cost":   {Clients: 1, Facilities: 2, At: []int32{1, -2}},
		"negative weight": {Clients: 1, Facilities: 1, At: []int32{1}, Weight: []int64{-1}},
		"too many":        {Clients: 1, Facilities: 1 << 16, At: make([]int32, 1<<16)},
		"too large":       {Clients: 1, Facilities: 1, At: []int32{1 << 30}, Weight: []int64{1 << 40}},
	} {
		_, err := Median(context.Background(), c, MedianOptions{K: 1})
		var said *say.Error
		require.True(t, errors.As(err, &said), name)
		assert.True(t, said.Usage, name)
	}
}

func TestMedianStopsCleanly(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	stop()
	c := randomCosts(rand.New(rand.NewPCG(6, 6)), 50, 12)
	s, err := Median(ctx, c, MedianOptions{K: 4})
	require.ErrorIs(t, err, context.Canceled)
	assert.Equal(t, plainCost(c, s.Open), s.Cost)
	assert.LessOrEqual(t, s.Bound, bruteForce(c, 4, nil, nil))
}
