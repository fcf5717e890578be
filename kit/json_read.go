package kit

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"kitwright/chart"
	"kitwright/chart/symbols"
	"kitwright/internal/measure"
	"kitwright/internal/say"
	"kitwright/internal/wording"
	"kitwright/lab"
	"kitwright/palettes"
	"kitwright/photo/tone"
)

// Limits of a kit.json: two million drills of a hundred colors take 8 MB as we
// write them, and 20 with each on a line of its own.
const (
	maxJSON   = 32 << 20
	maxHead   = 1 << 20 // all but the cells
	maxWords  = 500     // settings, pieces of advice
	maxNumber = math.MaxUint16
)

// bad is an error about a kit.json that cannot be used.
func bad(format string, args ...any) error {
	return say.Failed("make the kit again from its photo, or take an unchanged copy of kit.json", "kit.json cannot be used: "+format, args...)
}

// ReadJSON reads a kit.json, also one edited by hand, and refuses what does
// not add up or what no kit of ours could be. Those of every earlier version
// are read.
func ReadJSON(r io.Reader) (*Kit, error) {
	data, err := io.ReadAll(io.LimitReader(r, maxJSON+1))
	if err != nil {
		return nil, say.Failed("check that it is a file you may read", "kit.json cannot be read: %w", err)
	}
	if len(data) > maxJSON {
		return nil, bad("it is larger than the %d MB that the largest kit could take", maxJSON>>20)
	}
	data = bytes.TrimPrefix(data, []byte("\ufeff")) // some editors begin a file so
	if err := json.Unmarshal(data, &struct{}{}); err != nil {
		return nil, bad("%s", wrong(err, data))
	}
	if data[skipSpace(data, 0)] != '{' { // null
		return nil, bad("it is not JSON as kitwright writes it")
	}
	head, cells, err := parted(data)
	if err != nil {
		return nil, err
	}
	var many struct{ Legend []struct{} } // counted before they take room
	if err := json.Unmarshal(head, &many); err == nil && len(many.Legend) > symbols.Max {
		return nil, tooMany(len(many.Legend))
	}
	var f file
	if err := json.Unmarshal(head, &f); err != nil {
		return nil, bad("%s", wrong(err, head))
	}
	if f.Version > FormatVersion {
		return nil, say.Failed("use the newer kitwright that made it", "kit.json is of version %d, and this kitwright knows up to %d", f.Version, FormatVersion)
	}
	if f.Version < 1 {
		return nil, bad("it has no version")
	}
	k, err := f.kit()
	if err != nil {
		return nil, err
	}
	return k, k.readCells(cells)
}

// IsKit tells a kit.json of our format, of this version or a newer one, from
// any other JSON. It says nothing about whether the kit adds up.
func IsKit(r io.Reader) bool {
	data, err := io.ReadAll(io.LimitReader(r, maxJSON+1))
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	if err != nil || len(data) > maxJSON || json.Unmarshal(data, &struct{}{}) != nil || data[skipSpace(data, 0)] != '{' {
		return false
	}
	head, cells, err := parted(data)
	if err != nil {
		return false
	}
	var f file
	return json.Unmarshal(head, &f) == nil && f.Version >= 1 && len(f.Order) > 0 && f.Drill.Shape != "" && f.Grid.Cols > 0 && f.Grid.Rows > 0 &&
		len(f.Legend) > 0 && f.Legend[0].Number >= 1 && f.Legend[0].Symbol != "" && cells[0] == '['
}

// jsonKinds are the kinds of JSON values in plain words.
var jsonKinds = map[string]string{"string": "a text", "array": "a list", "object": "a group", "bool": "true or false", "number": "a number"}

// wrong says what is wrong with JSON, without the names of this program's
// types.
func wrong(err error, data []byte) string {
	var syntax *json.SyntaxError
	var kind *json.UnmarshalTypeError
	switch {
	case errors.As(err, &syntax):
		line := 1 + bytes.Count(data[:min(int(syntax.Offset), len(data))], []byte("\n"))
		return "it is not JSON as kitwright writes it, from line " + strconv.Itoa(line) + " on"
	case errors.As(err, &kind) && kind.Field != "":
		is := kind.Value
		if plain, ok := jsonKinds[is]; ok {
			is = plain
		} else if value, ok := strings.CutPrefix(is, "number "); ok {
			is = wording.Short(value)
		}
		return "its " + strconv.Quote(kind.Field) + " cannot be " + is
	}
	return "it is not JSON as kitwright writes it"
}

