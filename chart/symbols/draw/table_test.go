package draw

import (
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/chart/symbols"
)

// The table is what the drawings make. Sines may differ in their last bit
// between machines, so a coordinate may be off by one thousandth.
func TestTableIsMadeFromTheDrawings(t *testing.T) {
	letters, err := Letters(noto(t))
	require.NoError(t, err)
	var known []symbols.Symbol
	if os.Getenv("UPDATE") != "fresh" {
		known = symbols.First(symbols.Max)
	}
	text, err := Table(letters, known)
	require.NoError(t, err)
	if os.Getenv("UPDATE") != "" {
		require.NoError(t, os.WriteFile("../table.txt", []byte(text), 0o666))
		return
	}
	data, err := os.ReadFile("../table.txt")
	require.NoError(t, err)
	want, got := strings.Split(string(data), "\n"), strings.Split(text, "\n")
	require.Equal(t, len(want), len(got))
	for i := range want {
		if want[i] != got[i] {
			assert.True(t, almost(want[i], got[i]), "line %d of table.txt differs:\n%.200s\n%.200s", i+1, want[i], got[i])
		}
	}
}

// almost tells whether two lines differ by no more than a thousandth.
func almost(a, b string) bool {
	cut := func(r rune) bool { return strings.ContainsRune("\t ,", r) }
	x, y := strings.FieldsFunc(a, cut), strings.FieldsFunc(b, cut)
	if len(x) != len(y) {
		return false
	}
	for i := range x {
		if x[i] != y[i] && !near(x[i], y[i]) {
			return false
		}
	}
	return true
}

func near(a, b string) bool {
	var x, y int
	for _, v := range []struct {
		s  string
		to *int
	}{{a, &x}, {b, &y}} {
		neg := strings.HasPrefix(v.s, "-")
		for _, c := range strings.TrimPrefix(v.s, "-") {
			if c < '0' || c > '9' {
				return false
			}
			*v.to = *v.to*10 + int(c-'0')
		}
		if neg {
			*v.to = -*v.to
		}
	}
	return x-y <= 1 && y-x <= 1
}

func TestNamesAndPlacesAreFitToPrint(t *testing.T) {
	for _, s := range symbols.First(symbols.Max) {
		assert.False(t, s.Rune < '0' || s.Rune >= 0xD800 && s.Rune < 0xE000 || s.Rune > 0xFFFD, "%s at %U", s.Name, s.Rune)
		if s.Rune < 0x80 {
			assert.Contains(t, []string{"letter " + string(s.Rune), "digit " + string(s.Rune)}, s.Name)
		}
		assert.NotContains(t, s.Name, "@")
		assert.NotContains(t, s.Name, "~")
	}
}
