package setting

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestNear(t *testing.T) {
	flags := []string{"colors", "crop", "card", "calm", "caption", "caption-size", "size", "sheets", "force"}
	for word, want := range map[string]string{
		"color": "colors", "colours": "colors", "colosr": "colors", "Sise": "size", "captoin": "caption", "caption-siez": "caption-size",
		"shets": "sheets", "cart": "card", "xyz": "", "frobnicate": "", "c": "", "": "",
	} {
		assert.Equal(t, want, Near(word, flags), word)
	}
}

// The distance is that of the slow definition, taken from the recurrence as it
// is written in textbooks.
func TestDistance(t *testing.T) {
	var slow func(a, b string) int
	slow = func(a, b string) int {
		if a == "" || b == "" {
			return len(a) + len(b)
		}
		change := slow(a[1:], b[1:])
		if a[0] != b[0] {
			change++
		}
		d := min(slow(a[1:], b)+1, slow(a, b[1:])+1, change)
		if len(a) > 1 && len(b) > 1 && a[0] == b[1] && a[1] == b[0] {
			d = min(d, slow(a[2:], b[2:])+1)
		}
		return d
	}
	var words []string
	for _, a := range []string{"", "a", "b", "c"} {
		for _, b := range []string{"", "a", "b"} {
			for _, c := range []string{"a", "b", "ca", "abc"} {
				words = append(words, a+b+c)
			}
		}
	}
	for _, a := range words {
		for _, b := range words {
			assert.Equal(t, slow(a, b), distance(a, b, 99), "%s %s", a, b)
			assert.Equal(t, min(2, slow(a, b)), min(2, distance(a, b, 2)), "%s %s", a, b)
		}
	}
}
