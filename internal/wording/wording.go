// Package wording holds the rules for words that come from outside and go on
// paper, on a terminal and into tables: titles, codes, names and finishes. The
// flags, the cards and kit.json ask here, so that what one of them lets in the
// others do too.
//
// Begin with [Kind.Check]; [Cell] is for whatever is written into a table that
// a spreadsheet may open.
package wording

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"kitwright/internal/say"
)

// Kind is a kind of words, as an error names it.
type Kind string

// The kinds.
const (
	Title   Kind = "title"
	Caption Kind = "caption"
	Code    Kind = "code"
	Color   Kind = "color" // a code with its finish
	Name    Kind = "name"
	Finish  Kind = "finish"
)

// Most returns how many characters words of this kind may have: far above any
// real one, low enough that every page can be laid out at once.
func (k Kind) Most() int {
	switch k {
	case Code:
		return 40
	case Finish:
		return 20
	default:
		return 120
	}
}

// Check says what is wrong with words of this kind: not UTF-8, a character
// that cannot be printed (line breaks, control characters, the marks that turn
// the direction of writing), or too many characters. Empty is fine; whether it
// may be is the caller's to say.
func (k Kind) Check(s string) error {
	if !utf8.ValidString(s) || strings.ContainsFunc(s, unprintable) {
		return say.Failed("type it again, on one line", "the %s holds characters that cannot be printed", k)
	}
	if utf8.RuneCountInString(s) > k.Most() {
		return say.Failed("shorten it", "the %s is longer than %d characters", k, k.Most())
	}
	return nil
}

// Printable returns s with a space for every character that Check refuses.
func Printable(s string) string {
	return strings.Map(func(c rune) rune {
		if c == utf8.RuneError || unprintable(c) {
			return ' '
		}
		return c
	}, s)
}

// Short returns a text as an error repeats it: of a long one the beginning.
func Short(s string) string {
	const most = 40 // characters
	if utf8.RuneCountInString(s) <= most {
		return s
	}
	return string([]rune(s[:min(len(s), most*utf8.UTFMax)])[:most]) + "..."
}

// unprintable tells what no page shows and what could speak to a terminal.
// Other characters may or may not have a letter in a face; joiners (emoji,
// Indic scripts) and private ones pass.
func unprintable(c rune) bool {
	switch {
	case c == '\u2028', c == '\u2029': // line and paragraph separators
		return true
	case c >= '\u202a' && c <= '\u202e', c >= '\u2066' && c <= '\u2069': // directions of writing
		return true
	}
	return unicode.IsControl(c)
}

// Cell returns text as it is written into a table: text that a spreadsheet
// would run as a formula, and text that begins with an apostrophe before such
// a sign, gets an apostrophe before it. Numbers are no text: write them as
// they are. [Uncell] reads it back.
func Cell(text string) string {
	if runs(strings.TrimLeft(text, "'")) {
		return "'" + text
	}
	return text
}

// Uncell returns the text that Cell was given.
func Uncell(cell string) string {
	if strings.HasPrefix(cell, "'") && runs(strings.TrimLeft(cell, "'")) {
		return cell[1:]
	}
	return cell
}

// runs tells text that a spreadsheet takes for a formula (OWASP, "CSV
// Injection").
func runs(text string) bool { return text != "" && strings.IndexByte("=+-@\t\r", text[0]) >= 0 }
