package say

import (
	"fmt"
	"strings"
)

// Text is a sentence in which settings stand by their name, so that each door
// can show them its own way: the command as --colors, a page as the words
// beside the field.
type Text struct{ pieces []piece }

// piece is plain text, or the name of a setting.
type piece struct {
	text    string
	setting bool
}

// Setting as an argument of a format is the name of a setting.
type Setting string

// Textf returns a sentence. A setting is written {colors} in the format;
// braces in arguments are plain text, and "{{" in the format is a plain brace.
// An argument of the type Setting is one, and the settings of an Error or Text
// among the arguments are kept.
func Textf(format string, args ...any) Text {
	// The sentence is formatted as a whole, with a mark before and behind each
	// setting. The mark grows until no argument holds it.
	for mark := "\x00"; len(mark) < 8; mark += "\x00" {
		marked, n := markSettings(format, mark)
		in := make([]any, len(args))
		for i, a := range args {
			switch a := a.(type) {
			case Setting:
				in[i], n = flat(mark+string(a)+mark), n+1
			case *Error:
				in[i], n = flat(a.what.marked(mark)), n+a.what.settings()
			case Text:
				in[i], n = flat(a.marked(mark)), n+a.settings()
			case string:
				in[i] = shortened(a)
			default:
				in[i] = a
			}
		}
		parts := strings.Split(fmt.Errorf(marked, in...).Error(), mark)
		if len(parts) != 2*n+1 {
			continue
		}
		var t Text
		for i, p := range parts {
			if p != "" {
				t.pieces = append(t.pieces, piece{p, i%2 == 1})
			}
		}
		return t
	}
	// Arguments full of marks, or a setting behind a verb that changes it.
	return Text{[]piece{{text: fmt.Errorf(format, args...).Error()}}}
}

// Reading returns a sentence that is given whole, such as a hint or the help of
// a flag: settings are written as in Textf, and there are no arguments.
func Reading(s string) Text { return Textf(strings.ReplaceAll(s, "%", "%%"), []any{}...) }

// mostShown is how much of a text is repeated in a sentence.
const mostShown = 240

// shortened leaves out the middle of a text that would bury the sentence it
// stands in.
func shortened(s string) string {
	r := []rune(s)
	if len(r) <= mostShown {
		return s
	}
	const end = 40
	return string(r[:mostShown-end]) + " ... " + string(r[len(r)-end:])
}

// flat is a sentence with marks, as an argument for any verb.
type flat string

func (f flat) Error() string { return string(f) }

// markSettings sets marks around the settings of a format and counts them.
func markSettings(format, mark string) (string, int) {
	var b strings.Builder
	n := 0
	for {
		before, rest, found := strings.Cut(format, "{")
		b.WriteString(before)
		if !found {
			return b.String(), n
		}
		if strings.HasPrefix(rest, "{") {
			b.WriteByte('{')
			format = rest[1:]
			continue
		}
		name, after, closed := strings.Cut(rest, "}")
		if !closed || !isSetting(name) {
			b.WriteByte('{')
			format = rest
			continue
		}
		b.WriteString(mark + name + mark)
		format, n = after, n+1
	}
}

// isSetting says whether a name is written as settings are: small letters and
// hyphens.
func isSetting(name string) bool {
	return name != "" && strings.Trim(name, "abcdefghijklmnopqrstuvwxyz-") == ""
}

func (t Text) marked(mark string) string {
	return t.Words(func(s string) string { return mark + s + mark })
}

func (t Text) settings() (n int) {
	for _, p := range t.pieces {
		if p.setting {
			n++
		}
	}
	return n
}

// Words returns the sentence with every setting as the function writes it.
func (t Text) Words(setting func(name string) string) string {
	var b strings.Builder
	for _, p := range t.pieces {
		if p.setting {
			b.WriteString(setting(p.text))
		} else {
			b.WriteString(p.text)
		}
	}
	return b.String()
}

// String returns the sentence with the bare names of the settings.
func (t Text) String() string { return t.Words(func(s string) string { return s }) }

// Empty says whether there is nothing to read.
func (t Text) Empty() bool { return len(t.pieces) == 0 }

// Setting returns the first setting the sentence names, or "".
func (t Text) Setting() string {
	for _, p := range t.pieces {
		if p.setting {
			return p.text
		}
	}
	return ""
}

// Hint returns a hint for Usage and Failed that holds arguments: what looks
// like a setting in them stays plain text.
func Hint(format string, args ...any) string {
	var b strings.Builder
	for _, p := range Textf(format, args...).pieces {
		if p.setting {
			b.WriteString("{" + p.text + "}")
		} else {
			b.WriteString(strings.ReplaceAll(p.text, "{", "{{"))
		}
	}
	return b.String()
}
