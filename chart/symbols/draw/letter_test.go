package draw

import (
	"os"
	"os/exec"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/image/font/sfnt"

	"kitwright/chart/symbols"
	"kitwright/internal/checker"
)

// noto returns the font that the letters come from, where it is installed.
func noto(t *testing.T) *sfnt.Font {
	t.Helper()
	checker.Need(t, "fc-match")
	out, err := exec.Command("fc-match", "-f", "%{file}\n%{family}\n%{style}", "Noto Sans:bold").Output()
	require.NoError(t, err)
	f := strings.Split(string(out), "\n")
	if len(f) < 3 || f[1] != "Noto Sans" || !strings.Contains(f[2], "Bold") {
		checker.Missing(t, "the font Noto Sans Bold")
	}
	data, err := os.ReadFile(f[0])
	require.NoError(t, err)
	font, err := sfnt.Parse(data)
	require.NoError(t, err)
	return font
}

// Distances of letter pairs in Noto Sans Bold, computed before this code by
// another implementation of the same definition (NumPy and SciPy).
func TestLettersAreAsFarApartAsMeasuredBefore(t *testing.T) {
	f := noto(t)
	view := func(s string) *symbols.View {
		p, err := Letter(f, rune(s[0]))
		require.NoError(t, err)
		return symbols.Symbol{Paths: p}.View()
	}
	for _, c := range []struct {
		a, b     string
		up, turn float64
	}{
		{"S", "5", .026, -1}, {"D", "O", .036, .035}, {"Z", "2", .044, -1}, {"I", "l", .049, -1},
		{"B", "8", .049, -1}, {"K", "X", .062, -1}, {"E", "F", .075, -1}, {"O", "Q", .083, -1},
		{"P", "R", .086, -1}, {"H", "N", .089, -1}, {"G", "6", .091, -1}, {"B", "D", .095, -1},
		{"O", "0", .105, -1}, {"M", "N", .112, -1}, {"u", "n", .113, .001}, {"6", "9", .129, .000},
		{"b", "d", .141, -1}, {"C", "G", .142, -1}, {"U", "V", .168, -1}, {"M", "W", .190, .048},
		{"p", "d", .202, .005}, {"A", "V", .429, .041},
	} {
		a, b := view(c.a), view(c.b)
		t.Logf("%s %s  %.3f %.3f  turned %.3f %.3f", c.a, c.b, a.Distance(b), c.up, a.Turned(b), c.turn)
		assert.InDelta(t, c.up, a.Distance(b), .004)
		if c.turn >= 0 {
			assert.InDelta(t, c.turn, a.Turned(b), .004)
		}
	}
}
