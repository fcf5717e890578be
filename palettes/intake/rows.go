package intake

import (
	"io"

	"kitwright/internal/say"
)

// Line is a row of a table that is no card, such as a list of codes.
type Line struct {
	Number int      // in the file, from 1
	Cells  []string // as they are shown, trimmed
	Bad    string   // why the row cannot be split into cells; "" = it can
}

// Rows reads a table that is no card, at most so many rows of it: text with
// any usual separator and encoding, or the first sheet of a spreadsheet that
// holds anything. Empty rows, and lines of text that begin with #, are left
// out. What says in errors what the file should be: "list".
func Rows(what, name string, r io.Reader, most int) ([]Line, error) {
	data, packed, err := readAll(what, name, r)
	if err != nil {
		return nil, err
	}
	var rows []record
	if packed {
		rows, err = firstSheet(what, name, data, most)
	} else {
		var text string
		if text, err = Text(name, data); err == nil {
			rows, _, _, err = split(name, text, separator(text), most)
		}
	}
	if err != nil {
		return nil, err
	}
	lines := make([]Line, len(rows))
	for i, row := range rows {
		lines[i] = Line{Number: row.line, Cells: row.shown, Bad: row.bad}
	}
	return lines, nil
}

func firstSheet(what, name string, data []byte, most int) ([]record, error) {
	f, err := openBook(name, data)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	for _, sheet := range f.GetSheetList() {
		if rows, err := sheetRows(name, f, sheet, most); err != nil || len(rows) > 0 {
			return rows, err
		}
	}
	return nil, say.Failed("export it again", "the %s %s is empty", what, name)
}
