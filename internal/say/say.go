// Package say holds the words that reach a crafter: errors in two parts (what
// is wrong, what to try) and the progress of long work.
package say

import (
	"context"
	"errors"
	"fmt"
)

// Error is an error that a crafter reads: one sentence that says what is
// wrong and one that says what to try.
type Error struct {
	What  string // one clear sentence, no full stop
	Try   string // one hint, no full stop; may be empty
	Usage bool   // the request was wrong (exit 2); otherwise the work failed (exit 1)
	Err   error  // the cause, if any; not shown
}

func (e *Error) Error() string { return e.What }

// Unwrap returns the cause.
func (e *Error) Unwrap() error { return e.Err }

// Usage returns an error about what was asked: a flag, a value, a range.
func Usage(try, format string, args ...any) error {
	return newError(true, try, format, args...)
}

// Failed returns an error about work that could not be done: a file, a disk.
func Failed(try, format string, args ...any) error {
	return newError(false, try, format, args...)
}

func newError(usage bool, try, format string, args ...any) error {
	err := fmt.Errorf(format, args...)
	return &Error{What: err.Error(), Try: try, Usage: usage, Err: errors.Unwrap(err)}
}

// Progress is told how far a stage of the work has come. Done runs from 0 to
// total; total 0 means that the end is not known.
type Progress func(stage string, done, total int)

type progressKey struct{}

// WithProgress returns a context whose long work reports to p.
func WithProgress(ctx context.Context, p Progress) context.Context {
	return context.WithValue(ctx, progressKey{}, p)
}

// Step reports progress to whoever listens in the context, or to nobody.
func Step(ctx context.Context, stage string, done, total int) {
	if p, ok := ctx.Value(progressKey{}).(Progress); ok && p != nil {
		p(stage, done, total)
	}
}