// parted takes the cells, which are most of a file, out of valid JSON: the
// head has null instead.
func parted(data []byte) (head, cells []byte, err error) {
	at := -1
	i := skipSpace(data, 0) + 1 // behind the {
	for i = skipSpace(data, i); data[i] != '}'; i = skipSpace(data, i) {
		if data[i] == ',' {
			i = skipSpace(data, i+1)
		}
		key := i
		i = skipValue(data, i)
		name := data[key:i]
		i = skipSpace(data, skipSpace(data, i)+1) // behind the :
		value := i
		i = skipValue(data, i)
		if string(name) == `"cells"` {
			if at >= 0 {
				return nil, nil, bad("it has cells twice")
			}
			at, cells = value, data[value:i]
		}
	}
	if at < 0 {
		return nil, nil, bad("it has no cells")
	}
	if len(data)-len(cells) > maxHead {
		return nil, nil, bad("there is more beside the cells than any kit has")
	}
	return slices.Concat(data[:at], []byte("null"), data[at+len(cells):]), cells, nil
}

func skipSpace(data []byte, i int) int {
	for data[i] == ' ' || data[i] == '\t' || data[i] == '\n' || data[i] == '\r' {
		i++
	}
	return i
}

// skipValue returns the place behind the value of valid JSON that begins at i.
func skipValue(data []byte, i int) int {
	for depth, text := 0, false; ; i++ {
		c := data[i]
		switch {
		case text && c == '\\':
			i++
		case c == '"':
			if text = !text; !text && depth == 0 {
				return i + 1
			}
		case text:
		case c == '{' || c == '[':
			depth++
		case c == '}' || c == ']':
			if depth == 0 {
				return i // behind a number or a word
			}
			if depth--; depth == 0 {
				return i + 1
			}
		case depth == 0 && (c == ',' || c == ':' || c == ' ' || c == '\t' || c == '\n' || c == '\r'):
			return i
		}
	}
}

// kit makes a kit of everything but the cells.
func (f *file) kit() (*Kit, error) {
	pitch, okP := millimeters(f.Grid.PitchMM)
	size, okS := millimeters(f.Drill.SizeMM)
	if !okP || !okS || pitch < MinPitch || pitch > MaxPitch || size < MinPitch || size > pitch || (f.Drill.Shape != Square && f.Drill.Shape != Round) {
		return nil, bad("its drill or pitch is not one that drills come in")
	}
	cols, rows := f.Grid.Cols, f.Grid.Rows
	if err := (Layout{Cols: cols, Rows: rows, Pitch: pitch}).check(); err != nil || cols < 1 || rows < 1 {
		return nil, bad("a grid of %d x %d is none", cols, rows)
	}
	if n := max(len(f.Order), len(f.Print), len(f.Advice)); n > maxWords {
		return nil, bad("it has %d settings or pieces of advice, more than any kit", n)
	}
	if err := f.order(); err != nil {
		return nil, bad("%w", err)
	}
	title := []rune(f.Title)
	title = title[:min(len(title), wording.Title.Most())] // the first version had no limit
	if err := wording.Title.Check(string(title)); err != nil {
		return nil, bad("%s", err)
	}
	legend, err := f.legend()
	if err != nil {
		return nil, err
	}
	if err := f.yours(); err != nil {
		return nil, err
	}
	f.Quality.Objective, f.Quality.Bought = wording.Printable(f.Quality.Objective), wording.Printable(f.Quality.Bought)
	return &Kit{
		Title: string(title), Order: printable(f.Order), Print: printable(f.Print),
		Drill: Drill{f.Drill.Shape, size}, Pitch: pitch,
		Card:    CardRef{wording.Printable(f.Card.Name), wording.Printable(f.Card.SHA256), f.Card.Builtin},
		Chart:   &chart.Chart{Cols: cols, Rows: rows, Legend: legend, Turned: f.Order["turned"] == "true"},
		Quality: f.Quality,
		Photo:   PhotoRef{wording.Printable(f.Photo.Name), wording.Printable(f.Photo.SHA256)},
		Tone:    tone.Changes(f.Tone), Advice: printables(f.Advice), Stopped: f.Stopped, Own: f.Own, Sheet: f.Sheet, TargetSum: wording.Printable(f.Target),
		YourCodes: f.Yours,
	}, nil
}

// printable returns settings without what no page shows. (A file's name, which
// a setting may be, can hold anything.)
func printable(m map[string]string) map[string]string {
	if m == nil {
		return nil
	}
	out := map[string]string{}
	for key, v := range m {
		out[wording.Printable(key)] = wording.Printable(v)
	}
	return out
}

