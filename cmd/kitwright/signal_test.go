//go:build unix

package main

import (
	"bytes"
	"errors"
	"os"
	"os/exec"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
)

// Signals end the program wherever it is, with nothing left behind, or with
// the whole kit where it was finished.
func TestSignalsLeaveNothing(t *testing.T) {
	long(t)
	program := built(t)
	points := 12
	if os.Getenv("KITWRIGHT_CHECKERS") == "all" {
		points = 51
	}
	inTemp(t)
	args := []string{"chart", "--demo", "--grid", "40x30", "--colors", "8", "--out", "a/cat-kit"}
	begin := time.Now()
	require.NoError(t, exec.Command(program, args...).Run())
	whole := time.Since(begin)
	files := names(t, "a/cat-kit")
	require.NoError(t, os.RemoveAll("a"))

	var longest time.Duration
	heard := 0
	first := 30 * time.Millisecond                                     // until its signals are heard
	for i := 0; i < points || heard <= points/4 && i < 8*points; i++ { // more where too many came too early or too late
		s := []syscall.Signal{syscall.SIGTERM, syscall.SIGHUP, syscall.SIGINT}[i%3]
		var errs bytes.Buffer
		c := exec.Command(program, args...)
		c.Stderr = &errs
		require.NoError(t, c.Start())
		ended := make(chan error, 1)
		go func() { ended <- c.Wait() }()
		time.Sleep(first + whole*time.Duration(i%points)/time.Duration(points))
		sent := time.Now()
		if err := c.Process.Signal(s); !errors.Is(err, os.ErrProcessDone) {
			require.NoError(t, err)
		}
		if s == syscall.SIGINT {
			_ = c.Process.Signal(s) // a search kept the best on the first one
			time.Sleep(5 * time.Millisecond)
			_ = c.Process.Signal(s) // two that come at once may be one
		}
		select {
		case <-ended:
			longest = max(longest, time.Since(sent))
		case <-time.After(2 * time.Minute):
			_ = c.Process.Kill()
			t.Fatalf("still alive two minutes after %v", s)
		}
		switch code := c.ProcessState.ExitCode(); code {
		case 128 + int(s):
			heard++
			if strings.Contains(errs.String(), "is finished") {
				assert.Equal(t, files, names(t, "a/cat-kit"))
			} else {
				assert.Contains(t, errs.String(), "nothing was left behind")
				assert.Empty(t, names(t, "."), "after %v at point %d", s, i)
			}
		case -1: // before the program listened: nothing was begun
			first += 10 * time.Millisecond
			assert.Empty(t, names(t, "."), "after %v at point %d", s, i)
		case 0: // it takes less time than the first one did
			whole = whole * 9 / 10
			assert.Equal(t, files, names(t, "a/cat-kit"))
		default:
			assert.Fail(t, "unexpected end", "code %d after %v at point %d: %s", code, s, i, errs.String())
		}
		require.NoError(t, os.RemoveAll("a"))
	}
	assert.Greater(t, heard, points/4, "most signals came too early or too late")
	t.Logf("%d points, %d heard, longest from signal to end %v", points, heard, longest.Round(time.Millisecond))
}

// What is no file is refused at once, where reading it could wait for ever.
func TestPipesAreRefused(t *testing.T) {
	checker.Slow(t)
	madeKit(t)
	require.NoError(t, syscall.Mkfifo("pipe.jpg", 0o666))
	require.NoError(t, os.Mkdir("kit", 0o777))
	require.NoError(t, syscall.Mkfifo("kit/kit.json", 0o666))
	for _, args := range [][]string{
		{"chart", "pipe.jpg"}, {"ladder", "pipe.jpg"}, {"chart", "--demo", "--card", "pipe.jpg"}, {"card", "show", "./pipe.jpg"},
		{"print", "kit"}, {"testprint", "kit"}, {"chart", "/dev/null"},
	} {
		code, _, errs := kitwright(t, args...)
		assert.Equal(t, 1, code, "%v", args)
		assert.Contains(t, errs, "is not a file", "%v", args)
	}
}
