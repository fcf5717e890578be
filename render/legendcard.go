package render

import (
	"io"
	"sort"
	"strconv"
	"strings"

	"kitwright/internal/say"
	"kitwright/kit"
	"kitwright/plan"
	"kitwright/render/letters"
	"kitwright/render/pdf"
)

// Legend writes the legend as a card in large type: by symbol, and again by
// code, each color with what to buy, an empty cell to stick one drill into, and
// room for her own code.
func Legend(w io.Writer, k *kit.Kit, p Print) error {
	if err := p.checkFor(k); err != nil {
		return err
	}
	l := newLegendCard(k, p)
	return writeDocument(w, k, p, "legend", "Symbols, codes and counts in large type", l.skin.Box, l.pages())
}

// legendCard is the layout of the card, everything in mm.
type legendCard struct {
	kit   *kit.Kit
	print Print
	skin  skin
	list  *plan.Buying

	width                       float64
	symbol, number, code, yours float64 // widths of the columns; 0 = left out
	drills, extra, buy          float64
}

// Sizes of the card: type in points, the rest in mm.
const (
	cardType   = 12.0
	cardSmall  = 9.0
	cardRow    = 9.4 // the lowest row
	cardRowMax = 12.0
	cardGap    = 3.0
	cardSwatch = 7.6
	cardYours  = 26.0 // room to write a code into
)

func newLegendCard(k *kit.Kit, p Print) *legendCard {
	l := &legendCard{kit: k, print: p, skin: newSkin(k, p), list: p.Buying(k)}
	l.layOut(p.Paper.Size.W.MM() - 2*l.margin())
	return l
}

func (l *legendCard) margin() float64 { return max(l.print.PaperMargin.MM(), 10) }

// layOut shares the width out: what all columns need, the rest for codes and
// names. On narrow paper the symbols' names go first, then the room for a code.
func (l *legendCard) layOut(width float64) {
	l.width = width
	l.number = letters.Width(letters.Regular, cardType, "000")
	l.symbol, l.yours = letters.Width(letters.Regular, cardSmall, "symbol"), cardYours
	l.drills, l.extra, l.buy = 0, 0, 0
	wide := func(to *float64, size float64, face letters.Face, s string) {
		*to = max(*to, letters.Width(face, size, s))
	}
	wide(&l.drills, cardSmall, letters.Regular, "drills")
	wide(&l.extra, cardSmall, letters.Regular, "extra")
	wide(&l.buy, cardSmall, letters.Regular, l.buyHead())
	for i, e := range l.kit.Chart.Legend {
		b := l.list.Lines[i]
		wide(&l.symbol, cardSmall, letters.Regular, letters.Clean(e.Symbol.Name))
		wide(&l.drills, cardType, letters.Regular, say.Number(b.Drills))
		wide(&l.extra, cardType, letters.Regular, say.Number(b.Extra))
		wide(&l.buy, cardType, letters.Bold, say.Number(b.Buy))
		wide(&l.yours, cardType, letters.Bold, letters.Clean(l.kit.YourCode(e.Drill)))
	}
	for _, b := range l.list.Lines { // bags stand below the three numbers
		need := letters.Width(letters.Regular, small, timesSign(l.list.Supply.Bags.Words(b.Bags)))
		l.buy = max(l.buy, min(need, 0.4*width)-l.drills-l.extra-2*cardGap)
	}
	l.symbol, l.yours = min(l.symbol, 0.2*width), min(l.yours, 0.25*width)
	const least = 26.0
	rest := func() float64 {
		sum, gaps := cardRow-1.8+l.stick()+cardSwatch+l.number+l.drills+l.extra+l.buy, 7.0
		for _, w := range []float64{l.symbol, l.yours} {
			if sum += w; w > 0 {
				gaps++
			}
		}
		return width - sum - gaps*cardGap
	}
	if rest() < least {
		l.symbol = 0
	}
	if rest() < least {
		l.yours = 0
	}
	l.code = rest()
}

