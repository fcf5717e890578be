package main

import (
	"bytes"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
)

// Files may be named by title, size and mark: such a kit is known again, is
// printed in place without a file twice, and gives way as any other.
func TestNamedFiles(t *testing.T) {
	checker.Slow(t)
	inTemp(t)
	names := func() (named, plain []string) {
		entries, err := os.ReadDir("kit")
		require.NoError(t, err)
		for _, e := range entries {
			if strings.HasPrefix(e.Name(), "Möwe-am-Hafen-5x3.8cm-") {
				named = append(named, e.Name())
			} else {
				plain = append(plain, e.Name())
			}
		}
		return named, plain
	}
	chart := []string{"chart", "--demo", "--grid", "20x15", "--colors", "5", "--title", "Möwe am/Hafen?", "--name-files", "-o", "kit"}
	code, out, errs := kitwright(t, chart...)
	require.Equal(t, 0, code, errs)
	named, plain := names()
	require.NotEmpty(t, named, plain)
	assert.Contains(t, plain, "kit.json")
	assert.NotContains(t, plain, "canvas.pdf")
	for _, n := range named {
		assert.Contains(t, out, n)
		assert.Regexp(t, `-5x3\.8cm-[A-Z]{6}-[a-z]+\.(pdf|png|csv|xlsx)$`, n)
	}
	code, out, errs = kitwright(t, chart...)
	require.Equal(t, 0, code, errs)
	assert.Contains(t, out, "made already")

	code, _, errs = kitwright(t, "print", "--only", "canvas", "-o", "kit", "--force", "kit")
	require.Equal(t, 0, code, errs)
	again, plainAgain := names()
	assert.Equal(t, named, again)
	assert.Equal(t, plain, plainAgain)

	code, _, errs = kitwright(t, "print", "--only", "canvas", "--name-files=false", "-o", "kit", "--force", "kit")
	require.Equal(t, 0, code, errs)
	fewer, bare := names()
	assert.Contains(t, bare, "canvas.pdf")
	for _, n := range fewer {
		for _, b := range bare {
			assert.False(t, strings.HasSuffix(n, "-"+b), "%s stands there under two names", b)
		}
	}

	require.NoError(t, os.WriteFile("kit/my-own-canvas.pdf", nil, 0o666))
	code, _, errs = kitwright(t, append(chart, "--force", "--colors", "6")...)
	assert.Equal(t, 1, code)
	assert.Contains(t, errs, "my-own-canvas.pdf, which we did not write")
}

// A table that was changed in a spreadsheet is not written over by a chart
// either, unless that is asked for.
func TestChartSparesChangedTables(t *testing.T) {
	checker.Slow(t)
	inTemp(t)
	chart := []string{"chart", "--demo", "--grid", "20x15", "--colors", "5", "-o", "kit"}
	code, _, errs := kitwright(t, chart...)
	require.Equal(t, 0, code, errs)
	table, err := os.ReadFile("kit/chart.csv")
	require.NoError(t, err)
	require.NoError(t, os.WriteFile("kit/chart.csv", append([]byte("2"), table[1:]...), 0o666))
	code, _, errs = kitwright(t, append(chart, "--force", "--colors", "6")...)
	assert.Equal(t, 1, code)
	assert.Contains(t, errs, "chart.csv in kit was changed by hand")
	assert.Contains(t, errs, "--discard-edits")
	code, _, errs = kitwright(t, append(chart, "--force", "--discard-edits", "--colors", "6")...)
	assert.Equal(t, 0, code, errs)
}

// A card in a file need not be named again to change a color, as long as it is
// the same.
func TestEditKnowsTheKitsCardFile(t *testing.T) {
	table, err := os.ReadFile("../../testdata/seaside-drills.csv")
	require.NoError(t, err)
	inTemp(t)
	require.NoError(t, os.WriteFile("drills.csv", table, 0o666))
	code, _, errs := kitwright(t, "chart", "--demo", "--grid", "20x15", "--colors", "5", "--card", "drills.csv", "-o", "kit")
	require.Equal(t, 0, code, errs)
	code, _, errs = kitwright(t, "edit", "--set", "1,1=SR-100", "kit")
	assert.Equal(t, 0, code, errs)
	require.NoError(t, os.WriteFile("drills.csv", table[:bytes.LastIndexByte(bytes.TrimRight(table, "\r\n"), '\n')+1], 0o666))
	code, _, errs = kitwright(t, "edit", "--set", "2,1=SR-101", "kit")
	assert.Equal(t, 2, code)
	assert.Contains(t, errs, "--card")
}
