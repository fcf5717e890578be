package kit

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"

	"kitwright/internal/say"
)

// Parts that are worked on at once are told as one whole that only grows.
func TestShares(t *testing.T) {
	var told []int
	ctx := say.WithProgress(context.Background(), func(stage string, done, total int) {
		assert.Equal(t, "making", stage)
		assert.Equal(t, 300, total)
		told = append(told, done)
	})
	s := newShares(ctx, "making", 3)
	say.Step(s.of(0, ctx), "placing", 1, 2)
	say.Step(s.of(1, ctx), "placing", 1, 1)
	say.Step(s.of(0, ctx), "choosing", 0, 0)
	say.Step(s.of(0, ctx), "placing", 0, 2)
	s.tell(0, 100)
	s.tell(1, 100)
	s.tell(2, 100)
	assert.Equal(t, []int{0, 47, 142, 195, 200, 300}, told)
}
