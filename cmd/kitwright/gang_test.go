package main

import (
	"bytes"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Kits named one by one or by the folder they lie in come onto one roll, as
// often as asked; nothing that is there is overwritten unasked.
func TestGang(t *testing.T) {
	inTemp(t)
	for _, name := range []string{"kits/mia", "kits/tom"} {
		code, _, errs := kitwright(t, "chart", "--demo", "--grid", "20x15", "--colors", "5", "--yes", "-q", "-o", name)
		require.Equal(t, 0, code, errs)
	}
	require.NoError(t, os.WriteFile("kits/results.csv", []byte("row\n"), 0o666))
	code, out, errs := kitwright(t, "gang", "kits", "kits/mia", "--media-width", "610mm")
	require.Equal(t, 0, code, errs)
	assert.Contains(t, out, "3 canvases on ")
	assert.Contains(t, out, "proven")
	first, err := os.ReadFile("roll.pdf")
	require.NoError(t, err)
	assert.FileExists(t, "roll-ticket.pdf")

	code, _, errs = kitwright(t, "gang", "kits", "--media-width", "610mm")
	assert.Equal(t, 1, code)
	assert.Contains(t, errs, "roll.pdf exists already")
	code, _, errs = kitwright(t, "gang", "kits", "--media-width", "610mm", "-o", "other.pdf", "-q")
	require.Equal(t, 0, code, errs)
	require.NoError(t, os.Remove("other.pdf"))
	code, _, _ = kitwright(t, "gang", "kits", "--media-width", "610mm", "-o", "other.pdf")
	assert.Equal(t, 1, code, "its ticket is there")
	assert.NoFileExists(t, "other.pdf")

	code, out, errs = kitwright(t, "gang", "kits", "kits/mia", "--media-width", "610mm", "--copies", "2", "--force")
	require.Equal(t, 0, code, errs)
	assert.Contains(t, out, "6 canvases on ")
	code, _, errs = kitwright(t, "gang", "kits", "kits/mia", "--media-width", "610mm", "--copies", "1", "--force")
	require.Equal(t, 0, code, errs)
	again, err := os.ReadFile("roll.pdf")
	require.NoError(t, err)
	assert.True(t, bytes.Equal(first, again), "the same bytes each time")

	for _, c := range []struct {
		args []string
		code int
		says string
	}{
		{[]string{"kits"}, 2, "how wide the roll is"},
		{[]string{"--media-width", "610mm"}, 2, "one kit folder or more"},
		{[]string{"kits", "--media-width", "610mm", "--gap", "1mm"}, 2, "--gap takes 6mm to 100mm"},
		{[]string{"kits/nobody", "--media-width", "610mm"}, 1, "nobody"},
		{[]string{"kits", "--media-width", "610mm", "--pdf", "x4"}, 2, "mia: --pdf x4"},
		{[]string{"kits", "--media-width", "100mm"}, 2, "mia: --media-width 100mm is narrower"},
		{[]string{"kits", "--media-width", "610mm", "-o", "roll.png"}, 2, "names another kind of file"},
	} {
		code, _, errs := kitwright(t, append([]string{"gang", "-o", "no.pdf"}, c.args...)...)
		assert.Equal(t, c.code, code, errs)
		assert.Contains(t, errs, c.says)
		assert.NoFileExists(t, "no.pdf")
		assert.NoFileExists(t, "no-ticket.pdf")
	}
}
