// Package say holds the words that reach a crafter: errors in two parts (what
// is wrong, what to try) and the progress of long work.
package say

import (
	"context"
	"errors"
	"fmt"
)

// Error is an error that a crafter reads: one sentence that says what is
// wrong and one that says what to try. What and Try hold the bare names of
// settings; Words writes them as a door of the program does.
type Error struct {
	What    string // one clear sentence, no full stop
	Try     string // one hint, no full stop; may be empty
	Setting string // the setting that is wrong, by its flag's name; "" where it is none or not known
	Usage   bool   // the request was wrong (exit 2); otherwise the work failed (exit 1)
	Err     error  // the cause, if any; not shown

	what, try Text
}

func (e *Error) Error() string { return e.What }

// Unwrap returns the cause.
func (e *Error) Unwrap() error { return e.Err }

// Words returns both sentences with every setting as the function writes it.
func (e *Error) Words(setting func(name string) string) (what, try string) {
	return e.what.Words(setting), e.try.Words(setting)
}

// At returns the error with the place it is about named first: a file, a
// setting.
func (e *Error) At(format string, args ...any) *Error {
	at := *e
	at.what = Textf("%s: %s", Textf(format, args...), e.what)
	at.What = at.what.String()
	if at.Setting == "" {
		at.Setting = at.what.Setting()
	}
	return &at
}

// OrTry returns the error with a hint if it has none yet.
func (e *Error) OrTry(try string) *Error {
	if e.Try != "" {
		return e
	}
	with := *e
	with.try = Reading(try)
	with.Try = with.try.String()
	return &with
}

// Usage returns an error about what was asked: a flag, a value, a range. In
// the hint and in the format a setting is written {colors}; see Textf and Hint.
func Usage(try, format string, args ...any) error {
	return newError(true, try, format, args...)
}

// Failed returns an error about work that could not be done: a file, a disk.
// Settings are written as in Usage.
func Failed(try, format string, args ...any) error {
	return newError(false, try, format, args...)
}

func newError(usage bool, try, format string, args ...any) error {
	e := &Error{what: Textf(format, args...), try: Reading(try), Usage: usage}
	e.What, e.Try, e.Setting = e.what.String(), e.try.String(), e.what.Setting()
	e.Err = errors.Unwrap(fmt.Errorf(format, args...))
	return e
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
