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
func showProgress(ctx context.Context, w io.Writer, quiet bool) (_ context.Context, done func()) {
	f, ok := w.(*os.File)
	if quiet || !ok || !isTerminal(f) {
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

func isTerminal(f *os.File) bool {
	info, err := f.Stat()
	return err == nil && info.Mode()&os.ModeCharDevice != 0
}
