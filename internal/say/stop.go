package say

import (
	"context"
	"sync"
)

// Stopper lets a person end a search early and keep the best it found.
type Stopper struct {
	mu     sync.Mutex
	cancel context.CancelFunc // of the search under way, or nil
}

type stopperKey struct{}

// WithStopper returns a context whose searches the Stopper can end.
func WithStopper(ctx context.Context) (context.Context, *Stopper) {
	s := &Stopper{}
	return context.WithValue(ctx, stopperKey{}, s), s
}

// Stop ends the search under way, if any, and says whether there was one. The
// work around the search goes on with what it found.
func (s *Stopper) Stop() bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.cancel == nil {
		return false
	}
	s.cancel()
	s.cancel = nil
	return true
}

// Search returns a context for a search that may be ended early. Call done
// when the search is over.
func Search(ctx context.Context) (search context.Context, done func()) {
	search, cancel := context.WithCancel(ctx)
	s, ok := ctx.Value(stopperKey{}).(*Stopper)
	if !ok {
		return search, cancel
	}
	s.mu.Lock()
	s.cancel = cancel
	s.mu.Unlock()
	return search, func() {
		s.mu.Lock()
		s.cancel = nil
		s.mu.Unlock()
		cancel()
	}
}
