package render

import (
	"io"
	"sort"
	"strconv"
	"strings"

	"kitwright/internal/say"
	"kitwright/kit"
	"kitwright/render/letters"
	"kitwright/render/pdf"
)

// Legend writes the legend as a card in large type: by symbol, and again by
// code, each color with an empty cell to stick one drill into.
func Legend(w io.Writer, k *kit.Kit, p Print) error {
	if err := p.checkFor(k); err != nil {
		return err
	}
	l := legendCard{kit: k, print: p, skin: newSkin(k, p)}
	d := documentOf(k, p, "legend", "Symbols, codes and counts in large type", l.skin.Box)
	d.Pages = l.pages()
	return d.Write(w)
}

// legendCard is the layout of the card, everything in mm.
type legendCard struct {
	kit   *kit.Kit
	print Print
	skin  skin
}

// Sizes of the card: type in points, the rest in mm.
const (
	cardType   = 12.0
	cardRow    = 9.4 // the lowest row
	cardRowMax = 12.0
)

func (l legendCard) pages() []*pdf.Page {
	bySymbol, byCode := allEntries(l.kit), allEntries(l.kit)
	legend := l.kit.Chart.Legend
	sort.SliceStable(bySymbol, func(i, j int) bool {
		return naturalLess(legend[bySymbol[i]].Symbol.Name, legend[bySymbol[j]].Symbol.Name)
	})
	sort.SliceStable(byCode, func(i, j int) bool {
		return naturalLess(legend[byCode[i]].Drill.Address(), legend[byCode[j]].Drill.Address())
	})
	return append(l.list("by symbol", bySymbol), l.list("by code", byCode)...)
}

// list returns the pages of one order.
func (l legendCard) list(how string, entries []int) []*pdf.Page {
	w, h := l.print.Paper.Size.W.MM(), l.print.Paper.Size.H.MM()
	m := max(l.print.PaperMargin.MM(), 10)
	const head, foot = 25.0, 9.0
	per := max(1, int((h-2*m-head-foot)/cardRow))
	pages := (len(entries) + per - 1) / per
	each := (len(entries) + pages - 1) / pages
	row := min(cardRowMax, (h-2*m-head-foot)/float64(each))
	var out []*pdf.Page
	for at := 0; at < len(entries); at += each {
		pg := &pdf.Page{W: w, H: h}
		n := at/each + 1
		title := "Legend, " + how
		if pages > 1 {
			title += " (" + strconv.Itoa(n) + " of " + strconv.Itoa(pages) + ")"
		}
		ops, y := pageTitle(m, m, w-2*m, title, titleOf(l.kit)+" · "+stampOf(l.kit, l.print))
		pg.Add(ops...)
		pg.Add(l.rows(m, y+2, w-2*m, row, entries[at:min(at+each, len(entries))])...)
		note := "Stick one drill of each color into its empty cell. Card: " + letters.Clean(l.kit.Card.Name) + "."
		if l.kit.Card.Builtin {
			note += " " + kit.ReferenceNote
		}
		notes := letters.Wrap(letters.Regular, 8.5, w-2*m, 2, note)
		ops, _ = paragraph(nil, m, h-m-1-3.9*float64(len(notes)-1), letters.Regular, 8.5, 3.9, dim, notes)
		pg.Add(ops...)
		out = append(out, pg)
	}
	return out
}

