package kit

import (
	"bufio"
	"encoding/csv"
	"io"
	"strconv"

	"kitwright/internal/wording"
	"kitwright/lab"
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

// WriteKitCSV writes one row a color, by number, with its drills. Words that a
// spreadsheet would take for a formula begin with an apostrophe.
func (k *Kit) WriteKitCSV(w io.Writer) error {
	out := csv.NewWriter(w)
	out.Write([]string{"number", "symbol", "symbol_name", "code", "name", "finish", "hex", "drills"})
	for _, e := range k.Chart.Legend {
		out.Write([]string{
			strconv.Itoa(e.Number), string(e.Symbol.Rune), e.Symbol.Name,
			wording.Cell(e.Drill.Code), wording.Cell(e.Drill.Name), wording.Cell(string(e.Drill.Finish)), lab.Hex(e.Drill.RGB), strconv.Itoa(e.Count),
		})
	}
	out.Flush()
	return out.Error()
}
