package kit

import (
	"bufio"
	"encoding/csv"
	"io"
	"strconv"

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
	for x, v := range k.Chart.Cells[y*k.Chart.Cols : (y+1)*k.Chart.Cols] {
		if x > 0 {
			out.WriteByte(',')
		}
		out.Write(strconv.AppendInt(number[:0], int64(v)+1, 10))
	}
}

// WriteKitCSV writes one row a color, dark to light, with its drills.
func (k *Kit) WriteKitCSV(w io.Writer) error {
	out := csv.NewWriter(w)
	out.Write([]string{"number", "symbol", "symbol_name", "code", "name", "finish", "hex", "drills"})
	for i, e := range k.Chart.Legend {
		out.Write([]string{
			strconv.Itoa(i + 1), string(e.Symbol.Rune), e.Symbol.Name,
			e.Drill.Code, e.Drill.Name, string(e.Drill.Finish), lab.Hex(e.Drill.RGB), strconv.Itoa(e.Count),
		})
	}
	out.Flush()
	return out.Error()
}
