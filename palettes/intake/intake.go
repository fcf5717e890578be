// Package intake reads the color cards that come from elsewhere: tables as
// text, spreadsheets, the files of measuring instruments. It takes what it can
// and names every row that it cannot, with the reason.
//
// Begin with [Read]. What it gives is a [palettes.Card] and a report about how
// the file was understood; nothing is guessed in silence.
package intake

import (
	"bytes"
	"fmt"
	"io"
	"strings"

	"kitwright/internal/say"
	"kitwright/internal/wording"
	"kitwright/lab"
	"kitwright/palettes"
)

// Limits of what is read: far above any real card, low enough that a hostile
// file is refused at once.
const (
	MaxBytes  = 16 << 20 // of a file
	maxPacked = 48 << 20 // of a spreadsheet, unpacked
	MaxRows   = 20000    // of a table
	maxFields = 500      // of a row; a spectrum has about 80
	maxCell   = 2000     // bytes of a cell that is kept
	maxDepth  = 64       // of XML
)

// Options says how a file is to be understood where it does not say so itself.
// The zero value reads what can be recognized.
type Options struct {
	Columns string // such as "code=2,hex=5"; a column is a number, a spreadsheet's letter or what its header says
	White   White  // of L, a and b where the file does not tell
}

// White is a white that L*a*b* values are relative to.
type White string

// The whites that are known.
const (
	AnyWhite White = "" // as the file says, or what is usual for its kind
	D50      White = "d50"
	D65      White = "d65"
)

func (w White) xyz() [3]float64 {
	if w == D50 {
		return lab.D50
	}
	return lab.White
}

// Result is a card and how it was understood.
type Result struct {
	Card  *palettes.Card
	Kind  string   // what kind of file it was, in words
	Notes []string // what was guessed or assumed
	Left  []Row    // rows that gave no color
	Doubt []Row    // rows that did, though something does not add up
}

// Row is a row of the file, and what is to be said about it.
type Row struct {
	Line   int    `json:"line"`
	Code   string `json:"code"` // "" where there is none
	Reason string `json:"reason"`
}

func (r Row) String() string {
	if r.Code == "" {
		return fmt.Sprintf("line %d: %s", r.Line, r.Reason)
	}
	return fmt.Sprintf("line %d (%s): %s", r.Line, r.Code, r.Reason)
}

// Read reads a card. Name is the file's base name: errors begin with it, and
// its ending is not asked, only the content.
func Read(name string, r io.Reader, opt Options) (*Result, error) {
	data, packed, err := readAll("card", name, r)
	if err != nil {
		return nil, err
	}
	if packed {
		return readSpreadsheet(name, data, opt)
	}
	text, encoding, err := decode(name, data)
	if err != nil {
		return nil, err
	}
	switch {
	case looksXML(text):
		return readCxF(name, text)
	case looksCGATS(text):
		return readCGATS(name, text, opt)
	}
	return readText(name, text, encoding, opt)
}

// readAll reads a small file, and says whether it is packed as spreadsheets
// are. What is no table is told by what it is.
func readAll(what, name string, r io.Reader) (data []byte, packed bool, err error) {
	data, err = io.ReadAll(io.LimitReader(r, MaxBytes+1))
	switch {
	case err != nil:
		return nil, false, say.Failed("check that it is a file you may read", "the %s %s cannot be read: %w", what, name, err)
	case len(data) > MaxBytes:
		return nil, false, say.Failed("keep the rows and columns that matter", "the %s %s is over %d MB", what, name, MaxBytes>>20)
	case len(bytes.TrimSpace(data)) == 0:
		return nil, false, say.Failed("export it again", "the %s %s is empty", what, name)
	case bytes.HasPrefix(data, []byte("PK\x03\x04")):
		return data, true, nil
	case bytes.HasPrefix(data, []byte("\xd0\xcf\x11\xe0")):
		return nil, false, say.Failed("save it as XLSX or as CSV, without a password", "%s is an old or locked spreadsheet", name)
	case bytes.HasPrefix(data, []byte("%PDF")):
		return nil, false, say.Failed("ask for the table as a spreadsheet, or type it into one", "%s is a PDF, not a table", name)
	case bytes.HasPrefix(data, []byte("\xff\xd8\xff")), bytes.HasPrefix(data, []byte("\x89PNG")):
		return nil, false, say.Failed("kitwright card measure reads colors from a photo of a card", "%s is a picture, not a table", name)
	}
	return data, false, nil
}