// rows draws some colors below each other, a row row mm high.
func (l legendCard) rows(x, y, w, row float64, entries []int) []pdf.Op {
	legend := l.kit.Chart.Legend
	gap, cell := 3.0, row-1.8
	code, count, symbol := letters.Width(letters.Regular, 9, "code"), letters.Width(letters.Regular, 9, "drills"), letters.Width(letters.Regular, 9, "symbol")
	for _, e := range allEntries(l.kit) {
		code = max(code, letters.Width(letters.Bold, cardType, codeText(legend[e].Drill)))
		count = max(count, letters.Width(letters.Regular, cardType, say.Number(legend[e].Count)))
		symbol = max(symbol, letters.Width(letters.Regular, 10, letters.Clean(legend[e].Symbol.Name)))
	}
	code = min(code, 0.3*w)
	stick := max(l.kit.Pitch.MM()+1.2, 4)
	symbol = min(symbol, 0.28*w)
	number := letters.Width(letters.Regular, cardType, "000")

	at := x
	next := func(width float64) float64 { at += width + gap; return at - width - gap }
	cellX, symbolX, stickX, swatchX := next(cell), next(symbol), next(stick), next(cell)
	numberX := next(number) + number
	codeX := next(code)
	nameX, countX := at, x+w
	name := countX - count - gap - nameX

	ops := []pdf.Op{pdf.Line{X1: x, Y1: y + 4.8, X2: x + w, Y2: y + 4.8, W: 0.18, Ink: black}}
	head := func(x float64, a pdf.Align, s string) {
		ops = append(ops, pdf.Text{X: x, Y: y + 3.4, Size: 9, Ink: dim, Align: a, S: s})
	}
	head(cellX, pdf.Left, "symbol")
	head(numberX, pdf.Right, "no.")
	head(codeX, pdf.Left, "code")
	if name > 8 {
		head(nameX, pdf.Left, "name")
	}
	head(countX, pdf.Right, "drills")
	y += 6
	for i, n := range entries {
		e := &legend[n]
		mid := y + (float64(i)+0.5)*row
		base := func(size float64) float64 { return mid + letters.CapHeight*size*letters.PointMM/2 }
		ops = append(ops, l.skin.drillOps(e, cellX, mid-cell/2, cell)...)
		ops = append(ops, pdf.Text{X: symbolX, Y: base(10), Size: 10, S: letters.Shorten(letters.Regular, 10, symbol, letters.Clean(e.Symbol.Name))})
		g := gray
		if l.skin.Round {
			ops = append(ops, pdf.Circle{X: stickX + stick/2, Y: mid, R: stick / 2, Edge: &g, Line: 0.18})
		} else {
			ops = append(ops, pdf.Rect{X: stickX, Y: mid - stick/2, W: stick, H: stick, Edge: &g, Line: 0.18})
		}
		ops = append(ops, l.skin.swatchOps(e.Drill.RGB, swatchX, mid-cell/2, cell)...)
		ops = append(ops,
			pdf.Text{X: numberX, Y: base(cardType), Size: cardType, Align: pdf.Right, S: strconv.Itoa(e.Number)},
			pdf.Text{X: codeX, Y: base(cardType), Size: cardType, Face: letters.Bold, S: letters.Shorten(letters.Bold, cardType, code, codeText(e.Drill))},
			pdf.Text{X: countX, Y: base(cardType), Size: cardType, Align: pdf.Right, S: say.Number(e.Count)})
		if s := letters.Shorten(letters.Regular, 11, name, drillName(l.kit, n)); name > 8 && s != "" {
			ops = append(ops, pdf.Text{X: nameX, Y: base(11), Size: 11, S: s})
		}
		below := mid + row/2
		ops = append(ops, pdf.Line{X1: x, Y1: below, X2: x + w, Y2: below, W: hair, Ink: faint})
	}
	return ops
}

// naturalLess orders texts as people do: whatever the case of letters, numbers
// in them by value, "2" before "10".
func naturalLess(a, b string) bool {
	a, b = strings.ToLower(a), strings.ToLower(b)
	for a != "" && b != "" {
		na, nb := digits(a), digits(b)
		if na > 0 && nb > 0 {
			x, y := strings.TrimLeft(a[:na], "0"), strings.TrimLeft(b[:nb], "0")
			if len(x) != len(y) {
				return len(x) < len(y)
			}
			if x != y {
				return x < y
			}
			a, b = a[na:], b[nb:]
			continue
		}
		if a[0] != b[0] {
			return a[0] < b[0]
		}
		a, b = a[1:], b[1:]
	}
	return len(a) < len(b)
}

// digits returns how many digits a text begins with.
func digits(s string) int {
	n := 0
	for n < len(s) && s[n] >= '0' && s[n] <= '9' {
		n++
	}
	return n
}
