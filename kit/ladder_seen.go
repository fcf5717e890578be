package kit

import "context"

type seenKey struct{}

// WithSeen returns a context whose ladders tell each rung as soon as it is
// made, from any goroutine, and again when it was made anew with more effort.
func WithSeen(ctx context.Context, seen func(Rung)) context.Context {
	return context.WithValue(ctx, seenKey{}, seen)
}

// tellSeen tells a rung to whoever waits for it.
func tellSeen(ctx context.Context, r *Rung) {
	if seen, ok := ctx.Value(seenKey{}).(func(Rung)); ok && r != nil {
		seen(*r)
	}
}
