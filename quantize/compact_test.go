package quantize

import (
	"context"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"kitwright/lab"
)

// A compact table makes no set dearer, leaves no client out, and keeps the sum
// of the offers, on the way there and back.
func TestCompactCostsNoMore(t *testing.T) {
	rng := rand.New(rand.NewPCG(31, 31))
	cut := 0
	for range 1000 {
		m := 3 + rng.IntN(7)
		costs := randomCosts(rng, 1+rng.IntN(30), m)
		all := make([]int32, m)
		for j := range all {
			all[j] = int32(j)
		}
		full := cutOff(costs.table(all), rng)
		c := full.reduce(newSettled(m), &volume{dual: dual{y: make([]float64, m)}}, make([]int64, full.clients()), make([]float64, full.clients()), &room{})
		p := plan{k: 1 + rng.IntN(m-1)}
		sum, weight := int64(0), 0.0
		for i := range c.lam {
			c.lam[i] = c.t.cost[c.t.start[i]] + rng.Int64N(1+c.t.end[i]-c.t.cost[c.t.start[i]])
			sum += c.lam[i]
			weight += c.t.weight[i]
		}
		for j := range c.y {
			c.y[j] = rng.Float64()
		}
		if c.t.clients() == 0 {
			continue
		}
		n := &node{s: &solver{}, t: c.t, plan: p}
		w := n.compact(c)
		if len(w.t.fac) < len(c.t.fac) {
			cut++
		}
		var offers int64
		var weights float64
		for i, l := range n.mark {
			offers += l
			weights += w.t.weight[i]
		}
		require.Equal(t, sum, offers)
		require.InDelta(t, weight, weights, 1e-9*weight)
		lam, _ := n.carried(&volume{t: w.t, dual: dual{lam: n.mark}, v: make([]float64, w.t.clients()), g: make([]float64, w.t.clients())})
		require.Equal(t, c.lam, lam)
		moved := &volume{t: w.t, dual: dual{lam: slices.Clone(n.mark)}, v: make([]float64, w.t.clients()), g: make([]float64, w.t.clients())}
		offers = 0
		for i := range moved.lam {
			moved.lam[i] += rng.Int64N(fine) - fine/2
			offers += moved.lam[i]
		}
		lam, _ = n.carried(moved)
		for _, l := range lam {
			offers -= l
		}
		require.InDelta(t, 0, offers, float64(len(lam)), "the offers are shared out by weight, but for rounding")
		for set := 1; set < 1<<m; set++ {
			var open []int32
			for j := range m {
				if set>>j&1 > 0 {
					open = append(open, int32(j))
				}
			}
			require.LessOrEqual(t, w.t.price(open), c.t.price(open), "%v of %+v", open, costs)
		}
	}
	require.Greater(t, cut, 500, "hardly a table got smaller, so nothing was tried")
}

// What little effort proves, more effort finds, to the last color: also where
// many sets cost the same.
func TestProvenAtAnyEffort(t *testing.T) {
	least, most := limitsOf(Quick), limitsOf(Prove)
	require.Less(t, least.work, most.work)
	least.work = most.work
	require.Equal(t, most, least, "efforts may differ in nothing but the work")
	card := munsell(t)
	rng := rand.New(rand.NewPCG(32, 32))
	few := lab.NewGrid(24, 20) // between two colors of the card each
	for i := range few.Cells {
		a, b := card[rng.IntN(40)*11], card[rng.IntN(40)*11+1]
		few.Cells[i] = lab.Color{L: (a.L + b.L) / 2, A: (a.A + b.A) / 2, B: (a.B + b.B) / 2}.Round()
	}
	proven := 0
	for _, g := range []*lab.Grid{few, demoGrid(t, 40, 50)} {
		p, err := Prepare(g, card)
		require.NoError(t, err)
		for _, k := range []int{2, 5, 18, 30} {
			quick, err := p.Select(context.Background(), Options{K: k, Rare: 0.7, Effort: Quick})
			require.NoError(t, err)
			if quick.Gap() > 0 {
				continue
			}
			proven++
			more, err := p.Select(context.Background(), Options{K: k, Rare: 0.7})
			require.NoError(t, err)
			require.True(t, slices.Equal(quick.Chosen, more.Chosen), "%d colors: %v and %v", k, quick.Chosen, more.Chosen)
			require.Equal(t, quick.Bound, more.Bound)
		}
	}
	require.GreaterOrEqual(t, proven, 5)
}
