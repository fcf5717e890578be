package palettes

import (
	"bytes"
	"encoding/csv"
	"errors"
	"io"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"

	"kitwright/internal/say"
	"kitwright/internal/wording"
	"kitwright/lab"
)

// Limits of a card of your own: far above any real one, low enough that a
// wrong file is refused at once.
const (
	MaxDrills  = 5000
	maxBytes   = 4 << 20
	maxRemark  = 500 // characters of source and license
	farFromHex = 10  // CIEDE2000: hex and L,a,b that differ by more are not one color
)

const columnsHint = "begin the file with the line code,name,finish,hex,L,a,b: a code and either hex or L,a,b are enough"

// Read reads a card of your own, as [Card.WriteCSV] writes it: text in UTF-8,
// a header line with the names of the columns in any order, then a line for
// each color.
//
//	code      what the color is called when it is ordered; needed, or else name
//	name      optional, the code if it is empty
//	finish    optional, such as AB
//	hex       sRGB as #rrggbb or #rgb; the color where L,a,b is not given
//	L, a, b   CIE L*a*b* relative to D65
//
// Columns may be parted by commas, semicolons or tabs; with the last two a
// number may have a decimal comma. Other columns, empty lines and lines that
// begin with # are passed over, but "# Source: ..." and "# License: ..." before
// the header are kept. Colors are rounded to 3 decimals. The same color may
// stand under two codes; the same code (in capitals or not) not twice, unless
// the finishes differ. Name is the file's name: errors begin with it and with the line.
func Read(name string, r io.Reader) (*Card, error) {
	text, err := io.ReadAll(io.LimitReader(r, maxBytes+1))
	if err != nil {
		return nil, say.Failed("check that it is a file you may read", "the card %s cannot be read: %w", name, err)
	}
	if len(text) > maxBytes {
		return nil, say.Failed("a card is a small CSV file: "+columnsHint, "the card %s is over %d MB", name, maxBytes>>20)
	}
	text = bytes.TrimPrefix(text, []byte("\ufeff"))
	if bytes.IndexByte(text, 0) >= 0 || !utf8.Valid(text) {
		return nil, say.Failed("save it from the spreadsheet as CSV UTF-8", "the card %s is not text in UTF-8", name)
	}
	p := &parser{file: name, lineOf: map[string]int{}}
	card := &Card{Name: name}
	lines := strings.Split(strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(string(text)), "\n")
	for i, line := range lines {
		p.line = i + 1
		drill, ok, err := p.parse(line)
		if err != nil {
			return nil, err
		}
		if !ok {
			continue
		}
		if len(card.Drills) == MaxDrills {
			return nil, p.fail("split the file or leave out what you would never use", "more than %d colors", MaxDrills)
		}
		card.Drills = append(card.Drills, drill)
	}
	if len(card.Drills) == 0 {
		return nil, say.Failed(columnsHint, "the card %s holds no colors", name)
	}
	card.Source, card.License = p.source, p.license
	return card, nil
}

// parser reads a card line by line.
type parser struct {
	file   string
	line   int
	comma  rune
	column map[string]int // where each known column stands; nil before the header
	fields int
	lineOf map[string]int // folded address -> line

	source, license string // what remarks before the header say
}

func (p *parser) fail(try, format string, args ...any) error {
	return say.Failed(try, "%s, line %d: "+format, append([]any{p.file, p.line}, args...)...)
}

// explain puts file and line before an error about words.
func (p *parser) explain(err error) error {
	var said *say.Error
	if errors.As(err, &said) {
		return p.fail(said.Try, "%s", said.What)
	}
	return err
}

// parse returns the drill on a line, or false where there is none.
func (p *parser) parse(line string) (d Drill, ok bool, err error) {
	if p.comment(line) {
		if p.column == nil {
			p.remark(line)
		}
		return d, false, nil
	}
	header := p.column == nil
	if header {
		p.comma = separator(line)
	}
	row, err := p.split(line)
	if err != nil {
		return d, false, err
	}
	if strings.Join(row, "") == "" {
		return d, false, nil
	}
	if header {
		return d, false, p.readHeader(row)
	}
	for _, extra := range row[min(len(row), p.fields):] {
		if extra != "" {
			return d, false, p.fail("put text that holds the separator in \"quotes\"", "%d fields under %d column names", len(row), p.fields)
		}
	}
	d, err = p.drill(row)
	return d, err == nil, err
}

// remark keeps what a remark before the header says of source and license.
func (p *parser) remark(line string) {
	text := strings.TrimSpace(strings.TrimLeft(strings.TrimSpace(line), "#"))
	for _, r := range []struct {
		title string
		to    *string
	}{{"source:", &p.source}, {"license:", &p.license}} {
		if len(text) < len(r.title) || !strings.EqualFold(text[:len(r.title)], r.title) || *r.to != "" {
			continue
		}
		words := []rune(strings.TrimSpace(wording.Printable(text[len(r.title):])))
		*r.to = strings.TrimSpace(string(words[:min(len(words), maxRemark)]))
	}
}

// comment tells lines to pass over: empty ones, and those that begin with #,
// unless hex is the first column and this is a hex value.
func (p *parser) comment(line string) bool {
	line = strings.TrimSpace(line)
	if line == "" {
		return true
	}
	if line[0] != '#' {
		return false
	}
	if at, known := p.column["hex"]; known && at == 0 {
		first, _, _ := strings.Cut(line, string(p.comma))
		_, isHex := lab.ParseHex(strings.TrimSpace(first))
		return !isHex
	}
	return true
}