func printables(list []string) []string {
	for i, s := range list {
		list[i] = wording.Printable(s)
	}
	return list
}

func millimeters(v float64) (measure.Length, bool) {
	l, err := measure.ParseLength(strconv.FormatFloat(v, 'f', -1, 64) + "mm")
	return l, err == nil
}

func tooMany(colors int) error {
	return bad("its legend has %d colors, and a kit has 1 to %d", colors, symbols.Max)
}

// legend makes the legend, with the counts as they are written.
func (f *file) legend() ([]chart.Entry, error) {
	if len(f.Legend) == 0 || len(f.Legend) > symbols.Max {
		return nil, tooMany(len(f.Legend))
	}
	legend := make([]chart.Entry, len(f.Legend))
	marks, drills := map[rune]bool{}, map[string]bool{}
	number := 0
	for i, l := range f.Legend {
		for _, words := range []struct {
			kind wording.Kind
			text string
		}{{wording.Code, l.Code}, {wording.Name, l.Name}, {wording.Finish, l.Finish}} {
			if err := words.kind.Check(words.text); err != nil {
				return nil, bad("color %d: %s", i+1, err)
			}
		}
		if strings.TrimSpace(l.Code) == "" {
			return nil, bad("color %d has no code", i+1)
		}
		if l.Number <= number || l.Number > maxNumber {
			return nil, bad("color %d (%s) has the number %d, and numbers rise from 1", i+1, l.Code, l.Number)
		}
		number = l.Number
		if drill := l.Code + "\n" + l.Finish; drills[drill] {
			return nil, bad("color %d (%s) stands in the legend twice", i+1, l.Code)
		} else {
			drills[drill] = true
		}
		mark, length := utf8.DecodeRuneInString(l.Symbol)
		symbol, ok := symbols.ByRune(mark)
		if !ok || length != len(l.Symbol) || marks[mark] {
			return nil, bad("the symbol of color %d (%s) is none of ours or is used twice", i+1, l.Code)
		}
		marks[mark] = true
		rgb, ok := lab.ParseHex(l.Hex)
		if !ok {
			return nil, bad("%q of color %d (%s) is not a color such as #8a5f3c", wording.Short(l.Hex), i+1, l.Code)
		}
		c := lab.Color{L: l.Lab[0], A: l.Lab[1], B: l.Lab[2]}
		if !(c.L >= 0 && c.L <= 100 && math.Abs(c.A) <= 200 && math.Abs(c.B) <= 200) {
			return nil, bad("the L,a,b of color %d (%s) is no color: L runs from 0 to 100, a and b from -200 to 200", i+1, l.Code)
		}
		if l.Drills < 1 {
			return nil, bad("color %d (%s) has no drills", i+1, l.Code)
		}
		legend[i] = chart.Entry{
			Number: l.Number, Symbol: symbol, Count: l.Drills,
			Drill: palettes.Drill{Code: l.Code, Name: l.Name, Finish: palettes.Finish(l.Finish), Lab: c, RGB: rgb, Beyond: l.OutOfSRGB},
		}
	}
	return legend, nil
}

// readCells reads the rows of numbers and holds them against the legend.
func (k *Kit) readCells(text []byte) error {
	c := k.Chart
	at := make(map[int]uint16, len(c.Legend))
	for i, e := range c.Legend {
		at[e.Number] = uint16(i)
	}
	counts := make([]int, len(c.Legend))
	s := scanner{text: text}
	rows := 0
	for more := s.open(); more; more = s.next() {
		if rows++; rows > c.Rows {
			break
		}
		cols := 0
		for more := s.open(); more; more = s.next() {
			word := s.i
			n, ok := s.number()
			i, known := at[n]
			if !ok || !known {
				s.i = word
				return bad("row %d has a drill of color %s, and the legend has no such number", rows, wording.Short(s.word()))
			}
			if cols++; cols <= c.Cols {
				counts[i]++
				c.Cells = append(c.Cells, i)
			}
		}
		if s.wrong {
			return bad("row %d is not a row of numbers", rows)
		}
		if cols != c.Cols {
			return bad("row %d has %d cells instead of %d", rows, cols, c.Cols)
		}
	}
	if s.wrong || rows != c.Rows {
		return bad("its cells are not %d rows of numbers", c.Rows)
	}
	for i, e := range c.Legend {
		if e.Count != counts[i] {
			return bad("color %d (%s) counts %d drills, and the chart has %d of it", e.Number, e.Drill.Code, e.Count, counts[i])
		}
	}
	return nil
}
