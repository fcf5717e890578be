package chart

import (
	_ "embed"
	"fmt"
	"strings"
	"sync"
	"unicode"
)

// Size is a size of the pixel alphabet.
type Size int

const (
	Fit   Size = iota // the largest that fits
	Small             // capitals 7 drills high, strokes 1 drill wide
	Large             // capitals 10 drills high, strokes 2 drills wide
)

// alphabet is the letters of one size, drawn in drills.
type alphabet struct {
	capital int // height of a capital
	gap     int // between letters
	space   int // the width of a space
	letters map[rune]letter
	marks   map[string]letter
}

// letter is rows of drills, true where there is ink. Row 0 lies at top, counted
// from the top of a capital down.
type letter struct {
	width int
	top   int
	rows  [][]bool
}

//go:embed caption-small.txt
var smallLetters string

//go:embed caption-large.txt
var largeLetters string

var alphabets = sync.OnceValue(func() map[Size]*alphabet {
	small := &alphabet{capital: 7, gap: 1, space: 3}
	large := &alphabet{capital: 10, gap: 2, space: 5}
	small.read(smallLetters)
	large.read(largeLetters)
	return map[Size]*alphabet{Small: small, Large: large}
})

// read takes in the drawings; a fault in them is a fault of the program.
func (a *alphabet) read(text string) {
	a.letters = map[rune]letter{' ': {width: a.space}}
	a.marks = map[string]letter{}
	for _, block := range strings.Split(text, "\n= ")[1:] {
		lines := strings.Split(strings.TrimSpace(block), "\n")
		names := strings.Fields(lines[0])
		drawn := make([]letter, len(names))
		for _, line := range lines[1:] {
			parts := strings.Fields(line)
			if len(parts) != len(names) {
				panic(fmt.Sprintf("chart: %d letters in the row %q under %q", len(parts), line, lines[0]))
			}
			for i, part := range parts {
				if drawn[i].width > 0 && len(part) != drawn[i].width {
					panic(fmt.Sprintf("chart: the letter %s is not equally wide everywhere: %q", names[i], line))
				}
				drawn[i].width = len(part)
				row := make([]bool, len(part))
				for x, c := range part {
					row[x] = c == '#'
				}
				drawn[i].rows = append(drawn[i].rows, row)
			}
		}
		for i, name := range names {
			if r := []rune(name); len(r) == 1 {
				a.letters[r[0]] = drawn[i].trimmed()
			} else {
				a.marks[name] = drawn[i].trimmed()
			}
		}
	}
	a.letters['Ð'] = a.letters['Đ']
	for mark, pairs := range marked {
		for _, pair := range strings.Fields(pairs) {
			r := []rune(pair)
			a.letters[r[0]] = a.compose(r[1], mark)
		}
	}
}

// trimmed drops empty rows above and below.
func (l letter) trimmed() letter {
	empty := func(row []bool) bool {
		for _, ink := range row {
			if ink {
				return false
			}
		}
		return true
	}
	for len(l.rows) > 0 && empty(l.rows[0]) {
		l.rows, l.top = l.rows[1:], l.top+1
	}
	for len(l.rows) > 0 && empty(l.rows[len(l.rows)-1]) {
		l.rows = l.rows[:len(l.rows)-1]
	}
	return l
}

