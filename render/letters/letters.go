// Package letters knows the text faces of everything that is printed or
// painted: the Go fonts of Bigelow & Holmes. It says what they can show, how
// wide a text is, and where it breaks. Begin with [Clean], which gives a text
// the form that a face can show, and [Width].
package letters

import (
	"math"
	"slices"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
	"golang.org/x/text/unicode/norm"
)

// Face is a text face.
type Face int

const (
	Regular Face = iota
	Bold
)

// pointMM is a point, 1/72 inch, in mm.
const PointMM = 25.4 / 72

// Height of a line of the Go fonts above and below the baseline that letters
// of our languages use, and of capitals, in ems (read off the outlines).
const (
	Ascent    = 0.78
	Descent   = 0.22
	CapHeight = 0.72
)

// missing stands for a character that the text face cannot show.
const Missing = '□'

func (f Face) TTF() []byte {
	if f == Bold {
		return gobold.TTF
	}
	return goregular.TTF
}

// Font returns the outlines.
func (f Face) Font() *sfnt.Font { return faces[f]().font }

// metrics are the advances of a face in thousandths of an em, as the PDF
// writer rounds them.
type metrics struct {
	font    *sfnt.Font
	advance sync.Map // rune -> int; -1 if the face lacks it
}

var faces = [2]func() *metrics{
	sync.OnceValue(func() *metrics { return newMetrics(goregular.TTF) }),
	sync.OnceValue(func() *metrics { return newMetrics(gobold.TTF) }),
}

func newMetrics(ttf []byte) *metrics {
	f, err := sfnt.Parse(ttf)
	if err != nil {
		panic(err) // a font compiled into the program
	}
	return &metrics{font: f}
}

func (m *metrics) of(r rune) int {
	if r >= firstBorrowed {
		if l, ok := lentLetter(r); ok {
			return l.advance
		}
		return -1
	}
	if v, ok := m.advance.Load(r); ok {
		return v.(int)
	}
	v := -1
	var b sfnt.Buffer
	if g, err := m.font.GlyphIndex(&b, r); err == nil && g != 0 && r <= 0xFFFF {
		upm := m.font.UnitsPerEm()
		if a, err := m.font.GlyphAdvance(&b, g, fixed.I(int(upm)), font.HintingNone); err == nil {
			v = int(math.Round(float64(a) / 64 * 1000 / float64(upm)))
		}
	}
	m.advance.Store(r, v)
	return v
}

// Width returns the width of a clean text, mm.
func Width(f Face, size float64, s string) float64 {
	m := faces[f]()
	sum := 0
	for _, r := range s {
		sum += max(0, m.of(r))
	}
	return float64(sum) * size * PointMM / 1000
}

// Clean returns the text in a form that the text face can show: composed
// (NFC), white space as single spaces, marks and controls that it lacks left
// out, and an open box for any other character that it lacks.
func Clean(s string) string {
	m := faces[Regular]()
	return tidy(s, func(r rune) rune {
		if r >= firstBorrowed || m.of(r) < 0 {
			return Missing
		}
		return r
	})
}

// tidy composes a text, makes white space single spaces, and leaves marks and
// controls out; as says what every other character becomes.
func tidy(s string, as func(rune) rune) string {
	var b strings.Builder
	space := false
	for _, r := range norm.NFC.String(strings.ToValidUTF8(s, string(Missing))) {
		switch {
		case unicode.IsSpace(r):
			space = b.Len() > 0
			continue
		case unicode.In(r, unicode.Mn, unicode.Me, unicode.Cc, unicode.Cf):
			continue
		}
		r = as(r)
		if space {
			b.WriteByte(' ')
			space = false
		}
		b.WriteRune(r)
	}
	return b.String()
}

// Lacks returns the characters of a text that the text face cannot show, each
// once, in the order in which they come.
func Lacks(s string) string {
	m := faces[Regular]()
	var out []rune
	for _, r := range norm.NFC.String(strings.ToValidUTF8(s, "")) {
		if unicode.IsSpace(r) || unicode.In(r, unicode.Mn, unicode.Me, unicode.Cc, unicode.Cf) || r < firstBorrowed && m.of(r) >= 0 || slices.Contains(out, r) {
			continue
		}
		out = append(out, r)
	}
	return string(out)
}

// Shorten returns a clean text that is at most width mm wide, its end given
// way to an ellipsis if it must; empty where not even a letter has room.
func Shorten(f Face, size, width float64, s string) string {
	if width <= 0 {
		if s == "" {
			return s
		}
		return ""
	}
	m := faces[f]()
	return Cut(s, int(math.Floor(width/PointMM/size*1000+1e-6)), func(r rune) int { return max(0, m.of(r)) })
}

// Cut is Shorten for any measure of letters: it returns a text that is at most
// most wide by the advances of its letters. No letter beyond the room is
// looked at, however long the text.
func Cut(s string, most int, advance func(rune) int) string {
	const loose = " ,;:-" // not left before an ellipsis
	dots := -1            // width of the ellipsis, asked for when it is needed
	sum, tight := 0, 0    // width so far, and without loose marks at its end
	keep, cut := 0, -1    // bytes up to the last tight letter; what stays before an ellipsis, -1: nothing fits
	for i, r := range s {
		if i > 0 && sum <= most { // this text, one letter shorter
			if dots < 0 {
				dots = advance('…')
			}
			if tight+dots <= most {
				cut = keep
			}
		}
		sum += advance(r)
		if sum > most {
			if cut < 0 {
				return ""
			}
			return s[:cut] + "…"
		}
		if !strings.ContainsRune(loose, r) {
			tight, keep = sum, i+utf8.RuneLen(r)
		}
	}
	return s
}

// Wrap breaks a clean text into at most lines lines of width mm; what is left
// over is shortened.
func Wrap(f Face, size, width float64, lines int, s string) []string {
	var out []string
	words := strings.Fields(s)
	for len(words) > 0 {
		n := 1
		for n < len(words) && Width(f, size, strings.Join(words[:n+1], " ")) <= width {
			n++
		}
		if len(out) == lines-1 {
			n = len(words)
		}
		out = append(out, Shorten(f, size, width, strings.Join(words[:n], " ")))
		words = words[n:]
	}
	return out
}
