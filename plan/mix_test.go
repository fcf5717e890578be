package plan

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestShareAddsUp(t *testing.T) {
	assert.Equal(t, []Price{34, 33, 33}, Share(100, []int{1, 1, 1}))
	assert.Equal(t, []Price{0, 100}, Share(100, []int{0, 7}))
	assert.Equal(t, []Price{100, 0}, Share(100, []int{0, 0}))
	assert.Empty(t, Share(100, nil))
	dice := rand.New(rand.NewPCG(4, 4))
	for range 500 {
		all, weights := Price(dice.IntN(100_000)), make([]int, 1+dice.IntN(12))
		sum := 0
		for i := range weights {
			weights[i] = dice.IntN(30_000)
			sum += weights[i]
		}
		total := Price(0)
		for i, p := range Share(all, weights) {
			total += p
			if exact := float64(all) * float64(weights[i]) / float64(max(sum, 1)); sum > 0 {
				assert.InDelta(t, exact, float64(p), 1)
			}
		}
		assert.Equal(t, all, total)
	}
}
