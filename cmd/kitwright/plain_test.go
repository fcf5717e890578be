package main

import (
	"bytes"
	"context"
	"errors"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
)

// Nothing from a file can command the terminal, however it is cut into pieces.
func TestNothingCommandsTheTerminal(t *testing.T) {
	checker.Slow(t)
	const in = "Ginger\x1b]0;pwned\x07 \x1b[31mred\r\x7f \u009b2J caf\xe9 \u202egnp.exe \u2066x\u2069\tJosé ♥ 猫\n"
	const want = "Ginger?]0;pwned? ?[31mred?? ?2J caf? ?gnp.exe ?x?\tJosé ♥ 猫\n"
	for size := 1; size <= len(in); size++ {
		var b bytes.Buffer
		p := safe(&b)
		for rest := in; rest != ""; {
			n := min(size, len(rest))
			_, err := p.Write([]byte(rest[:n]))
			require.NoError(t, err)
			rest = rest[n:]
		}
		require.NoError(t, p.flush())
		assert.Equal(t, want, b.String(), "in pieces of %d", size)
	}
	var b bytes.Buffer
	p := safe(&b)
	_, err := p.Write([]byte("cut \xe7\x8c"))
	require.NoError(t, err)
	require.NoError(t, p.flush())
	assert.Equal(t, "cut ?", b.String())

	// From a kit's title and a file's name to the screen.
	madeKit(t)
	evil := strings.Replace(string(read(t, "cat-kit/kit.json")), `"title": "cat"`, `"title": "cat \u001b[31m"`, 1)
	require.Contains(t, evil, "u001b")
	require.NoError(t, os.WriteFile("cat-kit/kit.json", []byte(evil), 0o666))
	_, out, errs := kitwright(t, "print", "cat-kit")
	assert.NotContains(t, out+errs, "\x1b")
	_, out, errs = kitwright(t, "chart", "\x1b[31m.jpg")
	assert.NotContains(t, out+errs, "\x1b")
}

type full struct{}

func (full) Write([]byte) (int, error) { return 0, errors.New("no space left on device") }

// Text that cannot be written is a failure.
func TestFullOutput(t *testing.T) {
	for _, args := range [][]string{{"help"}, {"version"}, {"help", "chart"}, {"card", "list"}, {"licenses"}} {
		var errs bytes.Buffer
		err := run(context.Background(), args, strings.NewReader(""), full{}, &errs)
		assert.Equal(t, 1, report(err, &errs), "%v", args)
		assert.Contains(t, errs.String(), "standard output: no space left", "%v", args)
		assert.Contains(t, errs.String(), "Try: free some room", "%v", args)
	}
}
