package say

import (
	"context"
	"errors"
	"fmt"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestErrorHasTwoParts(t *testing.T) {
	err := fmt.Errorf("around: %w", Failed("try again", "the disk is gone: %w", os.ErrClosed))
	var said *Error
	require.True(t, errors.As(err, &said))
	assert.Equal(t, "the disk is gone: file already closed", said.What)
	assert.Equal(t, "try again", said.Try)
	assert.False(t, said.Usage)
	assert.ErrorIs(t, err, os.ErrClosed)
}

func TestStepReachesTheListener(t *testing.T) {
	Step(context.Background(), "nobody listens", 1, 2)
	var got []string
	ctx := WithProgress(context.Background(), func(stage string, done, total int) {
		got = append(got, fmt.Sprint(stage, done, total))
	})
	Step(ctx, "half ", 1, 2)
	assert.Equal(t, []string{"half 1 2"}, got)
}

func TestStopEndsOnlyASearch(t *testing.T) {
	ctx, s := WithStopper(context.Background())
	assert.False(t, s.Stop(), "nothing is searched yet")
	search, done := Search(ctx)
	require.NoError(t, search.Err())
	assert.True(t, s.Stop())
	assert.ErrorIs(t, search.Err(), context.Canceled)
	assert.NoError(t, ctx.Err(), "the work around it goes on")
	assert.False(t, s.Stop(), "it has ended already")
	done()

	_, done = Search(ctx)
	done()
	assert.False(t, s.Stop(), "it was over")

	search, done = Search(context.Background()) // no one to stop it
	assert.NoError(t, search.Err())
	done()
}
