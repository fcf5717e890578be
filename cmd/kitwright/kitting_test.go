package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The README's chapter "Kitting up and leftovers" is true: each of its commands
// runs, in order, in a folder with the card and the kit that it goes on with.
func TestKittingUpLineByLine(t *testing.T) {
	if testing.Short() {
		t.Skip("it makes many kits")
	}
	text, err := os.ReadFile("../../README.md")
	require.NoError(t, err)
	_, chapter, ok := strings.Cut(string(text), "\n## Kitting up and leftovers\n")
	require.True(t, ok)
	chapter, _, _ = strings.Cut(chapter, "\n## ")
	_, card := seasideCard(t)
	table, err := os.ReadFile(filepath.Join(filepath.Dir(card), "seaside-leftovers.csv"))
	require.NoError(t, err)
	other, err := os.ReadFile(filepath.Join(filepath.Dir(card), "harbor-codes.csv"))
	require.NoError(t, err)
	withStash(t)
	t.Setenv("LC_ALL", "en_GB.UTF-8") // paper in A4
	require.NoError(t, os.Mkdir("testdata", 0o755))
	require.NoError(t, os.WriteFile("testdata/seaside-leftovers.csv", table, 0o644))
	require.NoError(t, os.WriteFile("testdata/harbor-codes.csv", other, 0o644))
	does(t, "chart", "--demo", "--card", "seaside", "--colors", "24", "--quiet")

	ran := 0
	for line := range strings.Lines(chapter) {
		if !strings.HasPrefix(line, "    ") {
			continue
		}
		command, isCommand := strings.CutPrefix(strings.TrimSpace(line), "./kitwright ")
		require.True(t, isCommand, "a line that no one runs: %s", line)
		assert.NotEmpty(t, does(t, shellWords(t, command)...), command)
		ran++
	}
	assert.GreaterOrEqual(t, ran, 9)
	have := owns(t)
	assert.Zero(t, have["SR-041"], "all of it was taken, and none was left over")
	assert.Positive(t, have["SR-055"])
}

// shellWords parts a command as a shell does where words may stand in double
// quotes.
func shellWords(t *testing.T, line string) (words []string) {
	t.Helper()
	for i, part := range strings.Split(line, `"`) {
		if i%2 == 1 {
			words = append(words, part)
		} else {
			words = append(words, strings.Fields(part)...)
		}
	}
	require.Zero(t, strings.Count(line, `"`)%2, line)
	return words
}
