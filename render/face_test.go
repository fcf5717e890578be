package render

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
		assert.Equal(t, want, clean(in), "%q", in)
	}
}

func TestEveryMarkOfOursIsInTheFace(t *testing.T) {
	for _, f := range []face{regular, bold} {
		for _, r := range "…×·–—□½°%±→" {
			assert.Positive(t, faces[f]().of(r), "%c in face %d", r, f)
		}
		_, err := sfnt.Parse(f.ttf())
		assert.NoError(t, err)
	}
}

func TestShortenAndWrap(t *testing.T) {
	assert.Equal(t, "short", shorten(regular, 8, 100, "short"))
	got := shorten(regular, 8, 20, "moderate yellowish green, rather long")
	assert.Contains(t, got, "…")
	assert.LessOrEqual(t, textWidth(regular, 8, got), 20.0)
	assert.Equal(t, "", shorten(regular, 8, 0.1, "word"))

	lines := wrap(bold, 20, 60, 2, "a title that goes on and on and on until there is no room for the rest of it")
	assert.Len(t, lines, 2)
	for _, l := range lines {
		assert.LessOrEqual(t, textWidth(bold, 20, l), 60.0)
	}
	assert.Contains(t, lines[1], "…")
	assert.Len(t, wrap(bold, 20, 10, 3, "Unbreakableverylongwordwithoutanyspace"), 1)
	assert.Empty(t, wrap(bold, 20, 10, 3, ""))
}
