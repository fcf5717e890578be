package quantize

import (
	"context"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/lab"
)

// randomGoods makes clients with costs, of which some are equal and some count
// more.
func randomGoods(rng *rand.Rand, clients, columns, most int) *goods {
	g := &goods{cols: columns}
	for i := range clients {
		g.row = append(g.row, int32(i))
		g.factor = append(g.factor, 1+rng.Int64N(3))
		g.count = append(g.count, 1+rng.Int64N(3))
		g.cells += g.count[i]
		for range columns {
			g.cost = append(g.cost, rng.Int32N(int32(most)))
		}
	}
	return g
}

// leastServed is the least cost by trying everything, one cell after the other; -1
// where the rooms do not suffice.
func leastServed(g *goods, room []int64) int64 {
	var cells []int32
	for i, n := range g.count {
		for range n {
			cells = append(cells, int32(i))
		}
	}
	left := slices.Clone(room)
	best := int64(-1)
	var try func(at int, cost int64)
	try = func(at int, cost int64) {
		if best >= 0 && cost >= best {
			return
		}
		if at == len(cells) {
			best = cost
			return
		}
		for c := range left {
			if left[c] > 0 {
				left[c]--
				try(at+1, cost+g.at(cells[at], int32(c)))
				left[c]++
			}
		}
	}
	try(0, 0)
	return best
}

// checkHaul says that a solution serves every cell once, no color above its
// room, and that its prices prove its cost.
func checkHaul(t *testing.T, h *haul) {
	load := make([]int64, len(h.column))
	for i, shares := range h.hold {
		sum := int64(0)
		for _, s := range shares {
			require.Positive(t, s.cells)
			sum += s.cells
			load[s.slot] += s.cells
		}
		require.Equal(t, h.count[i], sum)
	}
	for a, n := range load {
		require.LessOrEqual(t, n, h.room[a])
		require.GreaterOrEqual(t, h.price[a], int64(0))
	}
	require.Equal(t, load, h.load)
	require.Equal(t, h.total(), h.dual(), "the prices prove the cost")
}

// 20,000 small problems against trying everything: no room, just enough, and
// without end; from no prices, from random ones, and from those of a solution.
func TestHaulAgainstBruteForce(t *testing.T) {
	rng := rand.New(rand.NewPCG(12, 3))
	short, solved, runs := 0, 0, 20_000
	if testing.Short() {
		runs = 4000
	}
	for range runs {
		n, k := 1+rng.IntN(4), 1+rng.IntN(4)
		most := []int{2, 5, 100}[rng.IntN(3)]
		g := randomGoods(rng, n, k, most)
		room, column := make([]int64, k), make([]int32, k)
		sum := int64(0)
		for c := range room {
			column[c] = int32(c)
			switch rng.IntN(6) {
			case 0:
				room[c] = Unlimited
			case 1:
			default:
				room[c] = rng.Int64N(g.cells + 1)
			}
			sum += room[c]
		}
		want := leastServed(g, room)
		if want < 0 {
			short++
			require.Less(t, sum, g.cells)
			continue
		}
		solved++
		h := newHaul(g, column, room, nil)
		checkHaul(t, h)
		require.Equal(t, want, h.total())
		price := make([]int64, k)
		for c := range price {
			price[c] = rng.Int64N(int64(3 * most))
		}
		for _, from := range [][]int64{price, h.price} {
			again := newHaul(g, column, room, from)
			checkHaul(t, again)
			require.Equal(t, want, again.total())
		}
	}
	assert.Greater(t, short, runs/10)
	assert.Greater(t, solved, runs/2)
}

// owning returns rooms for so many colors of a card, spread over it, that
// together suffice for share of the cells.
func owning(rng *rand.Rand, colors, owned int, cells int, share float64) []int64 {
	room := make([]int64, colors)
	sum := 0.0
	size := make([]float64, colors)
	for _, j := range rng.Perm(colors)[:owned] {
		size[j] = 1 + 20*rng.Float64()*rng.Float64()
		sum += size[j]
	}
	for j, s := range size {
		if s > 0 {
			room[j] = 1 + int64(s/sum*share*float64(cells))
		}
	}
	return room
}