func separator(header string) rune {
	for _, c := range ",;\t" {
		if strings.ContainsRune(header, c) {
			return c
		}
	}
	return ','
}

func (p *parser) split(line string) ([]string, error) {
	r := csv.NewReader(strings.NewReader(line))
	r.Comma, r.FieldsPerRecord = p.comma, -1
	row, err := r.Read()
	if errors.Is(err, io.EOF) {
		return nil, nil
	}
	if err != nil {
		return nil, p.fail("write a quote inside quotes twice, and keep each color on one line", "a quote is not closed or stands in the wrong place")
	}
	for i := range row {
		row[i] = strings.TrimSpace(row[i])
	}
	return row, nil
}

func (p *parser) readHeader(row []string) error {
	p.column, p.fields = map[string]int{}, len(row)
	for i, title := range row {
		title = strings.ToLower(title)
		switch title {
		case "number":
			title = "code"
		case "l*", "a*", "b*":
			title = title[:1]
		}
		switch title {
		case "code", "name", "finish", "hex", "l", "a", "b":
			if _, twice := p.column[title]; twice {
				return p.fail(columnsHint, "two columns are called %s", title)
			}
			p.column[title] = i
		}
	}
	has := func(title string) bool { _, ok := p.column[title]; return ok }
	if !has("code") && !has("name") {
		return p.fail(columnsHint, "no column is called code")
	}
	if !has("hex") && !(has("l") && has("a") && has("b")) {
		return p.fail(columnsHint, "no column is called hex, nor three L, a and b")
	}
	return nil
}

// field returns what stands in a column, "" where the line has no such column.
func (p *parser) field(row []string, title string) string {
	if i, ok := p.column[title]; ok && i < len(row) {
		return row[i]
	}
	return ""
}

func (p *parser) drill(row []string) (d Drill, err error) {
	d = Drill{
		Code: wording.Uncell(p.field(row, "code")), Name: wording.Uncell(p.field(row, "name")),
		Finish: FinishOf(wording.Uncell(p.field(row, "finish"))),
	}
	if _, ok := p.column["code"]; !ok {
		d.Code = d.Name
	}
	if d.Code == "" {
		return d, p.fail("give every color the code that it is ordered by", "a color without a code")
	}
	if d.Name == "" {
		d.Name = d.Code
	}
	for _, w := range []struct {
		kind wording.Kind
		text string
	}{{wording.Code, d.Code}, {wording.Name, d.Name}, {wording.Finish, string(d.Finish)}} {
		if err := w.kind.Check(w.text); err != nil {
			return d, p.explain(err)
		}
	}
	if before, twice := p.lineOf[fold(d.Address())]; twice {
		return d, p.fail("give each color a code of its own, or a finish that tells the two apart", "the code %q stands on line %d already", d.Address(), before)
	}
	p.lineOf[fold(d.Address())] = p.line
	c, err := p.color(row)
	if err != nil {
		return d, err
	}
	finish := d.Finish
	d = NewDrill(d.Code, d.Name, c)
	d.Finish = finish
	return d, nil
}

// color returns L,a,b where they are given, else the color of hex.
func (p *parser) color(row []string) (c lab.Color, err error) {
	hex := p.field(row, "hex")
	rgb, isHex := lab.ParseHex(hex)
	if hex != "" && !isHex {
		return c, p.fail("write it as #rrggbb, such as #c86432", "the hex value %q is not a color", wording.Short(hex))
	}
	var given int
	for _, part := range []struct {
		title  string
		from   float64
		to     float64
		target *float64
	}{{"l", 0, 100, &c.L}, {"a", -200, 200, &c.A}, {"b", -200, 200, &c.B}} {
		text := p.field(row, part.title)
		if text == "" {
			continue
		}
		given++
		if p.comma != ',' {
			text = strings.Replace(text, ",", ".", 1)
		}
		v, err := strconv.ParseFloat(text, 64)
		if err != nil || !(v >= part.from && v <= part.to) {
			return c, p.fail("L runs from 0 to 100, a and b from -200 to 200, with a decimal point", "%s = %q is no such number", strings.ToUpper(part.title[:1]), wording.Short(text))
		}
		*part.target = v
	}
	switch {
	case given == 0 && hex == "":
		return c, p.fail("give its hex value, or L, a and b", "%q has no color", p.field(row, "code"))
	case given == 0:
		return lab.FromSRGB(rgb), nil
	case given < 3:
		return c, p.fail("give all three, or hex alone", "L, a and b are not all given")
	}
	if _, inside := c.SRGB(); inside && hex != "" && lab.DeltaE(c, lab.FromSRGB(rgb)) > farFromHex {
		return c, p.fail("keep the one that is right and leave the other empty; L,a,b is relative to D65", "%s and L,a,b are not the same color", hex)
	}
	return c, nil
}

// round3 rounds to 3 decimals, as a card is written; never to a negative zero.
func round3(v float64) float64 { return math.Round(v*1000)/1000 + 0 }

// NewDrill returns a plain drill: the color rounded to 3 decimals, as a card is
// written, and its nearest sRGB value.
func NewDrill(code, name string, c lab.Color) Drill {
	c = lab.Color{L: round3(c.L), A: round3(c.A), B: round3(c.B)}
	rgb, inside := c.SRGB()
	return Drill{Code: code, Name: name, Lab: c, RGB: rgb, Beyond: !inside}
}

// fold is what makes two codes the same: capitals do not count.
func fold(code string) string { return strings.ToLower(strings.ToUpper(code)) }
