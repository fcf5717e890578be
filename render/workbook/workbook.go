// Package workbook writes a kit's numbers as a spreadsheet that can be worked
// on: the drill list, what each section takes, and what the figures stand on.
package workbook

import (
	"archive/zip"
	"bytes"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/xuri/excelize/v2"

	"kitwright/kit"
	"kitwright/lab"
	"kitwright/palettes"
	"kitwright/plan"
	"kitwright/render"
)

// Names of the sheets: a contract, as the columns are.
const (
	ListSheet    = "drill list"
	SectionSheet = "sections"
	AboutSheet   = "about"
)

// Write writes kit.xlsx. Codes and names are text, whatever they look like;
// sums are formulas that carry their value, for viewers that do not calculate.
func Write(w io.Writer, k *kit.Kit, p render.Print) error {
	f := excelize.NewFile()
	defer f.Close()
	b := &book{file: f, kit: k, list: p.Buying(k)}
	if err := b.styles(); err != nil {
		return err
	}
	if err := f.SetSheetName("Sheet1", ListSheet); err != nil {
		return err
	}
	if err := b.fill(ListSheet, b.drillList()); err != nil {
		return err
	}
	for _, s := range []struct {
		name string
		t    table
	}{{SectionSheet, b.sections(p.PlanOf(k))}, {AboutSheet, b.about()}} {
		if _, err := f.NewSheet(s.name); err != nil {
			return err
		}
		if err := b.fill(s.name, s.t); err != nil {
			return err
		}
	}
	always := true // a program that calculates does not take our word for sums
	if err := f.SetCalcProps(&excelize.CalcPropsOptions{FullCalcOnLoad: &always}); err != nil {
		return err
	}
	if err := f.SetDocProps(&excelize.DocProperties{Title: k.Title, Creator: "kitwright", Created: "1980-01-01T00:00:00Z", Modified: "1980-01-01T00:00:00Z"}); err != nil {
		return err
	}
	var packed bytes.Buffer
	if err := f.Write(&packed); err != nil {
		return err
	}
	return inOrder(w, packed.Bytes())
}

// inOrder packs the parts of a spreadsheet by name: they come in any order. No
// clock gets in.
func inOrder(w io.Writer, packed []byte) error {
	from, err := zip.NewReader(bytes.NewReader(packed), int64(len(packed)))
	if err != nil {
		return err
	}
	slices.SortFunc(from.File, func(a, b *zip.File) int { return strings.Compare(a.Name, b.Name) })
	to := zip.NewWriter(w)
	for _, part := range from.File {
		in, err := part.Open()
		if err != nil {
			return err
		}
		out, err := to.CreateHeader(&zip.FileHeader{Name: part.Name, Method: zip.Deflate, Modified: time.Date(1980, 1, 1, 0, 0, 0, 0, time.UTC)})
		if err == nil {
			_, err = io.Copy(out, in)
		}
		if err != nil {
			return err
		}
	}
	return to.Close()
}

// book is a spreadsheet in the making.
type book struct {
	file *excelize.File
	kit  *kit.Kit
	list *plan.Buying

	head, text, sum, money, moneySum int // styles
}

// table is one sheet: a row of heads, and rows of cells below it.
type table struct {
	widths []float64 // of the columns, in characters
	rows   [][]any
	still  int // columns that stay in sight
}

func (b *book) styles() (err error) {
	style := func(to *int, s excelize.Style) {
		if err == nil {
			*to, err = b.file.NewStyle(&s)
		}
	}
	bold := &excelize.Font{Bold: true}
	above := []excelize.Border{{Type: "top", Color: "000000", Style: 1}}
	money := "0.00"
	if s := b.list.Supply.Bags.Money(0); s != "0.00" {
		money = s // "0" or "0.000"
	}
	style(&b.head, excelize.Style{Font: bold, NumFmt: textFormat, Alignment: &excelize.Alignment{WrapText: true, Vertical: "top"}})
	style(&b.text, excelize.Style{NumFmt: textFormat})
	style(&b.sum, excelize.Style{Font: bold, Border: above})
	style(&b.money, excelize.Style{CustomNumFmt: &money})
	style(&b.moneySum, excelize.Style{CustomNumFmt: &money, Font: bold, Border: above})
	return err
}

