package stash

import (
	"context"
	"fmt"
	"math/rand/v2"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
	"kitwright/lab"
	"kitwright/palettes"
)

// shortages is a picture in colors of the built-in card, of which some fall
// short, and a stash of others.
type shortages struct {
	wanted []Wanted
	kept   []lab.Color
	offers []Offer
}

func randomShortages(t testing.TB, dice *rand.Rand, colors, short, owned int) (s shortages) {
	card, err := palettes.Named("munsell")
	require.NoError(t, err)
	order := dice.Perm(len(card.Drills))
	pick := func() lab.Color {
		c := card.Drills[order[0]].Lab
		order = order[1:]
		return c
	}
	for i := range colors {
		if i < short {
			s.wanted = append(s.wanted, Wanted{pick(), 20 + dice.IntN(900)})
		} else {
			s.kept = append(s.kept, pick())
		}
	}
	for range owned {
		s.offers = append(s.offers, Offer{Color: pick(), Drills: dice.IntN(2000)})
	}
	return s
}

// allowed is the rule, written once more and plainly.
func (s shortages) allowed(choice []int, apart, within float64) bool {
	was, is := []lab.Color{}, []lab.Color{}
	used := map[int]bool{}
	for i, c := range choice {
		was = append(was, s.wanted[i].Color)
		if c < 0 {
			is = append(is, s.wanted[i].Color)
			continue
		}
		if used[c] || s.offers[c].Drills < s.wanted[i].Drills || lab.DeltaE(s.wanted[i].Color, s.offers[c].Color) > within {
			return false
		}
		used[c] = true
		is = append(is, s.offers[c].Color)
	}
	was, is = append(was, s.kept...), append(is, s.kept...)
	for i := range is {
		for j := range i {
			now, before := lab.DeltaE(is[i], is[j]), lab.DeltaE(was[i], was[j])
			if now < apart && now < before {
				return false
			}
		}
	}
	return true
}

func (s shortages) worth(choice []int) (bought int, cost int64) {
	for i, c := range choice {
		if c < 0 {
			bought++
		} else {
			cost += int64(s.wanted[i].Drills) * int64(lab.DeltaE(s.wanted[i].Color, s.offers[c].Color)*scale+0.5)
		}
	}
	return bought, cost
}

// Every choice of three to four shortages is tried out.
func TestStandInsAgainstAllChoices(t *testing.T) {
	cases := 300
	if testing.Short() {
		cases = 60
	}
	replaced, bought, naiveWrong := 0, 0, 0
	for seed := range cases {
		dice := rand.New(rand.NewPCG(uint64(seed), 3))
		s := randomShortages(t, dice, 12, 2+dice.IntN(3), 6+dice.IntN(8))
		apart, within := []float64{4, 8, 12}[dice.IntN(3)], []float64{10, 30}[dice.IntN(2)]
		got, err := FindStandIns(context.Background(), s.wanted, s.kept, s.offers, apart, within)
		require.NoError(t, err)
		require.True(t, got.Proven)
		require.True(t, s.allowed(got.For, apart, within))
		bestBought, bestCost := len(s.wanted)+1, int64(0)
		choice := make([]int, len(s.wanted))
		var all func(i int)
		all = func(i int) {
			if i == len(choice) {
				if b, c := s.worth(choice); (b < bestBought || b == bestBought && c < bestCost) && s.allowed(choice, apart, within) {
					bestBought, bestCost = b, c
				}
				return
			}
			for c := -1; c < len(s.offers); c++ {
				choice[i] = c
				all(i + 1)
			}
		}
		all(0)
		b, c := s.worth(got.For)
		require.Equal(t, got.Cost, c)
		require.Equal(t, []any{bestBought, bestCost}, []any{b, c}, "case %d", seed)
		replaced, bought = replaced+len(s.wanted)-b, bought+b
		nearest := make([]int, len(s.wanted))
		for i, w := range s.wanted {
			nearest[i] = -1
			for j, o := range s.offers {
				if o.Drills >= w.Drills && (nearest[i] < 0 || lab.DeltaE(w.Color, o.Color) < lab.DeltaE(w.Color, s.offers[nearest[i]].Color)) {
					nearest[i] = j
				}
			}
		}
		if !s.allowed(nearest, apart, within) {
			naiveWrong++
		}
	}
	t.Logf("%d replaced, %d to be bought; taking the nearest for each would be wrong in %d of %d", replaced, bought, naiveWrong, cases)
	assert.Greater(t, replaced, cases/2)
	assert.Greater(t, bought, cases/20)
	assert.Greater(t, naiveWrong, cases/20)
}

// glpsol (GLPK) solves the same as an integer program: middle instances, where
// pairs that must not meet bind.
func TestStandInsAgainstGLPK(t *testing.T) {
	checker.Need(t, "glpsol")
	cases := 5
	if testing.Short() {
		cases = 2
	}
	for seed := range cases {
		dice := rand.New(rand.NewPCG(uint64(seed), 21))
		s := randomShortages(t, dice, 30, 12, 100)
		const apart, within = 9, 30
		got, err := FindStandIns(context.Background(), s.wanted, s.kept, s.offers, apart, within)
		require.NoError(t, err)
		require.True(t, got.Proven)
		require.True(t, s.allowed(got.For, apart, within))
		bought, cost := s.worth(got.For)
		none := s.none(within)
		assert.Equal(t, int64(bought)*none+cost, s.glpk(t, apart, within, none), "case %d", seed)
	}
}