// buyHead is the head of what to buy.
func (l *legendCard) buyHead() string {
	if n := int(l.list.Supply.Copies); n > 1 {
		return "buy for " + say.Number(n)
	}
	return "buy"
}

// stick is the side of the cell to stick a drill into.
func (l *legendCard) stick() float64 { return max(l.kit.Pitch.MM()+1.2, 4) }

func (l *legendCard) pages() []*pdf.Page {
	bySymbol, byCode := allEntries(l.kit), allEntries(l.kit)
	legend := l.kit.Chart.Legend
	sort.SliceStable(bySymbol, func(i, j int) bool {
		return naturalLess(legend[bySymbol[i]].Symbol.Name, legend[bySymbol[j]].Symbol.Name)
	})
	sort.SliceStable(byCode, func(i, j int) bool {
		return naturalLess(legend[byCode[i]].Drill.Address(), legend[byCode[j]].Drill.Address())
	})
	return append(l.pagesOf("by symbol", bySymbol), l.pagesOf("by code", byCode)...)
}

// pagesOf returns the pages of one order.
func (l *legendCard) pagesOf(how string, entries []int) []*pdf.Page {
	w, h := l.print.Paper.Size.W.MM(), l.print.Paper.Size.H.MM()
	m := l.margin()
	sum := letters.Wrap(letters.Bold, 10, l.width, 3, timesSign(l.list.Sum())+".")
	const head = 25.0
	foot := 10 + 4.6*float64(len(sum))
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
		ops, y := pageTitle(m, m, l.width, title, titleOf(l.kit, l.print)+" · "+stampOf(l.kit, l.print))
		pg.Add(ops...)
		here := entries[at:min(at+each, len(entries))]
		pg.Add(l.rows(m, y+2, row, here)...)
		if n == pages {
			ops, _ := paragraph(nil, m, y+2+6+row*float64(len(here))+5, letters.Bold, 10, 4.6, black, sum)
			pg.Add(ops...)
		}
		note := "Stick one drill of each color into its empty cell. Card: " + letters.Clean(l.kit.Card.Name) + "."
		if l.kit.Card.Builtin {
			note += " " + kit.ReferenceNote
		}
		notes := letters.Wrap(letters.Regular, 8.5, l.width, 2, note)
		ops, _ = paragraph(nil, m, h-m-1-3.9*float64(len(notes)-1), letters.Regular, 8.5, 3.9, dim, notes)
		pg.Add(ops...)
		out = append(out, pg)
	}
	return out
}

// cardColumns are the anchors of the card's columns.
type cardColumns struct{ cell, symbol, stick, swatch, number, code, yours, drills, extra, buy float64 }

func (l *legendCard) columns(x, cell float64) (at cardColumns) {
	next := func(width float64) float64 {
		was := x
		if width > 0 {
			x += width + cardGap
		}
		return was
	}
	at.cell, at.symbol, at.stick, at.swatch = next(cell), next(l.symbol), next(l.stick()), next(cardSwatch)
	at.number = next(l.number) + l.number
	at.code = next(l.code - (cell - (cardRow - 1.8)))
	at.yours = next(l.yours)
	at.drills = next(l.drills) + l.drills
	at.extra = next(l.extra) + l.extra
	at.buy = x + l.buy
	return at
}

