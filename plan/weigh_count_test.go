package plan

import (
	"math/big"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestCountByWeight(t *testing.T) {
	weighed := func(s string) (w Weighed) {
		require.NoError(t, w.Set(s))
		return w
	}
	for _, c := range []struct {
		of, mass    string
		drills, off int
	}{
		{"500=4.20g", "4.20g", 500, 2},   // 4.195 / 4.205 and 4.205 / 4.195
		{"500=4.2g", "83.5g", 9940, 127}, // 83.55 of 4.15 is 10066.3,
		{"100=0.840g", "0g", 0, 60},      // a display without decimals
		{"1000=8g,0.1g", "16 g", 2000, 76},
	} {
		n, off, err := weighed(c.of).Count(c.mass)
		require.NoError(t, err)
		assert.Equal(t, []int{c.drills, c.off}, []int{n, off}, "%s of %s", c.mass, c.of)
	}
	// Against fractions: the true number lies within, whatever the two displays hid.
	w := weighed("500=4.2g")
	for tenths := int64(3); tenths < 400; tenths += 7 {
		n, off, err := w.Count(Mass(tenths*100_000).grams(1) + "g")
		require.NoError(t, err)
		for _, hidden := range [][2]int64{{-50, -50}, {-50, 50}, {50, -50}, {50, 50}} { // thousandths of a gram
			x := new(big.Rat).Mul(big.NewRat(100*tenths+hidden[0], 1), big.NewRat(500, 4200+hidden[1]))
			assert.LessOrEqual(t, x.Cmp(big.NewRat(int64(n+off), 1)), 0)
			assert.GreaterOrEqual(t, x.Cmp(big.NewRat(int64(n-off), 1)), 0)
		}
	}
	_, _, err := Weighed{}.Count("83.5g")
	assert.ErrorContains(t, err, "what the drills weigh")
	_, _, err = w.Count("many")
	assert.ErrorContains(t, err, "is not a weight")
	assert.True(t, IsMass("83,5 g"))
	assert.False(t, IsMass("83"))
}
