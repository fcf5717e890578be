package draw

import (
	_ "embed"
	"fmt"
	"math"
	"strings"

	"kitwright/chart/symbols"
)

//go:embed order.txt
var orderText string

// Order is the names of the chosen shapes, as Candidates, Letters and Marks
// call them, in the order of the table.
func Order() []string { return strings.Fields(strings.ReplaceAll(orderText, " ", "_")) }

// Table returns the file chart/symbols/table.txt. Letters gives the shapes of
// letters and digits; known is the table so far, in which a shape that has no
// character of its own keeps its place in the private use area.
func Table(letters []Shape, known []symbols.Symbol) (string, error) {
	shapes := map[string]Shape{}
	for _, list := range [][]Shape{Candidates(), letters, Marks()} {
		for _, s := range list {
			shapes[strings.ReplaceAll(s.Name, " ", "_")] = s
		}
	}
	place := newPlaces(known)
	var b strings.Builder
	b.WriteString("# Symbols in order: code point, name, contours in thousandths of half the box, x right and y down.\n" +
		"# Points are parted by spaces, contours of a path (even-odd) by ;, paths (united) by |.\n" +
		"# Letters and digits are traced from Noto Sans Bold, SIL Open Font License 1.1, see OFL.txt.\n" +
		"# Made from chart/symbols/draw by: UPDATE=1 go test ./chart/symbols/draw\n")
	marks := 0
	for _, key := range Order() {
		s, ok := shapes[key]
		if !ok {
			return "", fmt.Errorf("order.txt has %q, and no shape is called so", key)
		}
		name := plainName(s.Name)
		if strings.Contains(name, "block ") || strings.HasPrefix(name, "ring code ") {
			marks++
			name = fmt.Sprintf("mark %02d", marks)
		}
		fmt.Fprintf(&b, "%04X\t%s\t%s\n", place.of(name, s.Rune), name, contours(s.Paths))
	}
	return b.String(), nil
}

// places gives code points: the character that looks like the shape, or one
// of the private use area (Unicode 15.0, section 23.5) that stays the same.
type places struct {
	known map[string]rune
	next  rune
}

const privateUse = '\uE000'

func newPlaces(known []symbols.Symbol) *places {
	p := &places{map[string]rune{}, privateUse}
	for _, s := range known {
		if s.Rune >= privateUse && s.Rune < '\uF900' {
			p.known[s.Name] = s.Rune
			p.next = max(p.next, s.Rune+1)
		}
	}
	return p
}

func (p *places) of(name string, looks rune) rune {
	if looks != 0 {
		return looks
	}
	r, ok := p.known[name]
	if !ok {
		r = p.next
		p.next++
		p.known[name] = r
	}
	return r
}

func contours(list paths) string {
	var b strings.Builder
	for i, p := range list {
		if i > 0 {
			b.WriteString(" | ")
		}
		for j, c := range p {
			if j > 0 {
				b.WriteString(" ; ")
			}
			for k, v := range c {
				if k > 0 {
					b.WriteByte(' ')
				}
				fmt.Fprintf(&b, "%d,%d", thousandths(v.X), thousandths(v.Y))
			}
		}
	}
	return b.String()
}

func thousandths(v float64) int { return int(math.Round(v * 1000)) }
