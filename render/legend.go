package render

import (
	"strconv"

	"kitwright/internal/say"
	"kitwright/kit"
	"kitwright/palettes"
	"kitwright/plan"
	"kitwright/render/letters"
	"kitwright/render/pdf"
)

// legend is the table of a kit's colors as blocks of columns: symbol as it is
// printed, swatch, number, code, name and count.
type legend struct {
	kit    *kit.Kit
	skin   skin
	rows   []legendRow
	size   float64 // of the text, points
	gap    float64 // between columns, mm
	apart  float64 // between blocks, mm
	tick   float64 // width of the boxes to tick off, mm; 0: none
	cell   float64 // side of symbol and swatch, mm
	packed bool    // without swatches, the symbol's ground alone tells the color
	pitch  float64 // from row to row, mm
	number float64 // widths of the text columns, mm
	code   float64
	name   float64
	count  float64
	buy    float64 // 0: not told
}

// legendRow is one color of a legend, with what it counts there.
type legendRow struct {
	Entry  int // index into the chart's legend
	Count  int
	number string
	code   string
	name   string
	count  string
	buy    string
}

// legendHead is the height of the heads of a legend's columns, mm.
const legendHead = 6.0

// newLegend lays out rows for some colors of a kit; counts nil means those of
// the whole chart. Names are shortened to widest mm at size points.
func newLegend(k *kit.Kit, s skin, entries, counts []int, size, widest float64) *legend {
	l := &legend{kit: k, skin: s, size: size, cell: 0.52 * size, pitch: 0.66 * size, gap: 2.2 * max(1, size/12), apart: 9}
	for i, e := range entries {
		d := k.Chart.Legend[e].Drill
		n := k.Chart.Legend[e].Count
		if counts != nil {
			n = counts[i]
		}
		r := legendRow{Entry: e, Count: n, number: strconv.Itoa(k.Chart.Legend[e].Number), code: codeText(k, d), count: say.Number(n)}
		r.name = plainName(d)
		l.number = max(l.number, letters.Width(letters.Regular, size, r.number))
		l.code = max(l.code, letters.Width(letters.Bold, size, r.code))
		l.name = max(l.name, letters.Width(letters.Regular, size, r.name))
		l.count = max(l.count, letters.Width(letters.Regular, size, r.count))
		l.rows = append(l.rows, r)
	}
	l.code = min(l.code, 0.7*widest)
	l.name = min(l.name, widest)
	l.number = max(l.number, letters.Width(letters.Regular, l.headSize(), "no."))
	l.code = max(l.code, letters.Width(letters.Regular, l.headSize(), "code"))
	l.count = max(l.count, letters.Width(letters.Regular, l.headSize(), "drills"))
	for i := range l.rows {
		l.rows[i].code = letters.Shorten(letters.Bold, size, l.code, l.rows[i].code)
		l.rows[i].name = letters.Shorten(letters.Regular, size, l.name, l.rows[i].name)
	}
	return l
}

// tellBuy adds a column with what to buy.
func (l *legend) tellBuy(b *plan.Buying) {
	l.buy = letters.Width(letters.Regular, small, "buy")
	for i := range l.rows {
		r := &l.rows[i]
		r.buy = say.Number(b.Lines[r.Entry].Buy)
		l.buy = max(l.buy, letters.Width(letters.Bold, l.size, r.buy))
	}
}

// codeText returns what a drill is called on paper: her own code where she
// told one, else the card's, with a finish other than plain behind it, as she
// would order it.
func codeText(k *kit.Kit, d palettes.Drill) string {
	if yours := k.YourCode(d); yours != "" {
		return letters.Clean(yours)
	}
	return cardCode(d)
}

// cardCode returns what the card calls a drill.
func cardCode(d palettes.Drill) string { return letters.Clean(d.Address()) }

// drillName returns a drill's name, behind the card's code where her own
// stands before it; empty if it says no more than the code.
func drillName(k *kit.Kit, entry int) string {
	d := k.Chart.Legend[entry].Drill
	name := plainName(d)
	if k.YourCode(d) == "" {
		return name
	}
	if name == "" {
		return cardCode(d)
	}
	return cardCode(d) + ", " + name
}

// plainName returns a drill's name; empty if it says no more than the code.
func plainName(d palettes.Drill) string {
	name := letters.Clean(d.Name)
	if name == letters.Clean(d.Code) || name == cardCode(d) {
		return ""
	}
	return name
}

// allEntries returns the indices of all colors of a kit.
func allEntries(k *kit.Kit) []int {
	all := make([]int, len(k.Chart.Legend))
	for i := range all {
		all[i] = i
	}
	return all
}

// headSize is the size of the heads of the columns, points.
func (l *legend) headSize() float64 { return min(max(small, 0.7*l.size), 10.5) }