// none is what having to buy a color costs in the integer program.
func (s shortages) none(within float64) int64 {
	sum := int64(1)
	for _, w := range s.wanted {
		sum += int64(w.Drills) * int64(within*scale+1)
	}
	return sum
}

// glpk writes the integer program in the LP format and returns the optimum.
func (s shortages) glpk(t *testing.T, apart, within float64, none int64) int64 {
	var goal, rows, vars strings.Builder
	name := func(i, c int) string { return fmt.Sprintf("x%d_%d", i, c+1) }
	can := func(i, c int) bool {
		one := make([]int, len(s.wanted))
		for k := range one {
			one[k] = -1
		}
		one[i] = c
		part := shortages{s.wanted[i : i+1], s.kept, s.offers}
		return part.allowed([]int{c}, apart, within)
	}
	ok := make([][]int, len(s.wanted))
	use := map[int][]string{}
	for i := range s.wanted {
		var sum []string
		for c := -1; c < len(s.offers); c++ {
			if c >= 0 && !can(i, c) {
				continue
			}
			ok[i] = append(ok[i], c)
			v := none
			if c >= 0 {
				v = int64(s.wanted[i].Drills) * int64(lab.DeltaE(s.wanted[i].Color, s.offers[c].Color)*scale+0.5)
				use[c] = append(use[c], name(i, c))
			}
			fmt.Fprintf(&goal, " + %d %s\n", v, name(i, c))
			fmt.Fprintf(&vars, " %s\n", name(i, c))
			sum = append(sum, name(i, c))
		}
		fmt.Fprintf(&rows, " one%d: %s = 1\n", i, strings.Join(sum, " + "))
	}
	for c := range s.offers {
		if len(use[c]) > 1 {
			fmt.Fprintf(&rows, " use%d: %s <= 1\n", c, strings.Join(use[c], " + "))
		}
	}
	for i := range s.wanted {
		for j := range i {
			for _, a := range ok[i] {
				for _, b := range ok[j] {
					pair := shortages{[]Wanted{s.wanted[i], s.wanted[j]}, nil, s.offers}
					if a != b && !pair.allowed([]int{a, b}, apart, within) {
						fmt.Fprintf(&rows, " p%d_%d_%d_%d: %s + %s <= 1\n", i, j, a+1, b+1, name(i, a), name(j, b))
					}
				}
			}
		}
	}
	text := checker.GLPK(t, "Minimize\n goal: "+goal.String()+"Subject To\n"+rows.String()+"Binary\n"+vars.String()+"End\n")
	picked := regexp.MustCompile(`(?m)^ *\d+ (x\d+_\d+) *\n? *\* +1 `).FindAllStringSubmatch(text, -1)
	require.Len(t, picked, len(s.wanted))
	total := int64(0)
	for _, p := range picked { // summed here: glpsol prints six digits
		i, c, _ := strings.Cut(strings.TrimPrefix(p[1], "x"), "_")
		row, err1 := strconv.Atoi(i)
		col, err2 := strconv.Atoi(c)
		require.NoError(t, err1)
		require.NoError(t, err2)
		if col == 0 {
			total += none
		} else {
			total += int64(s.wanted[row].Drills) * int64(lab.DeltaE(s.wanted[row].Color, s.offers[col-1].Color)*scale+0.5)
		}
	}
	return total
}

func TestStandInsOfNothing(t *testing.T) {
	ctx := context.Background()
	got, err := FindStandIns(ctx, nil, nil, nil, 4, 10)
	require.NoError(t, err)
	assert.Empty(t, got.For)
	gray := lab.Color{L: 50}
	got, err = FindStandIns(ctx, []Wanted{{gray, 10}, {lab.Color{L: 52}, 10}}, []lab.Color{{L: 60}}, nil, 4, 10)
	require.NoError(t, err)
	assert.Equal(t, []int{-1, -1}, got.For, "nothing is owned")
	stopped, stop := context.WithCancel(ctx)
	stop()
	_, err = FindStandIns(stopped, []Wanted{{gray, 10}}, nil, nil, 4, 10)
	assert.ErrorIs(t, err, context.Canceled)
}

// BenchmarkStandIns goes through 300 kits of 30 colors, 8 to 15 of them short,
// with 60 to 200 other colors owned.
func BenchmarkStandIns(b *testing.B) {
	var kits []shortages
	for seed := range 300 {
		dice := rand.New(rand.NewPCG(uint64(seed), 17))
		kits = append(kits, randomShortages(b, dice, 30, 8+dice.IntN(8), 60+dice.IntN(141)))
	}
	for _, apart := range []float64{4, 6, 8} {
		b.Run(fmt.Sprintf("apart %.0f", apart), func(b *testing.B) {
			worst, replaced, bought, proven := time.Duration(0), 0, 0, 0
			for b.Loop() {
				replaced, bought, proven = 0, 0, 0
				for _, s := range kits {
					start := time.Now()
					got, err := FindStandIns(context.Background(), s.wanted, s.kept, s.offers, apart, 30)
					if err != nil {
						b.Fatal(err)
					}
					worst = max(worst, time.Since(start))
					n, _ := s.worth(got.For)
					replaced, bought = replaced+len(s.wanted)-n, bought+n
					if got.Proven {
						proven++
					}
				}
			}
			b.ReportMetric(float64(b.Elapsed().Microseconds())/1000/float64(b.N*len(kits)), "ms/kit")
			b.ReportMetric(float64(worst.Microseconds())/1000, "worst-ms")
			b.ReportMetric(float64(proven), "proven")
			b.ReportMetric(float64(replaced), "replaced")
			b.ReportMetric(float64(bought), "bought")
		})
	}
}
