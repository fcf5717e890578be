package kit

import (
	"context"
	"sync"

	"kitwright/internal/say"
)

// shares joins the progress of parts that are worked on at once to that of the
// whole: each part's own would begin again and again.
type shares struct {
	ctx   context.Context
	stage string
	mu    sync.Mutex
	done  []int // percent of each part
	sum   int
}

func newShares(ctx context.Context, stage string, parts int) *shares {
	say.Step(ctx, stage, 0, 100*parts)
	return &shares{ctx: ctx, stage: stage, done: make([]int, parts)}
}

// of returns a context whose progress is that of part i.
func (s *shares) of(i int, ctx context.Context) context.Context {
	return say.WithProgress(ctx, func(_ string, done, total int) {
		if total > 0 {
			s.tell(i, 95*done/total) // what comes after the last step is not nothing
		}
	})
}

// tell says that part i is done by so many percent; it never goes back.
func (s *shares) tell(i, percent int) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if percent <= s.done[i] {
		return
	}
	s.sum += percent - s.done[i]
	s.done[i] = percent
	say.Step(s.ctx, s.stage, s.sum, 100*len(s.done))
}
