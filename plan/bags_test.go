package plan

import (
	"fmt"
	"math/rand/v2"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
)

// worthOf adds a mix up.
func worthOf(s Supply, counts []int) (w worth) {
	for i, n := range counts {
		b := s.Bags.Sizes[i]
		price := b.Price
		if !s.Bags.Priced {
			price = Price(s.sure(b))
		}
		w = worth{w.price + Price(n)*price, w.bags + n, w.drills + n*s.sure(b)}
	}
	return w
}

// tried is the slow definition: every mix that has enough, and no bag more.
func tried(s Supply, need int) worth {
	best, any := worth{}, false
	counts := make([]int, len(s.Bags.Sizes))
	var walk func(i, left int)
	walk = func(i, left int) {
		if i == len(counts) {
			if left > 0 {
				return
			}
			if w := worthOf(s, counts); !any || w.before(best) {
				best, any = w, true
			}
			return
		}
		size := s.sure(s.Bags.Sizes[i])
		for n := 0; ; n++ {
			counts[i] = n
			walk(i+1, left-n*size)
			if n*size >= left {
				break
			}
		}
		counts[i] = 0
	}
	walk(0, need)
	return best
}

// randomBags returns sizes up to largest, priced about alike a drill so that
// it takes some finding.
func randomBags(rng *rand.Rand, sizes, largest, tie int) (s Supply) {
	s = DefaultSupply()
	s.Bags.Priced = rng.IntN(4) > 0
	text := map[int]string{}
	for range sizes {
		n := 1 + rng.IntN(largest)
		if s.Bags.Priced {
			text[n] = fmt.Sprintf("%d:%s", n, Price(tie*((9*n+rng.IntN(4*n+1))/tie)).text(3))
		} else {
			text[n] = strconv.Itoa(n)
		}
	}
	var list []string
	for n := range largest + 1 {
		if text[n] != "" {
			list = append(list, text[n])
		}
	}
	if err := s.Bags.Set(strings.Join(list, ",")); err != nil {
		panic(err)
	}
	return s
}

// The slow definition gives the same price, number of bags and of drills, with
// few and many drills to buy, with and without prices, also where many prices
// are alike.
func TestMixIsTheCheapestOfAll(t *testing.T) {
	rng := rand.New(rand.NewPCG(12, 1))
	reduced, ties := 0, 0
	for range 2000 {
		s := randomBags(rng, 1+rng.IntN(3), 12, 1+rng.IntN(40))
		if rng.IntN(3) == 0 {
			s.BagFill = 50
			if s.sure(s.Bags.Sizes[0]) == 0 {
				s.BagFill = 100
			}
		}
		need := 1 + rng.IntN(60)
		counts := s.cheapest(need)
		is := worthOf(s, counts)
		require.GreaterOrEqual(t, is.drills, need)
		require.Equal(t, tried(s, need), is, "%s at %d%% for %d: %v", s.Bags.String(), s.BagFill, need, counts)
		if last := s.Bags.Sizes[len(s.Bags.Sizes)-1]; need > last.Drills*last.Drills {
			reduced++
		}
		if is.price == 0 || !s.Bags.Priced {
			ties++
		}
	}
	require.Greater(t, reduced, 300, "great numbers were among them")
	require.Greater(t, ties, 300, "mixes that only the number of bags tells apart were among them")
}

// glpsol buys with GLPK's branch and bound (Debian glpk-utils), and returns
// what it costs.
func glpsol(t *testing.T, s Supply, need int) (cost Price) {
	var lp strings.Builder
	lp.WriteString("Minimize\n cost:")
	for i, b := range s.Bags.Sizes {
		fmt.Fprintf(&lp, " + %d n%d", b.Price, i)
	}
	lp.WriteString("\nSubject To\n enough:")
	for i, b := range s.Bags.Sizes {
		fmt.Fprintf(&lp, " + %d n%d", s.sure(b), i)
	}
	fmt.Fprintf(&lp, " >= %d\nGeneral\n", need)
	for i := range s.Bags.Sizes {
		fmt.Fprintf(&lp, " n%d\n", i)
	}
	lp.WriteString("End\n")
	text := checker.GLPK(t, lp.String())
	found := regexp.MustCompile(`n(\d+)\s+\*?\s+([0-9.e+]+)`).FindAllStringSubmatch(text, -1)
	require.Len(t, found, len(s.Bags.Sizes))
	for _, m := range found {
		i, _ := strconv.Atoi(m[1])
		n, err := strconv.ParseFloat(m[2], 64)
		require.NoError(t, err)
		cost += Price(n+0.5) * s.Bags.Sizes[i].Price
	}
	return cost
}

// An independent solver finds nothing cheaper, at usual and odd sizes.
func TestMixAgreesWithGLPK(t *testing.T) {
	checker.Need(t, "glpsol")
	rng := rand.New(rand.NewPCG(12, 2))
	for _, c := range []struct {
		bags string
		fill int
	}{
		{"200:0.50,1000:1.80,5000:7", 100},
		{"200:0.50,1000:1.80,5000:7", 95},
		{"200:0.50,500:0.99,1000:1.80,2000:3.40,5000:7,10000:13", 97},
		{"187:0.49,943:1.77,4711:7.03", 100},
	} {
		s := DefaultSupply()
		require.NoError(t, s.Bags.Set(c.bags))
		require.NoError(t, s.BagFill.Set(strconv.Itoa(c.fill)))
		for range 3 { // one at a time: together they are a hard problem for it
			need := 20 + rng.IntN(8000)
			counts := s.cheapest(need)
			require.Equal(t, glpsol(t, s, need), worthOf(s, counts).price, "%s for %d: %v", s.Bags.String(), need, counts)
		}
	}
}

// Great numbers and awkward sizes end soon enough to be asked for on the way.
func BenchmarkMix(b *testing.B) {
	for _, c := range []struct {
		name, bags string
		need       int
	}{{"usual", "200:0.50,1000:1.80,5000:7", 2572}, {"odd", "187:0.49,943:1.77,4711:7.03", 2572}, {"odd-shop", "187:0.49,943:1.77,4711:7.03", MostDrills}} {
		b.Run(c.name, func(b *testing.B) {
			s := DefaultSupply()
			require.NoError(b, s.Bags.Set(c.bags))
			for b.Loop() {
				s.cheapest(c.need)
			}
		})
	}
}

func TestMoney(t *testing.T) {
	for bags, want := range map[string]string{"200:50": "1234", "200:0.5": "1234.00", "200:1.125": "1234.000"} {
		var b Bags
		require.NoError(t, b.Set(bags))
		assert.Equal(t, want, b.Money(1234000))
	}
}
