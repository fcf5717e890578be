package letters

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/image/font/sfnt"
)

func TestClean(t *testing.T) {
	for in, want := range map[string]string{
		"Ginger  at\tthe\nharbor ":   "Ginger at the harbor",
		"cafe\u0301":                 "café",
		"cat \U0001F431\uFE0F!":      "cat □!",
		"bad \xff byte":              "bad □ byte",
		"a\u200db\u0007":             "ab",
		"½ × 2.5 mm, łódź, Größe, Ж": "½ × 2.5 mm, łódź, Größe, Ж",
		"":                           "",
	} {
		assert.Equal(t, want, Clean(in), "%q", in)
	}
}

func TestEveryMarkOfOursIsInTheFace(t *testing.T) {
	for _, f := range []Face{Regular, Bold} {
		for _, r := range "…×·–—□½°%±→" {
			assert.Positive(t, faces[f]().of(r), "%c in face %d", r, f)
		}
		_, err := sfnt.Parse(f.TTF())
		assert.NoError(t, err)
	}
}

// shortenPlainly is what Shorten does, said plainly: one letter less until it
// fits.
func shortenPlainly(f Face, size, width float64, s string) string {
	if Width(f, size, s) <= width {
		return s
	}
	r := []rune(s)
	for n := len(r) - 1; n > 0; n-- {
		t := strings.TrimRight(string(r[:n]), " ,;:-") + "…"
		if Width(f, size, t) <= width {
			return t
		}
	}
	return ""
}

func TestShortenIsThePlainOne(t *testing.T) {
	shortened := 0
	for _, s := range []string{"", "W", "ii", "Marmalade at the harbor wall", "a - b, c; d: - e", "ends in -- ", "łódź × ½, Größe", "…", "- - - - -"} {
		for _, f := range []Face{Regular, Bold} {
			for size := 7.0; size < 27; size += 4.75 {
				for width := -1.0; width < 80; width += 0.7 {
					want := shortenPlainly(f, size, width, s)
					if want != s {
						shortened++
					}
					require.Equal(t, want, Shorten(f, size, width, s), "%q, %g points, %g mm", s, size, width)
				}
				exact := Width(f, size, s)
				assert.Equal(t, s, Shorten(f, size, exact, s), "its own width is enough")
			}
		}
	}
	assert.Greater(t, shortened, 1000)
}

// However long a text is, no more letters are looked at than have room, and
// one that is broken into lines no more than those lines hold.
func TestCutLooksNoFurtherThanItMust(t *testing.T) {
	for _, n := range []int{4_000, 100_000} {
		asked := 0
		got := Cut(strings.Repeat("W", n), 10_000, func(r rune) int { asked++; return 900 })
		assert.Equal(t, strings.Repeat("W", 10)+"…", got)
		assert.LessOrEqual(t, asked, 13)

		lines := Wrap(Bold, 20, 150, 2, strings.Repeat("W ", n))
		assert.Len(t, lines, 2)
		assert.Equal(t, []string{Shorten(Bold, 20, 150, strings.Repeat("W", n))}, Wrap(Bold, 20, 150, 2, strings.Repeat("W", n)))
	}
}

func TestShortenAndWrap(t *testing.T) {
	assert.Equal(t, "short", Shorten(Regular, 8, 100, "short"))
	got := Shorten(Regular, 8, 20, "moderate yellowish green, rather long")
	assert.Contains(t, got, "…")
	assert.LessOrEqual(t, Width(Regular, 8, got), 20.0)
	assert.Equal(t, "", Shorten(Regular, 8, 0.1, "word"))

	lines := Wrap(Bold, 20, 60, 2, "a title that goes on and on and on until there is no room for the rest of it")
	assert.Len(t, lines, 2)
	for _, l := range lines {
		assert.LessOrEqual(t, Width(Bold, 20, l), 60.0)
	}
	assert.Contains(t, lines[1], "…")
	assert.Len(t, Wrap(Bold, 20, 10, 3, "Unbreakableverylongwordwithoutanyspace"), 1)
	assert.Empty(t, Wrap(Bold, 20, 10, 3, ""))
}

func TestLacks(t *testing.T) {
	for in, want := range map[string]string{
		"Ginger at the harbor, łódź, Ж, Ω": "", "猫 cat 猫\uFE0F 犬": "猫犬", "cat \U0001F431": "\U0001F431", "\u200d\xff\n": "", "": "",
	} {
		assert.Equal(t, want, Lacks(in), "%q", in)
	}
}