// maker gathers drills into a result.
type maker struct {
	file string
	res  *Result
	at   map[string]int // folded address -> index of the drill
	line []int          // of each drill
}

func newMaker(file, kind string) *maker {
	return &maker{file: file, res: &Result{Card: &palettes.Card{Name: file}, Kind: kind}, at: map[string]int{}}
}

// maxNamed is how many rows are named one by one; more of them are counted.
const maxNamed = 2000

func (m *maker) leave(line int, code, format string, args ...any) {
	m.res.Left = append(m.res.Left, m.row(line, code, format, args...))
}

func (m *maker) doubt(line int, code, format string, args ...any) {
	m.res.Doubt = append(m.res.Doubt, m.row(line, code, format, args...))
}

func (m *maker) row(line int, code, format string, args ...any) Row {
	words := []rune(wording.Printable(code))
	return Row{Line: line, Code: string(words[:min(len(words), wording.Code.Most())]), Reason: fmt.Sprintf(format, args...)}
}

func (m *maker) note(format string, args ...any) {
	m.res.Notes = append(m.res.Notes, fmt.Sprintf(format, args...))
}

// add puts a color into the card, or names why not.
func (m *maker) add(line int, code, name string, finish palettes.Finish, c lab.Color) {
	code, name = strings.TrimSpace(code), strings.TrimSpace(name)
	if code == "" {
		m.leave(line, name, "no code")
		return
	}
	if name == "" {
		name = code
	}
	for _, w := range []struct {
		kind wording.Kind
		text string
	}{{wording.Code, code}, {wording.Name, name}, {wording.Finish, string(finish)}} {
		if err := w.kind.Check(w.text); err != nil {
			m.leave(line, code, "%s", err)
			return
		}
	}
	if !(c.L >= -0.5 && c.L <= 105 && c.A >= -200 && c.A <= 200 && c.B >= -200 && c.B <= 200) {
		m.leave(line, code, "L %.1f, a %.1f, b %.1f is no color", c.L, c.A, c.B)
		return
	}
	if c.L < -0.05 || c.L > 100.05 { // less comes of rounding
		m.doubt(line, code, "L %.1f lies outside 0 to 100 and was set to the nearer end", c.L)
	}
	c.L = min(100, max(0, c.L))
	d := palettes.NewDrill(code, name, c)
	d.Finish = finish
	key := strings.ToLower(d.Address())
	if i, twice := m.at[key]; twice {
		first := m.res.Card.Drills[i]
		if e := lab.DeltaE(first.Lab, d.Lab); e < 0.05 {
			m.leave(line, d.Address(), "the same as line %d", m.line[i])
		} else {
			m.leave(line, d.Address(), "line %d has this code already, with another color (%s there, %s here)", m.line[i], lab.Hex(first.RGB), lab.Hex(d.RGB))
		}
		return
	}
	m.at[key] = len(m.res.Card.Drills)
	m.line = append(m.line, line)
	m.res.Card.Drills = append(m.res.Card.Drills, d)
}

// done returns the result, or says that nothing could be used.
func (m *maker) done(hint string) (*Result, error) {
	n := len(m.res.Card.Drills)
	switch {
	case n > palettes.MaxDrills:
		return nil, say.Failed("split the file or leave out what you would never use", "%s holds %s, and a card takes up to %s", m.file, say.Count(n, "color"), say.Number(palettes.MaxDrills))
	case n == 0 && len(m.res.Left) > 0:
		return nil, say.Failed(hint, "%s holds no color that can be used: %s", m.file, m.res.Left[0])
	case n == 0:
		return nil, say.Failed(hint, "the card %s holds no colors", m.file)
	}
	if extra := len(m.res.Left) - maxNamed; extra > 0 {
		m.note("%d more rows gave no color", extra)
		m.res.Left = m.res.Left[:maxNamed]
	}
	return m.res, nil
}
