package intake_test

import (
	"bytes"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"kitwright/palettes/intake"
)

// A table is read to the same cells however it was saved.
func TestRowsOfEveryKind(t *testing.T) {
	want := []intake.Line{
		{Number: 1, Cells: []string{"name", "size", "note"}},
		{Number: 2, Cells: []string{"mia", "40x50cm", "gray; old"}},
		{Number: 4, Cells: []string{"0341", "20 x 20 cm", ""}},
	}
	book := excelize.NewFile()
	for at, row := range map[string][]any{"A1": {"name", "size", "note"}, "A2": {"mia", "40x50cm", "gray; old"}, "A4": {"0341", "20 x 20 cm", ""}} {
		require.NoError(t, book.SetSheetRow("Sheet1", at, &row))
	}
	sheet, err := book.WriteToBuffer()
	require.NoError(t, err)
	for kind, data := range map[string][]byte{
		"comma":     []byte("name,size,note\nmia,40x50cm,gray; old\n\n0341,20 x 20 cm,\n"),
		"semicolon": []byte("\ufeffname;size;note\r\nmia;40x50cm;\"gray; old\"\r\n# a remark\r\n0341;20 x 20 cm;\r\n"),
		"tab":       []byte("name\tsize\tnote\nmia\t40x50cm\tgray; old\n\n0341\t20 x 20 cm\t\n"),
		"sheet":     sheet.Bytes(),
	} {
		rows, err := intake.Rows("list", "list."+kind, bytes.NewReader(data), 100)
		require.NoError(t, err, kind)
		for i := range rows { // a spreadsheet keeps no empty cells at the end
			for len(rows[i].Cells) < 3 {
				rows[i].Cells = append(rows[i].Cells, "")
			}
		}
		assert.Equal(t, want, rows, kind)
	}
	_, err = intake.Rows("list", "long.csv", strings.NewReader("a,b\n1,2\n3,4\n"), 2)
	assert.ErrorContains(t, err, "more than 2 rows")
	_, err = intake.Rows("list", "list.pdf", strings.NewReader("%PDF-1.4"), 2)
	assert.ErrorContains(t, err, "is a PDF")
}
