package main

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"kitwright/internal/input"
	"kitwright/internal/measure"
	"kitwright/internal/say"
	"kitwright/internal/wording"
	"kitwright/kit"
	"kitwright/palettes"
	"kitwright/palettes/intake"
)

// drillTable is a table of codes and numbers of drills.
type drillTable struct {
	name string
	sum  string // SHA-256 of the file, in hex
	rows []drillRow
	said []string // what was guessed

	taken int // rows that count
}

// drillRow is a row of it. What its table does not say is empty.
type drillRow struct {
	line        int
	address     string
	drills      int
	card        string
	shape       kit.Shape
	size        measure.Length
	place, note string
	bad         string // why it cannot be used
}

// The columns of a table of drills, in the order of their words.
const (
	codeColumn = iota
	finishColumn
	drillsColumn
	cardColumn
	shapeColumn
	sizeColumn
	placeColumn
	noteColumn
	drillColumns
)

var drillColumnNames = [drillColumns]string{"code", "finish", "drills", "card", "shape", "size", "place", "note"}

// drillWords are the headers that are known, letters and digits alone.
var drillWords = [drillColumns]string{
	" code colorcode colourcode drillcode farbcode farbnummer codigo codice ",
	" finish effect surface ",
	" drills count quantity qty amount pieces pcs stock owned have left anzahl menge stuck quantite nombre cantidad aantal ",
	" card ",
	" shape drill ",
	" size drillsize ",
	" place where box container location ",
	" note notes remark comment ",
}

// weakWords are headers of a column of codes where none is called code.
const weakWords = " color colour number no nr sku item ref id "

// maxDrillRows is how long a table of drills may be.
const maxDrillRows = 100_000

// readDrills reads a table of drills. Columns says which column holds what, as
// in "code=2,drills=5"; isCode tells a code where no header does.
func readDrills(path, columns string, isCode func(string) bool) (*drillTable, error) {
	f, err := input.Open(path, "table")
	if err != nil {
		return nil, err
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, intake.MaxBytes+1))
	if err != nil {
		return nil, say.File("the table cannot be read", path, err)
	}
	sum := sha256.Sum256(data)
	t := &drillTable{name: filepath.Base(path), sum: hex.EncodeToString(sum[:])}
	rows, err := intake.Rows("table", t.name, bytes.NewReader(data), maxDrillRows)
	if err != nil {
		return nil, err
	}
	at, begin, err := t.columns(rows, columns, isCode)
	if err != nil {
		return nil, err
	}
	t.tellUnused(rows, at, begin)
	for i, r := range rows[begin:] {
		if c := at[codeColumn]; begin+i == len(rows)-1 && c < len(r.Cells) && r.Cells[c] == "" && isWord(r.Cells[0], " total ") {
			continue // the sums of a drill list, such as kit.csv ends with
		}
		t.rows = append(t.rows, readDrillRow(r, at))
	}
	if len(t.rows) == 0 {
		return nil, say.Failed("give it a code and a number of drills in each row", "%s holds no drills", path)
	}
	return t, nil
}

// tellUnused names the columns that have a header and something in them, and
// that nothing is taken from: a size or a shape may stand there under a word
// that is not known.
func (t *drillTable) tellUnused(rows []intake.Line, at [drillColumns]int, begin int) {
	if begin == 0 {
		return
	}
	var unused []string
	for i, head := range rows[begin-1].Cells {
		filled := slices.ContainsFunc(rows[begin:], func(r intake.Line) bool { return i < len(r.Cells) && r.Cells[i] != "" })
		if head != "" && filled && !slices.Contains(at[:], i) {
			unused = append(unused, strconv.Quote(clipped(head)))
		}
	}
	if len(unused) > 0 {
		t.said = append(t.said, fmt.Sprintf("nothing is taken from %s; {columns} says what a column holds, as in {columns} size=4", strings.Join(unused, ", ")))
	}
}

// headWord folds a header: small letters and digits alone.
func headWord(s string) string {
	s = strings.NewReplacer("ü", "u", "é", "e", "ó", "o").Replace(strings.ToLower(s))
	return strings.Map(func(c rune) rune {
		if unicode.IsLetter(c) || unicode.IsDigit(c) {
			return c
		}
		return -1
	}, s)
}

func isWord(cell, words string) bool {
	w := headWord(cell)
	return w != "" && strings.Contains(words, " "+w+" ")
}

