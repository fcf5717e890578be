package plan

import (
	"math/big"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Worked out by hand: 500 drills of 4.2 g are 8.4 mg each, and half a step of
// 0.1 g among 500 is 0.1 mg each.
func TestGramsByHand(t *testing.T) {
	for _, c := range []struct {
		weighed    string
		drills     int
		grams, off string
	}{
		{"500=4.2g", 500, "4.20", "0.05"},
		{"500=4.2g", 2572, "21.6", "0.3"},
		{"500=4.2g", 257, "2.16", "0.03"},
		{"500=4.2g", 120, "1.008", "0.012"},
		{"500=4g,1g", 2572, "21", "3"},
		{"1000=8.40g", 2572, "21.605", "0.013"},
		{"500=4.2g", 1_000_000, "8400", "100"},
		{"500=4.2g,2g", 1_000_000, "8400", "2000"},
		{"", 500, "", ""},
	} {
		var w Weighed
		require.NoError(t, w.Set(c.weighed))
		grams, off := w.Grams(c.drills)
		assert.Equal(t, [2]string{c.grams, c.off}, [2]string{grams, off}, "%s for %d", c.weighed, c.drills)
	}
}

// A display may be off by half a step either way (JCGM 100:2008, F.2.2.1, from
// memory): whatever the drills truly weigh, what is told holds it within what
// it says it may be off, and the half step is used up to less than two steps of
// the last digit told, rounding included.
func TestGramsHoldEveryTrueWeight(t *testing.T) {
	for _, text := range []string{"500=4.2g", "10=0.09g", "137=1.1g", "1000=8.401g", "300=2g,1g", "250=2.1g,0.2g"} {
		var w Weighed
		require.NoError(t, w.Set(text))
		for n := 1; n < 3000; n += 7 {
			grams, off := w.Grams(n)
			told, ok1 := new(big.Rat).SetString(grams)
			u, ok2 := new(big.Rat).SetString(off)
			require.True(t, ok1 && ok2)
			digit := big.NewRat(1, 1)
			if _, part, ok := cutPoint(off); ok {
				for range part {
					digit.Quo(digit, big.NewRat(10, 1))
				}
			}
			for _, half := range []int64{-1, 1} {
				truth := big.NewRat((2*int64(w.Weight)+half*int64(w.Step))*int64(n), 2*int64(w.Drills)*int64(gram))
				apart := new(big.Rat).Sub(truth, told)
				apart.Abs(apart)
				// Rounding the weight may take half a digit more.
				most := new(big.Rat).Add(u, new(big.Rat).Quo(digit, big.NewRat(2, 1)))
				require.LessOrEqual(t, apart.Cmp(most), 0, "%s for %d: %s and %s", text, n, grams, off)
			}
			halfStep := big.NewRat(int64(w.Step)*int64(n), 2*int64(w.Drills)*int64(gram))
			over := new(big.Rat).Sub(u, halfStep)
			require.True(t, over.Sign() >= 0 && over.Cmp(digit) < 0, "%s for %d: %s", text, n, off)
			require.LessOrEqual(t, significant(off), 2, off)
		}
	}
}

func cutPoint(s string) (whole, part string, ok bool) {
	for i := range s {
		if s[i] == '.' {
			return s[:i], s[i+1:], true
		}
	}
	return s, "", false
}

// significant counts the digits of a number from the first that is not 0.
func significant(s string) (n int) {
	v, err := strconv.ParseFloat(s, 64)
	if err != nil || v >= 100 {
		return 0 // whole grams are told whole
	}
	for _, r := range s {
		if r >= '1' && r <= '9' || n > 0 && r == '0' {
			n++
		}
	}
	return n
}
