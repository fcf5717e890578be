package letters

import (
	"testing"

	"github.com/stretchr/testify/assert"
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
