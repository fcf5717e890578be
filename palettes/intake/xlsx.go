package intake

import (
	"archive/zip"
	"bytes"
	"strings"

	"github.com/xuri/excelize/v2"

	"kitwright/internal/say"
)

// maxParts is how many files a spreadsheet may be packed from.
const maxParts = 2000

// readSpreadsheet reads the first sheet of an XLSX file that holds a card.
func readSpreadsheet(name string, data []byte, opt Options) (*Result, error) {
	f, err := openBook(name, data)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	var first error
	for _, sheet := range f.GetSheetList() {
		rows, err := sheetRows(name, f, sheet, MaxRows)
		if err != nil {
			return nil, err
		}
		if len(rows) == 0 {
			continue
		}
		m := newMaker(name, "a spreadsheet")
		if len(f.GetSheetList()) > 1 {
			m.note("read from its sheet %q", clip(sheet, 60))
		}
		t := &table{m: m, rows: rows}
		res, err := t.read(opt)
		if err == nil {
			return res, nil
		}
		if first == nil {
			first = err
		}
	}
	if first == nil {
		first = say.Failed(tableHint, "the spreadsheet %s is empty", name)
	}
	return nil, first
}

// openBook opens a spreadsheet, unless it would unpack to too much.
func openBook(name string, data []byte) (*excelize.File, error) {
	const hint = "open it in a spreadsheet and save it again as XLSX or CSV"
	packed, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return nil, say.Failed(hint, "%s is a damaged or unfinished spreadsheet", name)
	}
	book, all := false, uint64(0)
	for _, f := range packed.File {
		book = book || f.Name == "xl/workbook.xml"
		if all += f.UncompressedSize64; all > maxPacked || len(packed.File) > maxParts {
			return nil, say.Failed("keep the rows and columns that matter, without pictures, and save them as CSV", "%s unpacks to more than %d MB", name, maxPacked>>20)
		}
	}
	if !book {
		return nil, say.Failed("unpack it and name the table in it; spreadsheets are read as XLSX", "%s is not an XLSX spreadsheet", name)
	}
	f, err := excelize.OpenReader(bytes.NewReader(data), excelize.Options{UnzipSizeLimit: maxPacked, UnzipXMLSizeLimit: maxPacked})
	if err != nil {
		return nil, say.Failed(hint, "the spreadsheet %s cannot be read: %s", name, clip(err.Error(), 200))
	}
	return f, nil
}

// sheetRows returns the rows of a sheet, as they are shown and as they are.
func sheetRows(name string, f *excelize.File, sheet string, most int) (out []record, err error) {
	bad := func(err error) error {
		return say.Failed("open it in a spreadsheet and save it again as XLSX or CSV", "the spreadsheet %s cannot be read: %s", name, clip(err.Error(), 200))
	}
	rows, err := f.Rows(sheet)
	if err != nil {
		return nil, nil // a sheet that is a chart or a macro
	}
	defer rows.Close()
	raws, err := f.Rows(sheet)
	if err != nil {
		return nil, bad(err)
	}
	defer raws.Close()
	for line := 1; rows.Next() && raws.Next(); line++ {
		shown, err := rows.Columns()
		if err != nil {
			return nil, bad(err)
		}
		raw, err := raws.Columns(excelize.Options{RawCellValue: true})
		if err != nil {
			return nil, bad(err)
		}
		r := record{line: line, shown: trimmed(shown), raw: trimmed(raw)}
		if r.empty() {
			continue
		}
		if len(out) == most {
			return nil, tooMany(name, most)
		}
		out = append(out, r)
	}
	return out, rows.Error()
}

func trimmed(cells []string) []string {
	if len(cells) > maxFields {
		cells = cells[:maxFields]
	}
	for i := range cells {
		cells[i] = clip(strings.TrimSpace(cells[i]), maxCell)
	}
	return cells
}

// tooMany says that a table is longer than any that is meant.
func tooMany(name string, most int) error {
	return say.Failed("keep the rows and columns that matter", "%s holds more than %s", name, say.Count(most, "row"))
}
