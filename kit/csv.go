package kit

import (
	"bufio"
	"encoding/csv"
	"io"
	"strconv"

	"kitwright/internal/wording"
	"kitwright/lab"
	"kitwright/plan"
)

// WriteChartCSV writes the chart as rows by columns of legend numbers, from 1,
// without a header.
func (k *Kit) WriteChartCSV(w io.Writer) error {
	out := bufio.NewWriter(w)
	for y := 0; y < k.Chart.Rows; y++ {
		k.writeRow(out, y)
		out.WriteString("\n")
	}
	return out.Flush()
}

// writeRow writes one row of legend numbers with commas between them.
func (k *Kit) writeRow(out *bufio.Writer, y int) {
	var number [8]byte
	legend := k.Chart.Legend
	for x, v := range k.Chart.Cells[y*k.Chart.Cols : (y+1)*k.Chart.Cols] {
		if x > 0 {
			out.WriteByte(',')
		}
		out.Write(strconv.AppendInt(number[:0], int64(legend[v].Number), 10))
	}
}

// listColumns are the columns of kit.csv: a contract, more may come behind
// them. The first firstColumns are those that the first releases wrote.
var listColumns = []string{"number", "symbol", "symbol_name", "code", "name", "finish", "hex", "drills",
	"extra", "buy", "bags", "in_bags", "price", "grams", "grams_off", "your_code", "owned"}

const firstColumns = 8

// WriteKitCSV writes one row a color, by number, with what to have and to buy
// of it, and a row with the sums, whose number is "total". Extra and grams are
// for one canvas; buy, bags and price for all copies, beside what is owned. Words that a spreadsheet
// would take for a formula begin with an apostrophe.
func (k *Kit) WriteKitCSV(w io.Writer) error {
	out := csv.NewWriter(w)
	out.Write(listColumns)
	b := k.Buying()
	row := func(l plan.Line, yours string, first ...string) {
		bags, inBags, price, owned := "", "", "", ""
		if k.Own != nil {
			owned = strconv.Itoa(l.Own)
		}
		if l.Bags != nil {
			bags, inBags, price = b.Supply.Bags.Cell(l.Bags), strconv.Itoa(l.InBags), string(priceOf(b.Supply, l))
		}
		grams, off := b.Supply.Weighed.Grams(l.Ready())
		out.Write(append(first, strconv.Itoa(l.Drills), strconv.Itoa(l.Extra), strconv.Itoa(l.Buy), bags, inBags, price, grams, off, wording.Cell(yours), owned))
	}
	for i, e := range k.Chart.Legend {
		row(b.Lines[i], k.YourCode(e.Drill), k.firstCells(i)...)
	}
	row(b.Total, "", "total", "", "", "", "", "", "")
	out.Flush()
	return out.Error()
}

// WriteFirstKitCSV writes kit.csv as releases did that knew no list of what to
// buy.
func (k *Kit) WriteFirstKitCSV(w io.Writer) error {
	out := csv.NewWriter(w)
	out.Write(listColumns[:firstColumns])
	for i, e := range k.Chart.Legend {
		out.Write(append(k.firstCells(i), strconv.Itoa(e.Count)))
	}
	out.Flush()
	return out.Error()
}

// firstCells returns what kit.csv tells of a color up to its drills.
func (k *Kit) firstCells(i int) []string {
	e := k.Chart.Legend[i]
	return []string{
		strconv.Itoa(e.Number), string(e.Symbol.Rune), e.Symbol.Name,
		wording.Cell(e.Drill.Code), wording.Cell(e.Drill.Name), wording.Cell(string(e.Drill.Finish)), lab.Hex(e.Drill.RGB),
	}
}
