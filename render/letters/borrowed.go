package letters

import (
	"crypto/sha256"
	"math"
	"strings"
	"sync"
	"unicode"

	"golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"

	"kitwright/internal/say"
)

// Borrowed is a font that a person gives for letters that our own faces lack.
// Only the outlines of the letters that are used get onto a page.
type Borrowed struct {
	name string
	sum  [sha256.Size]byte
	font *sfnt.Font
}

// Borrow reads a TrueType or OpenType font, or the first of a collection.
func Borrow(name string, data []byte) (*Borrowed, error) {
	bad := func() error {
		return say.Failed("give a TrueType or OpenType font whose license lets you print with it: a file that ends in .ttf, .otf or .ttc", "%s is not a font that can be read", name)
	}
	all, err := sfnt.ParseCollection(data)
	if err != nil || all.NumFonts() == 0 {
		return nil, bad()
	}
	f, err := all.Font(0)
	if err != nil || f.UnitsPerEm() < 16 || f.NumGlyphs() == 0 {
		return nil, bad()
	}
	b := &Borrowed{name: name, sum: sha256.Sum256(data), font: f}
	for _, r := range "aאあ가ა" { // what can be parsed may still hold nothing that can be drawn
		if g, ok := b.glyph(r); ok {
			if _, err := f.LoadGlyph(new(sfnt.Buffer), g, fixed.I(1000), nil); err != nil {
				return nil, bad()
			}
		}
	}
	return b, nil
}

// glyph returns the index of a letter's outline.
func (b *Borrowed) glyph(r rune) (sfnt.GlyphIndex, bool) {
	g, err := b.font.GlyphIndex(new(sfnt.Buffer), r)
	return g, err == nil && g != 0
}

// A letter of a borrowed font stands in a clean text as a character of its own,
// from Unicode's private planes, so that widths, breaks and drawing need not know
// where it comes from. Which one it gets differs from run to run and reaches no
// page: there it is an outline.
const (
	firstBorrowed = 0xF0000
	lastBorrowed  = 0x10FFFD
)

type borrowedKey struct {
	sum [sha256.Size]byte
	r   rune
}

type borrowedLetter struct {
	from    *Borrowed
	glyph   sfnt.GlyphIndex
	advance int // thousandths of an em
}

var lent = struct {
	sync.RWMutex
	at  map[borrowedKey]rune
	all []borrowedLetter
}{at: map[borrowedKey]rune{}}

// lend returns the character that stands for a letter of the font, or Missing
// where there is none or it cannot be drawn.
func (b *Borrowed) lend(r rune) rune {
	key := borrowedKey{b.sum, r}
	lent.Lock()
	defer lent.Unlock()
	if c, ok := lent.at[key]; ok {
		return c
	}
	c := rune(firstBorrowed + len(lent.all))
	g, ok := b.glyph(r)
	if !ok || c > lastBorrowed {
		return Missing
	}
	var buf sfnt.Buffer
	upm := b.font.UnitsPerEm()
	adv, err := b.font.GlyphAdvance(&buf, g, fixed.I(int(upm)), font.HintingNone)
	if err != nil {
		return Missing
	}
	if _, err := b.font.LoadGlyph(&buf, g, fixed.I(int(upm)), nil); err != nil { // as of a bitmap of an emoji
		return Missing
	}
	lent.at[key] = c
	lent.all = append(lent.all, borrowedLetter{b, g, int(math.Round(float64(adv) / 64 * 1000 / float64(upm)))})
	return c
}

// lentLetter returns what a character of a clean text stands for.
func lentLetter(c rune) (l borrowedLetter, ok bool) {
	if c < firstBorrowed || c > lastBorrowed {
		return l, false
	}
	lent.RLock()
	defer lent.RUnlock()
	if i := int(c - firstBorrowed); i < len(lent.all) {
		return lent.all[i], true
	}
	return l, false
}

// IsBorrowed says whether a character of a clean text is a letter of a borrowed
// font, which is drawn by its outline.
func IsBorrowed(c rune) bool { _, ok := lentLetter(c); return ok }

// Outline returns the font and the index of a letter's outline.
func Outline(f Face, c rune) (*sfnt.Font, sfnt.GlyphIndex, error) {
	if l, ok := lentLetter(c); ok {
		return l.from.font, l.glyph, nil
	}
	fnt := f.Font()
	g, err := fnt.GlyphIndex(new(sfnt.Buffer), c)
	return fnt, g, err
}

// plainScripts are the scripts whose letters stand side by side as they are:
// no joining, no reordering, no stacking. The letters of others would print
// wrongly one by one, so they are not borrowed.
var plainScripts = []*unicode.RangeTable{
	unicode.Latin, unicode.Greek, unicode.Cyrillic, unicode.Han, unicode.Hiragana, unicode.Katakana, unicode.Hangul, unicode.Bopomofo,
	unicode.Armenian, unicode.Georgian, unicode.Hebrew, unicode.Ethiopic, unicode.Cherokee, unicode.Canadian_Aboriginal,
	unicode.Yi, unicode.Runic, unicode.Ogham, unicode.Gothic, unicode.Lisu, unicode.Tifinagh, unicode.Coptic, unicode.Glagolitic, unicode.Braille,
}

// standsAlone says whether a character comes out right as a single outline.
func standsAlone(r rune) bool {
	switch {
	case r >= 0x1100 && r <= 0x11ff, r >= 0xa960 && r <= 0xa97f, r >= 0xd7b0 && r <= 0xd7ff: // parts of Korean syllables
		return false
	case unicode.In(r, plainScripts...):
		return true
	}
	return unicode.Is(unicode.Common, r) && !unicode.IsLetter(r)
}

// CleanWith is Clean with the letters of a font for what ours lack, which may be
// nil. Text that runs from right to left comes out in the order in which it is
// seen.
func CleanWith(s string, b *Borrowed) string {
	if b == nil {
		return Clean(s)
	}
	m := faces[Regular]()
	text := []rune(tidy(s, func(r rune) rune { return r }))
	text = seen(text)
	var out strings.Builder
	for _, r := range text {
		switch {
		case m.of(r) >= 0 && r < firstBorrowed:
		case r >= firstBorrowed || !standsAlone(r):
			r = Missing
		default:
			r = b.lend(r)
		}
		out.WriteRune(r)
	}
	return out.String()
}

// LacksWith returns the characters that CleanWith cannot show, each once: those
// that no face has, and those of scripts that no font helps, as their letters
// have to be joined or stacked.
func LacksWith(s string, b *Borrowed) (none, joined string) {
	for _, r := range Lacks(s) {
		switch {
		case r < firstBorrowed && !standsAlone(r):
			joined += string(r)
		case b == nil || r >= firstBorrowed || b.lend(r) == Missing:
			none += string(r)
		}
	}
	return none, joined
}
