package main

import (
	"encoding/json"
	"maps"
	"path/filepath"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A locale chooses the paper of home pages where none is asked for, and
// nothing else: the canvas, the pictures and the lists have the same bytes, and
// kit.json differs in the paper it names. The ticket is such a page too.
func TestLocaleChoosesOnlyPaper(t *testing.T) {
	long(t)
	inTemp(t)
	for _, locale := range []string{"C", "en_US.UTF-8"} {
		for _, paper := range []string{"", "a4"} {
			t.Setenv("LC_ALL", "")
			t.Setenv("LC_PAPER", "")
			t.Setenv("LANG", locale)
			args := []string{"chart", "--demo", "--quiet", "--grid", "60x40", "--colors", "12", "-o", locale + paper}
			if paper != "" {
				args = append(args, "--paper", paper)
			}
			code, _, errs := kitwright(t, args...)
			require.Equal(t, 0, code, errs)
		}
	}
	assert.Equal(t, sums(t, "Ca4"), sums(t, "en_US.UTF-8a4"), "where paper is asked for, nothing differs")
	assert.Equal(t, sums(t, "C"), sums(t, "Ca4"))

	onHomePaper := []string{"ticket.pdf", "sheets.pdf", "labels.pdf", "legend.pdf", "plan.pdf", "kit.json"}
	assert.Equal(t, names(t, "C"), names(t, "en_US.UTF-8"))
	for _, name := range names(t, "C") {
		same := assert.ObjectsAreEqual(read(t, filepath.Join("C", name)), read(t, filepath.Join("en_US.UTF-8", name)))
		assert.Equal(t, !slices.Contains(onHomePaper, name), same, name)
	}
	var c, us map[string]any
	require.NoError(t, json.Unmarshal(read(t, "C/kit.json"), &c))
	require.NoError(t, json.Unmarshal(read(t, "en_US.UTF-8/kit.json"), &us))
	assert.Equal(t, "a4", c["print"].(map[string]any)["paper"])
	assert.Equal(t, "letter", us["print"].(map[string]any)["paper"])
	maps.Copy(us["print"].(map[string]any), map[string]any{"paper": "a4"})
	assert.Equal(t, c, us)
	code, out, _ := kitwright(t, "help", "version")
	require.Equal(t, 0, code)
	assert.Contains(t, out, "kit.json says which")
}