// width returns the width of one block.
func (l *legend) width() float64 {
	w := l.tick + l.cells() + l.number + l.code + l.count + 4*l.gap
	if l.name > 0 {
		w += l.name + l.gap
	}
	if l.buy > 0 {
		w += l.buy + l.gap
	}
	return w
}

// cells returns the width of symbol and swatch.
func (l *legend) cells() float64 {
	if l.packed {
		return l.cell
	}
	return 2 * l.cell
}

// fit returns how many rows a block can have in this height.
func (l *legend) fit(height float64) int {
	return max(1, int((height-legendHead)/l.pitch))
}

// height returns the height of a block of rows.
func (l *legend) height(rows int) float64 { return legendHead + float64(rows)*l.pitch }

// blocks returns how many blocks of at most rows rows hold all, and how many
// rows each has when they are made alike.
func (l *legend) blocks(rows int) (blocks, each int) {
	blocks = max(1, (len(l.rows)+rows-1)/rows)
	return blocks, (len(l.rows) + blocks - 1) / blocks
}

// widthOf returns the width of some blocks side by side.
func (l *legend) widthOf(blocks int) float64 {
	return float64(blocks)*l.width() + float64(blocks-1)*l.apart
}

// ops draws the legend from its upper left corner, each block at most each
// rows long.
func (l *legend) ops(x, y float64, each int) []pdf.Op {
	var ops []pdf.Op
	for at := 0; at < len(l.rows); at += each {
		ops = append(ops, l.block(x, y, l.rows[at:min(at+each, len(l.rows))])...)
		x += l.width() + l.apart
	}
	return ops
}

func (l *legend) block(x, y float64, rows []legendRow) []pdf.Op {
	var ops []pdf.Op
	start, at := x, l.columns(x)
	head := func(x float64, a pdf.Align, s string) {
		ops = append(ops, pdf.Text{X: x, Y: y + 3, Size: l.headSize(), Ink: dim, Align: a, S: s})
	}
	head(at.number, pdf.Right, "no.")
	head(at.code, pdf.Left, "code")
	if l.name > 0 {
		head(at.name, pdf.Left, "name")
	}
	head(at.count, pdf.Right, "drills")
	if l.buy > 0 {
		head(at.buy, pdf.Right, "buy")
	}
	ops = append(ops, pdf.Line{X1: x, Y1: y + 4.4, X2: x + l.width(), Y2: y + 4.4, W: 0.18, Ink: black})
	top := y + legendHead
	for i, r := range rows {
		e := &l.kit.Chart.Legend[r.Entry]
		mid := top + (float64(i)+0.5)*l.pitch
		base := mid + letters.CapHeight*l.size*letters.PointMM/2
		x := x
		if l.tick > 0 {
			b := gray
			ops = append(ops, pdf.Rect{X: x, Y: mid - 1.25, W: 2.5, H: 2.5, Edge: &b, Line: 0.18})
			x += l.tick
		}
		ops = append(ops, l.skin.drillOps(e, x, mid-l.cell/2, l.cell)...)
		if !l.packed {
			ops = append(ops, l.skin.swatchOps(e.Drill.RGB, x+l.cell+l.gap/2, mid-l.cell/2, l.cell)...)
		}
		ops = append(ops,
			pdf.Text{X: at.number, Y: base, Size: l.size, Align: pdf.Right, S: r.number},
			pdf.Text{X: at.code, Y: base, Size: l.size, Face: letters.Bold, S: r.code})
		if r.name != "" {
			ops = append(ops, pdf.Text{X: at.name, Y: base, Size: l.size, S: r.name})
		}
		ops = append(ops, pdf.Text{X: at.count, Y: base, Size: l.size, Align: pdf.Right, S: r.count})
		if l.buy > 0 {
			ops = append(ops, pdf.Text{X: at.buy, Y: base, Size: l.size, Face: letters.Bold, Align: pdf.Right, S: r.buy})
		}
		if (i+1)%5 == 0 && i+1 < len(rows) {
			below := top + float64(i+1)*l.pitch
			ops = append(ops, pdf.Line{X1: start, Y1: below, X2: start + l.width(), Y2: below, W: hair, Ink: faint})
		}
	}
	return ops
}

// columns returns the anchors of the text columns of a block at x.
func (l *legend) columns(x float64) (at struct{ number, code, name, count, buy float64 }) {
	at.number = x + l.tick + l.cells() + 1.5*l.gap + l.number
	at.code = at.number + l.gap
	at.name = at.code + l.code + l.gap
	at.buy = x + l.width()
	at.count = at.buy
	if l.buy > 0 {
		at.count -= l.buy + l.gap
	}
	return at
}
