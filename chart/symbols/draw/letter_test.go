package draw

import (
	"os"
	"os/exec"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"

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
	parsed, err := sfnt.Parse(data)
	require.NoError(t, err)
	return parsed
}

// spaced places a letter as the figures below had it: its advance width in
// the middle of the box and, like its height, inside the box.
func spaced(t *testing.T, f *sfnt.Font, r rune) paths {
	t.Helper()
	var buf sfnt.Buffer
	g, err := f.GlyphIndex(&buf, r)
	require.NoError(t, err)
	units := fixed.I(int(f.UnitsPerEm()))
	b, advance, err := f.GlyphBounds(&buf, g, units, font.HintingNone)
	require.NoError(t, err)
	p, err := Letter(f, r)
	require.NoError(t, err)
	m, err := f.Metrics(&buf, units, font.HintingNone)
	require.NoError(t, err)
	w, h, middle := b.Max.X-b.Min.X, b.Max.Y-b.Min.Y, (b.Max.X+b.Min.X)/2
	was, is := float64(max(w, h, m.CapHeight)), float64(max(advance, h))
	return each(p, func(v point) point {
		return point{X: v.X*was/is + float64(middle-advance/2)/(is/2), Y: v.Y * was / is}
	})
}

// Distances of letter pairs in Noto Sans Bold, taken before this code was
// written by another implementation of the same definition (NumPy, SciPy).
func TestLettersAreAsFarApartAsMeasuredBefore(t *testing.T) {
	f := noto(t)
	view := func(s string) *symbols.View {
		return symbols.Symbol{Paths: spaced(t, f, rune(s[0]))}.View()
	}
	const none = -1
	for _, c := range []struct {
		a, b             string
		up, turn, mirror float64
	}{
		{"S", "5", .026, none, none}, {"D", "O", .036, .035, none}, {"Z", "2", .044, none, none},
		{"I", "l", .049, none, none}, {"B", "8", .049, none, none}, {"K", "X", .062, none, none},
		{"E", "F", .075, none, none}, {"O", "Q", .083, none, none}, {"P", "R", .086, none, none},
		{"H", "N", .089, none, none}, {"G", "6", .091, none, none}, {"B", "D", .095, none, none},
		{"O", "0", .105, none, none}, {"M", "N", .112, none, none}, {"u", "n", .113, .001, none},
		{"6", "9", .129, .000, none}, {"b", "d", .141, none, .001}, {"C", "G", .142, none, none},
		{"U", "V", .168, none, none}, {"M", "W", .190, .048, none}, {"p", "d", .202, .005, none},
		{"A", "V", .429, .041, none},
	} {
		a, b := view(c.a), view(c.b)
		const off = .0055 // the outlines then were rasters of another grid
		assert.InDelta(t, c.up, a.Distance(b), off, "%s and %s upright", c.a, c.b)
		if c.turn != none {
			assert.InDelta(t, c.turn, a.Turned(b), off, "%s and %s turned", c.a, c.b)
		}
		if c.mirror != none {
			assert.InDelta(t, c.mirror, a.Mirrored(b), off, "%s and %s mirrored", c.a, c.b)
		}
	}
}
