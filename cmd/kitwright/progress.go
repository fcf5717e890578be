package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"sync"

	"kitwright/internal/say"
)

// showProgress returns a context that shows progress on a terminal, on one
// line that is wiped when done is called. In a pipe, or when quiet, nothing is
// shown.
func showProgress(ctx context.Context, f *os.File, quiet bool) (_ context.Context, done func()) {
	if quiet || f == nil {
		return ctx, func() {}
	}
	var mu sync.Mutex
	closed := false
	p := func(stage string, done, total int) {
		mu.Lock()
		defer mu.Unlock()
		if closed {
			return
		}
		if total > 0 {
			stage = fmt.Sprintf("%s %d %%", stage, 100*done/total)
		}
		fmt.Fprintf(f, "\r\x1b[K%s ...", stage)
	}
	return say.WithProgress(ctx, p), func() {
		mu.Lock()
		defer mu.Unlock()
		if !closed {
			fmt.Fprint(f, "\r\x1b[K")
		}
		closed = true
	}
}

// terminalOf returns the terminal that a writer is, or nil.
func terminalOf(w io.Writer) *os.File {
	f, ok := w.(*os.File)
	if !ok {
		return nil
	}
	if info, err := f.Stat(); err != nil || info.Mode()&os.ModeCharDevice == 0 {
		return nil
	}
	return f
}