func TestSupplied(t *testing.T) {
	g := demoGrid(t, 60, 80)
	card := munsell(t)
	for j := range len(card) / 3 {
		card[j] = card[3*j]
	}
	card = card[:len(card)/3]
	p, err := Prepare(g, card)
	require.NoError(t, err)
	rng := rand.New(rand.NewPCG(12, 4))
	cells := len(g.Cells)
	bagged := func(room []int64) func(color, bags int) int64 {
		return func(color, bags int) int64 { return room[color] + 180*int64(bags) }
	}
	for name, want := range map[string]Supply{
		"fixed":          {Options: Options{K: 100}, Room: owning(rng, len(card), 40, cells, 1.3)},
		"few of many":    {Options: Options{K: 20}, Room: owning(rng, len(card), 80, cells, 4)},
		"new colors":     {Options: Options{K: 100}, Room: owning(rng, len(card), 40, cells, 1.1), Buy: 3},
		"too few owned":  {Options: Options{K: 100, Rare: 0.7}, Room: owning(rng, len(card), 40, cells, 0.5), Buy: 2},
		"few and new":    {Options: Options{K: 24}, Room: owning(rng, len(card), 60, cells, 2), Buy: 4},
		"bags":           {Options: Options{K: 100}, Room: owning(rng, len(card), 40, cells, 1.1), Bags: 5},
		"bags and few":   {Options: Options{K: 30}, Room: owning(rng, len(card), 30, cells, 0.8), Bags: 12},
		"kept, not here": {Options: Options{K: 30, Keep: []int{5, 9}}, Room: owning(rng, len(card), 20, cells, 2), Buy: 3},
	} {
		t.Run(name, func(t *testing.T) {
			if want.Bags > 0 {
				want.Bagged = bagged(want.Room)
			}
			if testing.Short() && want.K < 100 {
				want.Effort = Quick
			}
			s, err := p.Supplied(context.Background(), want)
			require.NoError(t, err)
			checkSupplied(t, p, want, s)
			t.Logf("%d colors, mean cost %.3f, gap on bins %.3f %%", len(s.Chosen), float64(s.Cost)/Unit/float64(s.Weight), 100*s.BinGap())
			again, err := p.Supplied(context.Background(), want)
			require.NoError(t, err)
			assert.Equal(t, s, again, "the same once more")
		})
	}
}

// checkSupplied says that an answer keeps to what was asked.
func checkSupplied(t *testing.T, p *Problem, want Supply, s *Supplied) {
	t.Helper()
	require.LessOrEqual(t, len(s.Chosen), want.K)
	require.True(t, slices.IsSorted(s.Chosen))
	load, news, bags := make([]int64, len(s.Chosen)), 0, 0
	for c, at := range s.Cells {
		load[at]++
		if want.Fixed != nil && want.Fixed[c] >= 0 {
			require.Equal(t, int(want.Fixed[c]), s.Chosen[at])
		}
	}
	for at, j := range s.Chosen {
		require.NotContains(t, want.Avoid, j)
		room := want.Room[j]
		switch {
		case want.Bags > 0 && s.Bags[at] > 0:
			room = want.Bagged(j, s.Bags[at])
			bags += s.Bags[at]
		case s.New[at]:
			room = Unlimited
			news++
		}
		require.Equal(t, want.Room[j] == 0, s.New[at])
		require.LessOrEqual(t, load[at], room, "never more than there is")
		require.Equal(t, room, s.Room[at])
		require.GreaterOrEqual(t, s.Price[at], int64(0))
	}
	if want.Bags == 0 {
		require.LessOrEqual(t, news, want.Buy)
	}
	require.LessOrEqual(t, bags, want.Bags)
	for _, j := range want.Keep {
		require.Contains(t, s.Chosen, j)
	}
	require.Equal(t, s.Cost, s.Dual, "proven for these colors and rooms")
	require.LessOrEqual(t, s.BinBound, s.BinCost)
	require.GreaterOrEqual(t, s.BinBound, int64(0))
}

func TestSuppliedTooFew(t *testing.T) {
	g := demoGrid(t, 30, 40)
	card := []lab.Color{{L: 20}, {L: 50}, {L: 80}}
	p, err := Prepare(g, card)
	require.NoError(t, err)
	_, err = p.Supplied(context.Background(), Supply{Options: Options{K: 3}, Room: []int64{300, 400, 499}})
	var short *Short
	require.ErrorAs(t, err, &short)
	assert.Equal(t, Short{Cells: 1200, Room: 1199, Color: -1}, *short)
	s, err := p.Supplied(context.Background(), Supply{Options: Options{K: 3}, Room: []int64{300, 400, 500}})
	require.NoError(t, err)
	load := make([]int, 3)
	for _, at := range s.Cells {
		load[at]++
	}
	assert.Equal(t, []int{300, 400, 500}, load, "just enough is enough")

	fixed := make([]int32, len(g.Cells))
	for c := range fixed {
		fixed[c] = -1
		if c < 100 {
			fixed[c] = 1
		}
	}
	_, err = p.Supplied(context.Background(), Supply{Options: Options{K: 3, Fixed: fixed}, Room: []int64{2000, 99, 2000}})
	require.ErrorAs(t, err, &short)
	assert.Equal(t, Short{Cells: 100, Room: 99, Color: 1}, *short)
}

