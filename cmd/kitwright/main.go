// Command kitwright turns a photo into a drill-painting kit: a true-scale
// chart in real drill colors, with the prints and lists to make it.
//
// main is thin on purpose: run takes everything as arguments and returns an
// error, so that a test can do all that a terminal can.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"kitwright/internal/say"
	"kitwright/internal/setting"
	"kitwright/web"
)

// version is the release. The same release, input and settings give the same
// bytes.
const (
	version  = "0.1.0"
	released = "2026-11-26"
)

func main() {
	ctx, done := withSignals(context.Background(), os.Stderr)
	err := run(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr)
	done()
	os.Exit(report(err, os.Stderr))
}

// run does what the arguments say.
func run(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) error {
	out := safe(stdout)
	e := env{stdin: stdin, stdout: out, stderr: safe(stderr), screen: terminalOf(stdout), terminal: terminalOf(stderr)}
	err := runIn(ctx, e, args)
	if err == nil || out.err != nil && errors.Is(err, out.err) { // told in the same words by every command
		err = out.flush()
	}
	return err
}

func runIn(ctx context.Context, e env, args []string) error {
	if len(args) == 0 && e.screen != nil { // typed alone, or clicked
		return serveCommand().call(ctx, e, nil)
	}
	if len(args) == 0 {
		writeOverview(e.stdout)
		return say.Usage("kitwright chart --demo makes the demo kit", "no command was given")
	}
	switch args[0] {
	case "-h", "--help":
		args = []string{"help"}
	case "--version":
		args = []string{"version"}
	case web.TryWord: // by the worktable, not by a person
		return web.TryPhoto(ctx, e.stdin, e.stdout)
	}
	if c, rest, ok := find(commands(), args); ok {
		return c.call(ctx, e, rest)
	}
	if looksLikePhoto(args[0]) {
		return chartCommand().call(ctx, e, args)
	}
	return noCommand(args[0])
}

// noCommand says that there is no such command, and names the one that was
// probably meant.
func noCommand(name string) error {
	var names []string
	for _, c := range commands() {
		names = append(names, c.name)
	}
	try := "kitwright help lists the commands"
	if near := setting.Near(name, names); near != "" {
		try = say.Hint("kitwright %s; %s", near, try)
	}
	return say.Usage(try, "there is no command %q", name)
}

// looksLikePhoto says whether a word in the place of a command names a photo:
// then a chart of it is wanted.
func looksLikePhoto(word string) bool {
	switch strings.ToLower(filepath.Ext(word)) {
	case ".jpg", ".jpeg", ".png", ".heic", ".heif", ".avif", ".webp", ".tif", ".tiff", ".gif", ".bmp":
		return true
	}
	return false
}

// env is the world outside the program.
type env struct {
	stdin          io.Reader
	stdout, stderr io.Writer
	screen         *os.File // the terminal that stdout is, for what colors it; nil = none
	terminal       *os.File // where progress is shown; nil = nowhere
}

// report tells a person what went wrong and returns the exit code: 0 for done,
// 1 for failed, 2 for a request that cannot be met, 3 for many of which some
// failed, 130 for stopped by hand.
func report(err error, w io.Writer) int {
	w = safe(w)
	var said *say.Error
	var some partly
	switch {
	case err == nil:
		return 0
	case errors.Is(err, context.Canceled):
		fmt.Fprintln(w, "kitwright: stopped; nothing was left behind")
		return 130
	case errors.As(err, &some):
		fmt.Fprintf(w, "kitwright: %s.\n", some.what)
		return 3
	case errors.As(err, &said):
		what, try := said.Words(asFlag)
		fmt.Fprintf(w, "kitwright: %s.\n", what)
		if try != "" {
			fmt.Fprintf(w, "Try: %s.\n", try)
		}
		if said.Usage {
			return 2
		}
		return 1
	}
	fmt.Fprintf(w, "kitwright: %s.\n", err)
	return 1
}
