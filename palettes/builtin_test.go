package palettes

import (
	"errors"
	"math"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/say"
	"kitwright/lab"
)

func named(t testing.TB, name string) *Card {
	t.Helper()
	c, err := Named(name)
	require.NoError(t, err)
	return c
}

func TestBuiltinCards(t *testing.T) {
	assert.Equal(t, []string{"munsell", "nbs"}, Names())
	for _, name := range Names() {
		c := named(t, name)
		assert.Equal(t, name, c.Name)
		assert.True(t, c.Builtin)
		assert.NotEmpty(t, c.Source)
		assert.NotEmpty(t, c.License)
		for i, d := range c.Drills {
			assert.NotEmpty(t, d.Name, d.Code)
			rgb, inside := d.Lab.SRGB()
			assert.Equal(t, rgb, d.RGB, d.Code)
			assert.Equal(t, !inside, d.Beyond, d.Code)
			at, ok := c.Index(d.Code)
			assert.True(t, ok && at == i, d.Code)
		}
	}
	upper := named(t, "MUNSELL")
	assert.Equal(t, "munsell", upper.Name)
}

func TestUnknownCard(t *testing.T) {
	_, err := Named("rainbow")
	var e *say.Error
	require.True(t, errors.As(err, &e))
	assert.True(t, e.Usage)
	assert.Contains(t, e.What, `"rainbow"`)
	for _, name := range Names() {
		assert.Contains(t, e.Try, name)
	}
}

// The 267 names and numbers are Kelly's (1958). The table that they come from
// says of 58 that sRGB cannot show them; we say so of 3 more, which fall short
// by less than .002 of full light.
func TestNBS(t *testing.T) {
	c := named(t, "nbs")
	require.Len(t, c.Drills, 267)
	beyond, slightly := 0, 0
	for i, line := range strings.Split(strings.TrimSpace(nbsCSV), "\n")[4:] {
		fields := strings.Split(line, ",")
		d := c.Drills[i]
		assert.Equal(t, fields[0], d.Code)
		assert.Equal(t, fields[1], d.Name)
		if fields[6] == "1" {
			beyond++
			assert.True(t, d.Beyond, "%s %s", d.Code, d.Name)
		} else if d.Beyond {
			red, green, blue := d.Lab.LinearRGB()
			assert.Greater(t, math.Min(red, math.Min(green, blue)), -0.002, "%s %s", d.Code, d.Name)
			slightly++
		}
	}
	assert.Equal(t, 58, beyond)
	assert.Equal(t, 3, slightly)
}

func TestMunsell(t *testing.T) {
	c := named(t, "munsell")
	require.Len(t, c.Drills, 475)
	notation := regexp.MustCompile(`^(N (10|\d(\.5)?)|(2\.5|5|7\.5|10)(R|YR|Y|GY|G|BG|B|PB|P|RP) ((0\.[2468]|[1-9])/\d?[02468]|[1-9]/1))$`)
	for _, d := range c.Drills {
		assert.Regexp(t, notation, d.Code)
		assert.False(t, d.Beyond, d.Code)
		if strings.HasPrefix(d.Code, "N ") {
			assert.Zero(t, math.Abs(d.Lab.A)+math.Abs(d.Lab.B), d.Code)
		}
	}
	near := 0
	for _, d := range c.Drills {
		if strings.HasSuffix(d.Code, "/1") {
			near++
		}
	}
	assert.Equal(t, 45, near, "near-neutrals: five hues, values 1 to 9")
	// The brown of the middle of the circle at value 5, and the gray ASTM D1535
	// puts at 19.27 percent of a perfect white (from memory): L* 51.0.
	for _, code := range []string{"5YR 5/4", "10YR 3/2", "N 5"} {
		_, ok := c.Index(code)
		assert.True(t, ok, code)
	}
	i, _ := c.Index("N 5")
	assert.InDelta(t, 51.0, c.Drills[i].Lab.L, 0.05)
}

// How far a color that sRGB can show is from its nearest drill. The figures
// are those reached; all renotations inside sRGB together would leave 7.55 (see
// gen), because none lies between the palest and white.
func TestMunsellLeavesSmallHoles(t *testing.T) {
	c := named(t, "munsell")
	largest, mean, at, n := holes(c, 3, func(lab.Color) bool { return true })
	t.Logf("all of sRGB: largest %.4f at %v, mean %.4f, %d colors", largest, at, mean, n)
	assert.LessOrEqual(t, largest, 7.43)
	assert.LessOrEqual(t, mean, 3.81)

	largest, mean, at, n = holes(c, 2, brownish)
	t.Logf("browns: largest %.4f at %v, mean %.4f, %d colors", largest, at, mean, n)
	assert.LessOrEqual(t, largest, 5.32)
	assert.LessOrEqual(t, mean, 3.06)

	var worst float64
	for v := 0; v < 256; v++ {
		worst = math.Max(worst, nearest(c, lab.FromSRGB([3]uint8{uint8(v), uint8(v), uint8(v)})))
	}
	t.Logf("grays: largest %.4f", worst)
	assert.LessOrEqual(t, worst, 2.50)
}

// brownish is the middle of the browns: L* 25 to 65, C* 10 to 35, hue 40 to 80
// degrees.
func brownish(c lab.Color) bool {
	chroma, hue := math.Hypot(c.A, c.B), math.Atan2(c.B, c.A)*180/math.Pi
	return c.L >= 25 && c.L <= 65 && chroma >= 10 && chroma <= 35 && hue >= 40 && hue <= 80
}

// holes measures a lattice of colors that sRGB can show.
func holes(c *Card, step int, which func(lab.Color) bool) (largest, mean float64, at lab.Color, n int) {
	for l := 1; l < 100; l += step {
		for a := -90; a <= 100; a += step {
			for b := -112; b <= 98; b += step {
				p := lab.Color{L: float64(l), A: float64(a), B: float64(b)}
				red, green, blue := p.LinearRGB()
				if math.Min(red, math.Min(green, blue)) < 0 || math.Max(red, math.Max(green, blue)) > 1 || !which(p) {
					continue
				}
				d := nearest(c, p)
				n++
				mean += d
				if d > largest {
					largest, at = d, p
				}
			}
		}
	}
	return largest, mean / float64(n), at, n
}

func nearest(c *Card, p lab.Color) float64 {
	best := math.Inf(1)
	for _, d := range c.Drills {
		// CIEDE2000 divides a difference of L by 1.75 at most.
		if math.Abs(d.Lab.L-p.L) < 1.75*best {
			best = math.Min(best, lab.DeltaE(d.Lab, p))
		}
	}
	return best
}