// The five that help most are those that trying every color finds.
func TestHelpsAgainstAll(t *testing.T) {
	g := demoGrid(t, 30, 40)
	card := munsell(t)
	for j := range len(card) / 5 {
		card[j] = card[5*j]
	}
	card = card[:len(card)/5]
	p, err := Prepare(g, card)
	require.NoError(t, err)
	rng := rand.New(rand.NewPCG(12, 8))
	ctx := context.Background()
	for _, share := range []float64{1.02, 1.3, 3} {
		owned := owning(rng, len(card), 12, len(g.Cells), share)
		var chosen []int
		var room []int64
		for j, r := range owned {
			if r > 0 {
				chosen, room = append(chosen, j), append(room, r)
			}
		}
		more := func(j int) int64 {
			if j%7 == 0 {
				return 0
			}
			return owned[j] + 40
		}
		helps, base, err := p.Helps(ctx, chosen, room, more, 5, Options{})
		require.NoError(t, err)
		s, err := p.Assign(ctx, chosen, room, Options{})
		require.NoError(t, err)
		require.Equal(t, s.Cost, base)
		var all []Help
		for j := range card {
			if more(j) == 0 {
				continue
			}
			with, rooms := slices.Clone(chosen), slices.Clone(room)
			if at, has := slices.BinarySearch(with, j); has {
				rooms[at] = more(j)
			} else {
				with, rooms = slices.Insert(with, at, j), slices.Insert(rooms, at, more(j))
			}
			s, err := p.Assign(ctx, with, rooms, Options{})
			require.NoError(t, err)
			all = append(all, Help{j, s.Cost})
		}
		slices.SortStableFunc(all, func(a, b Help) int { return int(a.Cost - b.Cost) })
		require.Equal(t, all[:5], helps)
	}
}

// Scarce drills go where a miss counts more: a disc in the middle that counts
// twice comes closer by a tenth and more, for a fiftieth of the whole at most.
func TestScarceDrillsGoWhereTheyCount(t *testing.T) {
	g := demoGrid(t, 60, 80)
	card := munsell(t)
	p, err := Prepare(g, card)
	require.NoError(t, err)
	rng := rand.New(rand.NewPCG(12, 10))
	focus := make([]uint16, len(g.Cells))
	in := 0
	for c := range focus {
		focus[c] = 16
		if dx, dy := c%60-30, c/60-40; dx*dx+dy*dy < 15*15 {
			focus[c] = 32
			in++
		}
	}
	for _, share := range []float64{1.1, 1.3} {
		owned := owning(rng, len(card), 50, len(g.Cells), share)
		var chosen []int
		var room []int64
		for j, r := range owned {
			if r > 0 {
				chosen, room = append(chosen, j), append(room, r)
			}
		}
		mean := func(opt Options) (inside, all float64) {
			s, err := p.Assign(context.Background(), chosen, room, opt)
			require.NoError(t, err)
			for c, at := range s.Cells {
				d := lab.DeltaE(g.Cells[c], card[s.Chosen[at]])
				all += d
				if focus[c] > 16 {
					inside += d
				}
			}
			return inside / float64(in), all / float64(len(g.Cells))
		}
		plainIn, plain := mean(Options{})
		focusedIn, focused := mean(Options{Focus: focus})
		t.Logf("share %.1f: in the disc %.3f -> %.3f (%.1f %%), all %.3f -> %.3f (%+.2f %%)", share, plainIn, focusedIn, 100*(focusedIn/plainIn-1), plain, focused, 100*(focused/plain-1))
		assert.Less(t, focusedIn, .9*plainIn)
		assert.Less(t, focused, 1.02*plain)
	}
}

// A search that is ended at once still keeps to the rooms, or has nothing.
func TestSuppliedStops(t *testing.T) {
	g := demoGrid(t, 30, 40)
	card := munsell(t)
	p, err := Prepare(g, card)
	require.NoError(t, err)
	rng := rand.New(rand.NewPCG(12, 11))
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	want := Supply{Options: Options{K: 10}, Room: owning(rng, len(card), 30, len(g.Cells), 6)}
	s, err := p.Supplied(ctx, want)
	require.ErrorIs(t, err, context.Canceled)
	checkSupplied(t, p, want, s)
	s, err = p.Supplied(ctx, Supply{Options: Options{K: 10}, Room: owning(rng, len(card), 3, len(g.Cells), .1), Buy: 2})
	require.ErrorIs(t, err, context.Canceled)
	require.Nil(t, s)
}
