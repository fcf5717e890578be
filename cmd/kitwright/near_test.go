package main

import (
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What was misspelled is told with what was probably meant.
func TestNearGuesses(t *testing.T) {
	inTemp(t)
	writePNG(t, "dog.webp", 3, 4) // the name is what counts here
	require.NoError(t, os.Mkdir("ginger-kit", 0o777))
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"chart", "--color", "12", "dog.webp"}, "Try: --colors; "},
		{[]string{"chart", "--colours", "12", "dog.webp"}, "Try: --colors; "},
		{[]string{"chrt", "dog.webp"}, "Try: kitwright chart; "},
		{[]string{"hlep"}, "Try: kitwright help; "},
		{[]string{"help", "lader"}, "Try: kitwright ladder; "},
		{[]string{"chart", "Dog.webp"}, "Try: dog.webp is there."},
		{[]string{"Dog.webp"}, "Try: dog.webp is there."},
		{[]string{"chart", "--demo", "--keep", "5yr7/6"}, "Try: 5YR 7/6 ("},
		{[]string{"chart", "--demo", "--card", "nbs", "--subject", "20,10,60,80", "--background", "plain=white"}, "(white)"},
		{[]string{"chart", "--size", "40x50", "dog.webp"}, "Try: say the unit: 40x50cm or 40x50in."},
		{[]string{"print", "ginger-kti"}, "Try: ginger-kit is there."},
	} {
		code, _, errs := kitwright(t, c.args...)
		assert.NotZero(t, code)
		assert.Contains(t, errs, c.want, "%v", c.args)
	}
	code, out, errs := kitwright(t, "dog.webp", "--grid", "12x16", "--colors", "3")
	require.Equal(t, 0, code, errs)
	assert.Contains(t, out, "dog-kit", "a photo alone is charted")
}

// One of a thing is told as one.
func TestSummaryOfOneColor(t *testing.T) {
	inTemp(t)
	writePNG(t, "sheet.png", 1, 1)
	code, out, _ := kitwright(t, "chart", "--grid", "20x20", "--yes", "sheet.png")
	require.Zero(t, code)
	for _, want := range []string{"400 drills in 1 color of", "1 hour at 400", "Of the 30 colors asked for it uses 1.", "no single color of this card gets below"} {
		assert.Contains(t, out, want)
	}
}
