// Package setting holds the kinds of flag values that more than one struct of
// settings is made of. Each is a pflag.Value whose String reads back through
// Set to the same value.
package setting

import (
	"slices"
	"strings"

	"kitwright/internal/say"
)

// Choice takes one of a few words.
type Choice[T ~string] struct {
	To    *T
	Words []T
}

// Of returns a Choice of words that is kept in to.
func Of[T ~string](to *T, words ...T) Choice[T] { return Choice[T]{To: to, Words: words} }

func (c Choice[T]) String() string {
	if c.To == nil {
		return ""
	}
	return string(*c.To)
}

// Set takes a word, in any case of letters.
func (c Choice[T]) Set(s string) error {
	w := T(strings.ToLower(strings.TrimSpace(s)))
	if !slices.Contains(c.Words, w) {
		return say.Usage("the help says what each means", "it takes %s, not %q", list(c.Words), s)
	}
	*c.To = w
	return nil
}

// Type names the words, for help.
func (c Choice[T]) Type() string { return join(c.Words, "|", "|") }

// list joins words as a person would: "a, b or c".
func list[T ~string](words []T) string { return join(words, ", ", " or ") }

func join[T ~string](words []T, between, last string) string {
	var b strings.Builder
	for i, w := range words {
		switch {
		case i == 0:
		case i == len(words)-1:
			b.WriteString(last)
		default:
			b.WriteString(between)
		}
		b.WriteString(string(w))
	}
	return b.String()
}