// textFormat is the number format "@" of ECMA-376, part 1, 18.8.30: what is
// typed into such a cell stays text, too.
const textFormat = 49

// words is a cell of text.
func (b *book) words(s string) excelize.Cell { return excelize.Cell{StyleID: b.text, Value: s} }

// heads is a row of heads.
func (b *book) heads(names ...string) []any {
	row := make([]any, len(names))
	for i, s := range names {
		row[i] = excelize.Cell{StyleID: b.head, Value: s}
	}
	return row
}

// total is the sum of a column from row 2 to its last.
func (b *book) total(column, last int, value any, style int) excelize.Cell {
	name, _ := excelize.ColumnNumberToName(column)
	return excelize.Cell{StyleID: style, Formula: fmt.Sprintf("SUM(%s2:%s%d)", name, name, last), Value: value}
}

// swatch is a cell with a color's value on the color.
func (b *book) swatch(rgb [3]uint8) (excelize.Cell, error) {
	ink := "FFFFFF"
	if lab.FromSRGB(rgb).L > 50 {
		ink = "000000"
	}
	id, err := b.file.NewStyle(&excelize.Style{NumFmt: textFormat, Font: &excelize.Font{Color: ink},
		Fill: excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{lab.Hex(rgb)[1:]}}})
	return excelize.Cell{StyleID: id, Value: lab.Hex(rgb)}, err
}

// drillList is the list of what to have and to buy, a color a row.
func (b *book) drillList() table {
	s := b.list.Supply
	heads := []string{"number", "symbol", "symbol name", "code", "your code", "name", "finish", "hex", "drills", "extra"}
	widths := []float64{8, 8, 18, 14, 14, 26, 9, 10, 9, 9}
	if b.kit.Own != nil {
		heads, widths = append(heads, "owned"), append(widths, 9)
	}
	heads, widths = append(heads, "buy"), append(widths, 9)
	for _, bag := range s.Bags.Sizes {
		heads, widths = append(heads, "bags of "+strconv.Itoa(bag.Drills)), append(widths, 9)
	}
	if len(s.Bags.Sizes) > 0 {
		heads, widths = append(heads, "in bags"), append(widths, 9)
	}
	if s.Bags.Priced {
		heads, widths = append(heads, "price"), append(widths, 10)
	}
	heads, widths = append(heads, "left over"), append(widths, 9)
	if s.Weighed != (plan.Weighed{}) {
		heads, widths = append(heads, "grams", "grams off"), append(widths, 9, 9)
	}
	const firstNumber = 8 // index of "drills"
	rows := [][]any{b.heads(heads...)}
	for i, l := range b.list.Lines {
		e := b.kit.Chart.Legend[i]
		hex, err := b.swatch(e.Drill.RGB)
		if err != nil {
			hex = b.words(lab.Hex(e.Drill.RGB))
		}
		row := []any{e.Number, b.words(string(e.Symbol.Rune)), b.words(e.Symbol.Name), b.words(e.Drill.Code), b.words(b.kit.YourCode(e.Drill)),
			b.words(e.Drill.Name), b.words(string(e.Drill.Finish)), hex}
		for _, v := range b.numbers(l) {
			row = append(row, excelize.Cell{StyleID: v.style, Value: v.value})
		}
		if grams, off := s.Weighed.Grams(l.Ready()); grams != "" {
			g, _ := strconv.ParseFloat(grams, 64)
			o, _ := strconv.ParseFloat(off, 64)
			row = append(row, g, o)
		}
		rows = append(rows, row)
	}
	last := len(rows)
	sums := []any{excelize.Cell{StyleID: b.sum, Value: "total"}}
	for range firstNumber - 1 {
		sums = append(sums, excelize.Cell{StyleID: b.sum})
	}
	for i, v := range b.numbers(b.list.Total) {
		style := b.sum
		if v.style == b.money {
			style = b.moneySum
		}
		sums = append(sums, b.total(firstNumber+1+i, last, v.value, style))
	}
	return table{widths, append(rows, sums), 5}
}

// number is the value of a cell and its style.
type number struct {
	value any
	style int
}