// rows draws some colors below each other, a row row mm high.
func (l *legendCard) rows(x, y, row float64, entries []int) []pdf.Op {
	legend := l.kit.Chart.Legend
	cell := row - 1.8
	at := l.columns(x, cell)
	code := at.yours - cardGap - at.code
	ops := []pdf.Op{pdf.Line{X1: x, Y1: y + 4.8, X2: x + l.width, Y2: y + 4.8, W: 0.18, Ink: black}}
	head := func(x float64, a pdf.Align, s string) {
		ops = append(ops, pdf.Text{X: x, Y: y + 3.4, Size: cardSmall, Ink: dim, Align: a, S: s})
	}
	head(at.cell, pdf.Left, "symbol")
	head(at.number, pdf.Right, "no.")
	head(at.code, pdf.Left, "code")
	if l.yours > 0 {
		head(at.yours, pdf.Left, "your code")
	}
	head(at.drills, pdf.Right, "drills")
	head(at.extra, pdf.Right, "extra")
	head(at.buy, pdf.Right, l.buyHead())
	y += 6
	for i, n := range entries {
		e, b := &legend[n], l.list.Lines[n]
		mid := y + (float64(i)+0.5)*row
		text := func(x, size, down float64, a pdf.Align, face letters.Face, s string) {
			if s != "" {
				ops = append(ops, pdf.Text{X: x, Y: mid + down + letters.CapHeight*size*letters.PointMM/2, Size: size, Face: face, Align: a, S: s})
			}
		}
		ops = append(ops, l.skin.drillOps(e, at.cell, mid-cell/2, cell)...)
		if l.symbol > 0 {
			text(at.symbol, cardSmall, 0, pdf.Left, letters.Regular, letters.Shorten(letters.Regular, cardSmall, l.symbol, letters.Clean(e.Symbol.Name)))
		}
		ops = append(ops, l.stickOp(at.stick, mid))
		ops = append(ops, l.skin.swatchOps(e.Drill.RGB, at.swatch, mid-cardSwatch/2, cardSwatch)...)
		text(at.number, cardType, 0, pdf.Right, letters.Regular, strconv.Itoa(e.Number))
		called, name := cardCode(e.Drill), plainName(e.Drill)
		if l.yours == 0 { // no column for hers
			called, name = codeText(l.kit, e.Drill), drillName(l.kit, n)
		}
		name = letters.Shorten(letters.Regular, cardSmall, code, name)
		bags := timesSign(l.list.Supply.Bags.Words(b.Bags))
		up := func(under string) float64 {
			if under == "" {
				return 0
			}
			return -1.9
		}
		text(at.code, cardType, up(name), pdf.Left, letters.Bold, letters.Shorten(letters.Bold, cardType, code, called))
		text(at.code, cardSmall, 2.3, pdf.Left, letters.Regular, name)
		if yours := letters.Clean(l.kit.YourCode(e.Drill)); yours != "" && l.yours > 0 {
			text(at.yours, cardType, 0, pdf.Left, letters.Bold, letters.Shorten(letters.Bold, cardType, l.yours, yours))
		} else if l.yours > 0 {
			ops = append(ops, pdf.Line{X1: at.yours, Y1: mid + 2.6, X2: at.yours + l.yours, Y2: mid + 2.6, W: hair, Ink: gray})
		}
		text(at.drills, cardType, up(bags), pdf.Right, letters.Regular, say.Number(b.Drills))
		text(at.extra, cardType, up(bags), pdf.Right, letters.Regular, say.Number(b.Extra))
		text(at.buy, cardType, up(bags), pdf.Right, letters.Bold, say.Number(b.Buy))
		size := cardSmall
		room := l.drills + l.extra + l.buy + 2*cardGap
		for size > small && letters.Width(letters.Regular, size, bags) > room {
			size = max(size-0.25, small)
		}
		text(at.buy, size, 2.3, pdf.Right, letters.Regular, letters.Shorten(letters.Regular, size, room, bags))
		below := mid + row/2
		ops = append(ops, pdf.Line{X1: x, Y1: below, X2: x + l.width, Y2: below, W: hair, Ink: faint})
	}
	return ops
}

// stickOp is the cell to stick a drill into.
func (l *legendCard) stickOp(x, mid float64) pdf.Op {
	stick, g := l.stick(), gray
	if l.skin.Round {
		return pdf.Circle{X: x + stick/2, Y: mid, R: stick / 2, Edge: &g, Line: 0.18}
	}
	return pdf.Rect{X: x, Y: mid - stick/2, W: stick, H: stick, Edge: &g, Line: 0.18}
}

// timesSign writes counts as they are printed: "2 × 200".
func timesSign(s string) string { return strings.ReplaceAll(s, " x ", " × ") }

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
