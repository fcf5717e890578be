package main

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"os"
	"os/signal"
	"strings"
	"sync"
	"syscall"
	"time"

	"kitwright/folder"
	"kitwright/internal/say"
)

// ending is what has to be done when the program ends in the middle of its
// work: whatever is in the making is taken away.
type ending struct {
	mu     sync.Mutex
	over   bool
	making []*folder.Making
	last   func() string // ends a run that goes on until it is ended, and says how it ended
}

type endingKey struct{}

// endWait is how long an end may wait for the disk. What is left behind after
// it, the next run takes away.
const endWait = 120 * time.Millisecond

// begin begins a folder that goes away if the program has to end.
func begin(ctx context.Context, dest string, kind folder.Kind, opt folder.Options) (*folder.Making, error) {
	return watched(ctx, func() (*folder.Making, error) { return folder.Begin(dest, kind, opt) })
}

// beginFile begins a file that goes away if the program has to end.
func beginFile(ctx context.Context, dest string, force bool, such func(io.Reader) bool) (*folder.Making, error) {
	return watched(ctx, func() (*folder.Making, error) { return folder.BeginFile(dest, force, such) })
}

// isPDF, isPNG and isCard tell by its begin whether a file may be overwritten by
// another of its kind.
func isPDF(r io.Reader) bool {
	var head [5]byte
	_, err := io.ReadFull(r, head[:])
	return err == nil && string(head[:]) == "%PDF-"
}

func isPNG(r io.Reader) bool {
	var head [8]byte
	_, err := io.ReadFull(r, head[:])
	return err == nil && string(head[:]) == "\x89PNG\r\n\x1a\n"
}

func isCard(r io.Reader) bool {
	lines := bufio.NewScanner(r)
	for lines.Scan() {
		if line := strings.TrimSpace(lines.Text()); line != "" && line[0] != '#' {
			return strings.HasPrefix(strings.ToLower(line), "code")
		}
	}
	return false
}

// onEnd sets what ends a run that goes on until it is ended.
func onEnd(ctx context.Context, last func() string) {
	if e, ok := ctx.Value(endingKey{}).(*ending); ok {
		e.mu.Lock()
		e.last = last
		e.mu.Unlock()
	}
}

func watched(ctx context.Context, begin func() (*folder.Making, error)) (*folder.Making, error) {
	e, ok := ctx.Value(endingKey{}).(*ending)
	if !ok {
		return begin()
	}
	e.mu.Lock() // an end meanwhile waits until there is something to take away
	defer e.mu.Unlock()
	if e.over {
		return nil, context.Canceled
	}
	m, err := begin()
	if err == nil {
		e.making = append(e.making, m)
	}
	return m, err
}

// end takes away what is in the making. It says what this run has finished
// already, and whether it was the first to end it.
func (e *ending) end() (stands string, first bool) {
	for until := time.Now().Add(endWait); !e.mu.TryLock(); time.Sleep(time.Millisecond) {
		if time.Now().After(until) {
			return "", true // the disk hangs
		}
	}
	defer e.mu.Unlock()
	if e.over {
		return "", false
	}
	e.over = true
	for _, m := range e.making {
		if m.DropWithin(endWait) {
			stands = m.Dest()
		}
	}
	return stands, true
}

// withSignals returns a context for a run that signals can end. The first
// Ctrl-C in a search keeps the best found so far; any other ends the program
// at once, wherever it is. Call done when the run is over.
func withSignals(ctx context.Context, stderr io.Writer) (_ context.Context, done func()) {
	ctx, cancel := context.WithCancel(ctx)
	ctx, search := say.WithStopper(ctx)
	e := &ending{}
	ctx = context.WithValue(ctx, endingKey{}, e)

	signals := make(chan os.Signal, 4)
	for _, s := range []os.Signal{os.Interrupt, syscall.SIGTERM, syscall.SIGHUP} {
		if !signal.Ignored(s) { // as under nohup
			signal.Notify(signals, s)
		}
	}
	go func() {
		kept := false
		for s := range signals {
			if s == os.Interrupt && !kept && search.Stop() {
				kept = true
				fmt.Fprintln(stderr, "\nkitwright: keeping the best so far; Ctrl-C again stops without a result")
				continue
			}
			e.mu.Lock()
			last := e.last
			e.over = e.over || last != nil
			e.mu.Unlock()
			if last != nil {
				fmt.Fprintln(stderr, "\nkitwright: "+last())
				os.Exit(0)
			}
			cancel()
			stands, first := e.end()
			if !first {
				continue // the run is over
			}
			words := "stopped; nothing was left behind"
			if stands != "" {
				words = "stopped; " + stands + " is finished"
			}
			fmt.Fprintln(stderr, "\nkitwright: "+words)
			os.Exit(exitBy(s))
		}
	}()
	return ctx, func() {
		if _, first := e.end(); !first {
			select {} // a signal is ending the program
		}
	}
}

// exitBy is the exit code of a program that a signal ended, as shells have it.
func exitBy(s os.Signal) int {
	if n, ok := s.(syscall.Signal); ok {
		return 128 + int(n)
	}
	return 130
}