// columns finds out which column holds what, and where the rows begin: behind a
// header whose words are known, or behind the first rows without a number. Where
// no header is known, codes are known by the card.
func (t *drillTable) columns(rows []intake.Line, asked string, isCode func(string) bool) (at [drillColumns]int, begin int, err error) {
	for i := range at {
		at[i] = -1
	}
	width := 0
	for i, r := range rows {
		width = max(width, len(r.Cells))
		if begin > 0 || i > 20 {
			continue
		}
		found := at
		for col, cell := range r.Cells {
			for k := range found {
				if found[k] < 0 && isWord(cell, drillWords[k]) {
					found[k] = col
					break
				}
			}
		}
		for col, cell := range r.Cells {
			if found[codeColumn] < 0 && isWord(cell, weakWords) {
				found[codeColumn] = col
			}
		}
		if found[codeColumn] >= 0 && found[drillsColumn] >= 0 {
			at, begin = found, i+1
		}
	}
	if err := askedColumns(&at, asked, rows, width); err != nil {
		return at, 0, err
	}
	if at[codeColumn] >= 0 && at[drillsColumn] >= 0 {
		return at, max(begin, t.heads(rows, at)), nil
	}
	share := func(col int, is func(string) bool) (n int) {
		for _, r := range rows {
			if col < len(r.Cells) && is(r.Cells[col]) {
				n++
			}
		}
		return n
	}
	pick := func(k, from int, is func(string) bool) {
		most := 0
		for i := range width {
			col := (from + i) % width // behind the codes first
			if n := share(col, is); n > most && col != at[codeColumn] && col != at[drillsColumn] {
				at[k], most = col, n
			}
		}
	}
	if at[codeColumn] < 0 {
		pick(codeColumn, 0, isCode)
	}
	if at[drillsColumn] < 0 {
		pick(drillsColumn, at[codeColumn]+1, func(s string) bool { _, err := drillCount(plainNumber(s)); return err == nil })
	}
	if at[codeColumn] < 0 || at[drillsColumn] < 0 {
		return at, 0, say.Failed("begin the table with the line code,drills or say which column is which, as in {columns} code=2,drills=5",
			"it is not clear which columns of %s hold the codes and the numbers of drills", t.name)
	}
	t.said = append(t.said, fmt.Sprintf("the columns were guessed: code = column %d, drills = column %d; {columns} says it otherwise", at[codeColumn]+1, at[drillsColumn]+1))
	return at, t.heads(rows, at), nil
}

// heads counts the rows at the top that have no number where drills stand.
func (t *drillTable) heads(rows []intake.Line, at [drillColumns]int) (n int) {
	for n < len(rows) && n < 20 {
		c := rows[n].Cells
		if at[drillsColumn] < len(c) && strings.ContainsAny(c[at[drillsColumn]], "0123456789") || rows[n].Bad != "" {
			break
		}
		n++
	}
	return n
}

// askedColumns reads "code=2,drills=5" over what is known.
func askedColumns(at *[drillColumns]int, asked string, rows []intake.Line, width int) error {
	if asked == "" {
		return nil
	}
	hint := "write it as in {columns} code=2,drills=5; the names are " + strings.Join(drillColumnNames[:], ", ")
	for _, part := range strings.Split(asked, ",") {
		name, where, _ := strings.Cut(part, "=")
		k := -1
		for i, n := range drillColumnNames {
			if strings.EqualFold(n, strings.TrimSpace(name)) {
				k = i
			}
		}
		if k < 0 {
			return say.Usage(hint, "%q names no column", part)
		}
		where = strings.TrimSpace(where)
		col, err := strconv.Atoi(where)
		if err != nil && len(rows) > 0 {
			for i, cell := range rows[0].Cells {
				if strings.EqualFold(strings.TrimSpace(cell), where) {
					col = i + 1
				}
			}
			if len(where) == 1 && col == 0 {
				col = int(unicode.ToUpper(rune(where[0]))-'A') + 1
			}
		}
		if col < 1 || col > width {
			return say.Usage(hint, "there is no column %q; the table has %d", where, width)
		}
		at[k] = col - 1
	}
	return nil
}

// plainNumber takes a number as a spreadsheet may show it: 200.0 is 200.
func plainNumber(s string) string {
	s = strings.TrimSpace(s)
	if head, zeros, ok := strings.Cut(s, "."); ok && zeros != "" && strings.Trim(zeros, "0") == "" {
		return head
	}
	return s
}

// readDrillRow reads one row.
func readDrillRow(l intake.Line, at [drillColumns]int) (r drillRow) {
	r.line = l.Number
	cell := func(k int) string {
		if at[k] < 0 || at[k] >= len(l.Cells) {
			return ""
		}
		return wording.Uncell(l.Cells[at[k]])
	}
	r.card, r.place, r.note = cell(cardColumn), cell(placeColumn), cell(noteColumn)
	code, number := cell(codeColumn), plainNumber(cell(drillsColumn))
	r.address = code
	if f := palettes.FinishOf(cell(finishColumn)); code != "" && f != "" {
		r.address = palettes.Drill{Code: code, Finish: f}.Address()
	}
	switch n, err := drillCount(number); {
	case l.Bad != "":
		r.bad = l.Bad
	case code == "" && number == "":
		r.bad = "neither a code nor a number"
	case code == "":
		r.bad = fmt.Sprintf("%s drills without a code; was a merged cell above it?", number)
	case number == "":
		r.bad = "no number of drills; was a merged cell above it?"
	case err != nil:
		r.bad = err.Error()
	default:
		r.drills = n
	}
	if s := strings.ToLower(cell(shapeColumn)); s != "" && r.bad == "" {
		if r.shape = kit.Shape(s); r.shape != kit.Square && r.shape != kit.Round {
			r.bad = fmt.Sprintf("the shape %q is neither square nor round", s)
		}
	}
	if s := cell(sizeColumn); s != "" && r.bad == "" {
		size, err := measure.ParseLength(s)
		if err != nil || size == 0 {
			r.bad = fmt.Sprintf("%q is no size such as 2.5mm", s)
		}
		r.size = size
	}
	return r
}
