package intake

import (
	"encoding/csv"
	"io"
	"strings"
	"unicode/utf8"

	"kitwright/palettes"
)

// record is a row of a table: what its cells show, and, in a spreadsheet, the
// numbers behind them.
type record struct {
	line  int
	shown []string
	raw   []string // nil: the same as shown
	bad   string   // why the row cannot be split into cells
}

func (r record) cell(i int) string {
	if i < 0 || i >= len(r.shown) {
		return ""
	}
	return r.shown[i]
}

// number returns the text of a cell that should be a number.
func (r record) number(i int) string {
	if r.raw != nil {
		return record{shown: r.raw}.cell(i)
	}
	return r.cell(i)
}

func (r record) empty() bool { return r.bad == "" && strings.Join(r.shown, "") == "" }

// readText reads a table of text. What kitwright has written itself is read to
// the letter; everything else forgivingly.
func readText(name, text, encoding string, opt Options) (*Result, error) {
	if opt == (Options{}) && encoding == "" && ours(text) {
		if card, err := palettes.Read(name, strings.NewReader(text)); err == nil {
			return &Result{Card: card, Kind: "a table as text"}, nil
		}
	}
	sep := separator(text)
	rows, source, license, err := split(name, text, sep, MaxRows)
	if err != nil {
		return nil, err
	}
	m := newMaker(name, "a table as text")
	m.res.Card.Source, m.res.Card.License = source, license
	if encoding != "" {
		m.note("read as %s", encoding)
	}
	t := &table{m: m, rows: rows}
	return t.read(opt)
}

// ours tells a table with the header that kitwright writes.
func ours(text string) bool {
	for line := range strings.Lines(text) {
		if line = strings.TrimSpace(line); line != "" && !isRemark(line) {
			return line == palettes.Header || strings.HasPrefix(line, palettes.Header+",")
		}
	}
	return false
}

// separator returns the character that parts the most of the first lines into
// the same number of cells, more than one.
func separator(text string) rune {
	var lines []string
	for line := range strings.Lines(text) {
		if line = strings.TrimSpace(line); line != "" && !isRemark(line) {
			if lines = append(lines, line); len(lines) == 40 {
				break
			}
		}
	}
	best, most := ',', 0
	for _, sep := range ";\t,|" {
		counts := map[int]int{}
		for _, line := range lines {
			counts[cellsOf(line, sep)]++
		}
		score := 0
		for cells, n := range counts {
			if cells > 1 && n*64+min(cells, 63) > score {
				score = n*64 + min(cells, 63) // more lines first, then more cells
			}
		}
		if score > most {
			best, most = sep, score
		}
	}
	return best
}

// cellsOf counts the cells of a line, separators in quotes left out.
func cellsOf(line string, sep rune) int {
	n, open := 1, false
	for _, c := range line {
		switch {
		case c == '"':
			open = !open
		case c == sep && !open:
			n++
		}
	}
	return n
}

// isRemark tells a line that begins with # and is no hex value.
func isRemark(line string) bool {
	if !strings.HasPrefix(line, "#") {
		return false
	}
	word := strings.FieldsFunc(line, func(c rune) bool { return strings.ContainsRune(",;\t| ", c) })
	_, hex := readHex(word[0])
	return !hex
}

// maxJoined is how many lines a quoted cell may run over.
const maxJoined = 4

// split parts a text into records. A line whose quote is not closed is joined
// with those after it; if that does not help, it alone is bad.
func split(name, text string, sep rune, most int) (rows []record, source, license string, err error) {
	number := 0
	for rest := text; rest != ""; {
		var line string
		line, rest, _ = strings.Cut(rest, "\n")
		number++
		switch trimmed := strings.TrimSpace(line); {
		case trimmed == "":
			continue
		case isRemark(trimmed):
			for _, r := range []struct {
				title string
				to    *string
			}{{"source:", &source}, {"license:", &license}} {
				said := strings.TrimSpace(strings.TrimLeft(trimmed, "#"))
				if len(said) > len(r.title) && strings.EqualFold(said[:len(r.title)], r.title) && *r.to == "" && len(rows) == 0 {
					*r.to = clip(said[len(r.title):], 500)
				}
			}
			continue
		}
		if len(rows) == most {
			return nil, "", "", tooMany(name, most)
		}
		r := record{line: number}
		if strings.Count(line, `"`)%2 == 1 {
			if joined, after, more := closing(line, rest, sep); more > 0 {
				line, rest, number = joined, after, number+more
			}
		}
		r.shown, r.bad = cells(line, sep)
		rows = append(rows, r)
	}
	return rows, source, license, nil
}

// closing joins a line whose quote is open with the lines after it, up to the
// one that closes it; more is 0 where none of the next few does, or where they
// are rows of their own: an inch mark is no quote.
func closing(line, rest string, sep rune) (joined, after string, more int) {
	joined = line
	for more < maxJoined && rest != "" && len(joined) < maxLine {
		var next string
		next, rest, _ = strings.Cut(rest, "\n")
		joined += "\n" + next
		more++
		if strings.Count(joined, `"`)%2 == 0 {
			if !oneRecord(joined, sep) {
				break
			}
			return joined, rest, more
		}
	}
	return line, rest, 0
}

// oneRecord says whether a text is one record to the letter, quotes and all.
func oneRecord(text string, sep rune) bool {
	c := csv.NewReader(strings.NewReader(text))
	c.Comma, c.FieldsPerRecord = sep, -1
	if _, err := c.Read(); err != nil {
		return false
	}
	_, err := c.Read()
	return err == io.EOF
}

// maxLine is how many bytes a row may have.
const maxLine = 1 << 18

// cells splits one record.
func cells(line string, sep rune) (out []string, bad string) {
	if len(line) > maxLine || strings.Count(line, string(sep)) > 4*maxFields {
		return nil, "too many cells"
	}
	c := csv.NewReader(strings.NewReader(line))
	c.Comma, c.FieldsPerRecord, c.LazyQuotes = sep, -1, true
	out, err := c.Read()
	if err != nil && err != io.EOF {
		return nil, "a quote is not closed or stands in the wrong place"
	}
	if len(out) > maxFields {
		return nil, "too many cells"
	}
	for i := range out {
		out[i] = strings.TrimSpace(out[i])
		if len(out[i]) > maxCell {
			out[i] = clip(out[i], maxCell)
		}
	}
	return out, ""
}

// clip shortens a text to so many bytes at most, whole characters.
func clip(s string, most int) string {
	s = strings.TrimSpace(s)
	if len(s) <= most {
		return s
	}
	for most > 0 && !utf8.RuneStart(s[most]) {
		most--
	}
	return s[:most]
}
