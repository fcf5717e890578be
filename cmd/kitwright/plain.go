package main

import (
	"errors"
	"io"
	"syscall"
	"unicode"
	"unicode/utf8"

	"kitwright/internal/say"
)

// harmless writes text without what could command a terminal: control
// characters from a file's name or a kit become question marks. It remembers
// the first error, so that a full disk behind a redirection is told.
type harmless struct {
	w    io.Writer
	rest []byte // the begin of a letter, of which the end is yet to come
	err  error
}

func safe(w io.Writer) *harmless { return &harmless{w: w} }

func (p *harmless) Write(b []byte) (int, error) {
	if p.err != nil {
		return 0, p.err
	}
	in := append(p.rest, b...)
	out := make([]byte, 0, len(in))
	for len(in) > 0 && (utf8.FullRune(in) || len(in) >= utf8.UTFMax) {
		c, n := utf8.DecodeRune(in)
		if c == utf8.RuneError && n == 1 || obeyed(c) {
			out = append(out, '?')
		} else {
			out = append(out, in[:n]...)
		}
		in = in[n:]
	}
	p.rest = append([]byte(nil), in...)
	if _, p.err = p.w.Write(out); p.err != nil {
		return 0, p.err
	}
	return len(b), nil
}

// obeyed says whether a terminal would obey a character instead of showing
// it: control characters, and those that turn the direction of writing.
func obeyed(c rune) bool {
	return unicode.IsControl(c) && c != '\n' && c != '\t' || c >= '\u202a' && c <= '\u202e' || c >= '\u2066' && c <= '\u2069'
}

// flush writes what is left and returns the first error there was.
func (p *harmless) flush() error {
	if p.err == nil && len(p.rest) > 0 {
		p.rest = nil
		_, p.err = io.WriteString(p.w, "?")
	}
	if p.err == nil || errors.Is(p.err, syscall.EPIPE) { // whoever reads has read enough
		return nil
	}
	return say.File("what there is to say cannot be written", "standard output", p.err)
}