// numbers returns the numbers of a line that can be summed, in their order.
func (b *book) numbers(l plan.Line) []number {
	s := b.list.Supply
	out := []number{{l.Drills, 0}, {l.Extra, 0}}
	if b.kit.Own != nil {
		out = append(out, number{l.Own, 0})
	}
	out = append(out, number{l.Buy, 0})
	for _, n := range l.Bags {
		out = append(out, number{n, 0})
	}
	if l.Bags != nil {
		out = append(out, number{l.InBags, 0})
	}
	if s.Bags.Priced {
		out = append(out, number{float64(l.Price) / 1000, b.money})
	}
	return append(out, number{l.Left, 0})
}

// sections tells how many drills of each color each section takes, in the
// order of work.
func (b *book) sections(p *plan.Plan) table {
	heads, widths := []string{"section", "drills"}, []float64{9, 9}
	legend := b.kit.Chart.Legend
	for _, e := range legend {
		heads, widths = append(heads, strconv.Itoa(e.Number)+": "+called(b.kit, e.Drill)), append(widths, 10)
	}
	rows := [][]any{b.heads(heads...)}
	lastColumn, _ := excelize.ColumnNumberToName(len(heads))
	for _, at := range p.Order {
		s := p.Sections[at]
		counts := make([]any, len(legend))
		for _, t := range s.Work {
			counts[t.Color] = t.Drills
		}
		n := len(rows) + 1
		row := []any{b.words(s.Name), excelize.Cell{Formula: fmt.Sprintf("SUM(C%d:%s%d)", n, lastColumn, n), Value: s.Drills()}}
		rows = append(rows, append(row, counts...))
	}
	last := len(rows)
	sums := []any{excelize.Cell{StyleID: b.sum, Value: "total"}, b.total(2, last, b.list.Total.Drills, b.sum)}
	for i, e := range legend {
		sums = append(sums, b.total(3+i, last, e.Count, b.sum))
	}
	return table{widths, append(rows, sums), 2}
}

// about tells what the figures stand on.
func (b *book) about() table {
	k, s, t := b.kit, b.list.Supply, b.list.Total
	rows := [][]any{b.heads("what", "this kit")}
	add := func(what, text string) { rows = append(rows, []any{b.words(what), b.words(text)}) }
	add("title", k.Title)
	add("kit", k.Chart.Mark())
	add("drills", string(k.Drill.Shape)+", "+k.Drill.Size.String()+", "+k.Pitch.String()+" apart")
	add("card", k.Card.Name)
	if k.Card.Builtin {
		add("", kit.ReferenceNote)
	}
	add("extra", fmt.Sprintf("%s, at least %d and at most %d drills a color, for each canvas (common practice, no source)", s.Extra.String(), s.ExtraLeast, s.ExtraMost))
	add("copies", s.Copies.String()+"; drills and extra are for one, buy and bags for all")
	if len(s.Bags.Sizes) > 0 {
		add("bags", s.Bags.String()+", filled to "+s.BagFill.String()+": the cheapest mix of them for each color")
		add("to buy", s.Bags.Words(t.Bags))
	}
	if s.Weighed != (plan.Weighed{}) {
		add("weighed", s.Weighed.String()+"; grams are for drills and extra of one canvas, and off is what the rounding of the scale's display alone may do")
	}
	return table{widths: []float64{12, 90}, rows: rows}
}

// called is what a drill is called on everything: her code where she told it.
func called(k *kit.Kit, d palettes.Drill) string {
	if yours := k.YourCode(d); yours != "" {
		return yours
	}
	return d.Address()
}

// fill writes a sheet.
func (b *book) fill(name string, t table) error {
	w, err := b.file.NewStreamWriter(name)
	if err != nil {
		return err
	}
	for i, width := range t.widths {
		if err := w.SetColWidth(i+1, i+1, width); err != nil {
			return err
		}
	}
	corner, err := excelize.CoordinatesToCellName(t.still+1, 2)
	if err != nil {
		return err
	}
	pane := "bottomLeft"
	if t.still > 0 {
		pane = "bottomRight"
	}
	if err := w.SetPanes(&excelize.Panes{Freeze: true, XSplit: t.still, YSplit: 1, TopLeftCell: corner, ActivePane: pane}); err != nil {
		return err
	}
	for i, row := range t.rows {
		if err := w.SetRow("A"+strconv.Itoa(i+1), row); err != nil {
			return err
		}
	}
	return w.Flush()
}