// marked tells which letters are another one with a mark.
var marked = map[string]string{
	"grave":       "ÀA ÈE ÌI ÒO ÙU àa èe ìı òo ùu ǸN ǹn",
	"acute":       "ÁA ÉE ÍI ÓO ÚU ÝY áa ée íı óo úu ýy ĆC ćc ŃN ńn ŚS śs ŹZ źz ĹL ŔR ŕr",
	"circumflex":  "ÂA ÊE ÎI ÔO ÛU âa êe îı ôo ûu ŴW ŵw ŶY ŷy ĈC ĉc ŜS ŝs",
	"tilde":       "ÃA ÑN ÕO ãa ñn õo ĨI ĩı ŨU ũu",
	"diaeresis":   "ÄA ËE ÏI ÖO ÜU ŸY äa ëe ïı öo üu ÿy",
	"ring":        "ÅA åa ŮU ůu",
	"caron":       "ČC čc ĎD ĚE ěe ŇN ňn ŘR řr ŠS šs ŤT ŽZ žz",
	"breve":       "ĂA ăa ĞG ğg ŬU ŭu",
	"macron":      "ĀA āa ĒE ēe ĪI īı ŌO ōo ŪU ūu",
	"dot":         "ĊC ċc ĖE ėe ĠG ġg İI ŻZ żz",
	"doubleacute": "ŐO őo ŰU űu",
	"cedilla":     "ÇC çc ŞS şs ȘS șs ŢT ţt ȚT țt ĻL ļl ŅN ņn ĶK ķk",
	"ogonek":      "ĄA ąa ĘE ęe ĮI įi ŲU ųu",
}

// combining marks follow their letter, as some programs write them.
var combining = map[rune]string{
	'\u0300': "grave", '\u0301': "acute", '\u0302': "circumflex", '\u0303': "tilde", '\u0304': "macron",
	'\u0306': "breve", '\u0307': "dot", '\u0308': "diaeresis", '\u030a': "ring", '\u030b': "doubleacute",
	'\u030c': "caron", '\u0326': "cedilla", '\u0327': "cedilla", '\u0328': "ogonek",
}

// plain gives characters that look alike one drawing.
var plain = strings.NewReplacer("’", "'", "‘", "'", "´", "'", "`", "'", "“", `"`, "”", `"`, "„", `"`, "—", "–", "‐", "-", "…", "...",
	"\u00a0", " ", "\t", " ", "❤", "♥", "\ufe0f", "", "«", `"`, "»", `"`)

// compose puts a mark on a letter: one drill above its top, or under the line.
func (a *alphabet) compose(base rune, mark string) letter {
	b, m := a.letters[base], a.marks[mark]
	if base == 'i' && mark != "ogonek" {
		b = a.letters['ı']
	}
	top := b.top - 1 - len(m.rows)
	at := (b.width - m.width + 1) / 2
	switch mark {
	case "cedilla":
		top = a.capital
	case "ogonek":
		top, at = a.capital, b.width-m.width
	}
	left := max(0, -at)
	out := letter{width: max(b.width, at+m.width) + left, top: min(top, b.top)}
	bottom := max(top+len(m.rows), b.top+len(b.rows))
	for y := out.top; y < bottom; y++ {
		row := make([]bool, out.width)
		if y >= b.top && y < b.top+len(b.rows) {
			copy(row[left:], b.rows[y-b.top])
		}
		if y >= top && y < top+len(m.rows) {
			for x, ink := range m.rows[y-top] {
				row[left+at+x] = row[left+at+x] || ink
			}
		}
		out.rows = append(out.rows, row)
	}
	return out
}

// spell returns the letters of a text, or the first character that the
// alphabet has no drawing for.
func (a *alphabet) spell(text string) (word []letter, missing rune) {
	runes := []rune(plain.Replace(strings.TrimSpace(text)))
	for i := 0; i < len(runes); i++ {
		r := runes[i]
		if i+1 < len(runes) {
			if mark, ok := combining[runes[i+1]]; ok {
				if _, ok := a.letters[r]; !ok || !unicode.IsLetter(r) {
					return nil, r
				}
				word = append(word, a.compose(r, mark))
				i++
				continue
			}
		}
		l, ok := a.letters[r]
		if !ok {
			return nil, r
		}
		word = append(word, l)
	}
	return word, 0
}

// extent returns the width of a word and its rows from top (of a capital or
// higher) to bottom (the line or lower).
func (a *alphabet) extent(word []letter) (width, top, bottom int) {
	bottom = a.capital
	for i, l := range word {
		if i > 0 {
			width += a.gap
		}
		width += l.width
		top, bottom = min(top, l.top), max(bottom, l.top+len(l.rows))
	}
	return width, top, bottom
}
