package intake

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"kitwright/internal/wording"
	"kitwright/lab"
	"kitwright/palettes"
)

const tableHint = "begin the table with the line code,name,finish,hex,L,a,b, or say which column is which, as in {columns} code=2,hex=5"

// table is rows on their way to a card.
type table struct {
	m     *maker
	rows  []record
	cols  columns
	white White
	width int // of the header of a table of text; 0 where there is none
}

// read finds out what the columns hold and reads the rows.
func (t *table) read(opt Options) (*Result, error) {
	begin, err := t.understand(opt)
	if err != nil {
		return nil, err
	}
	for _, r := range t.rows[begin:] {
		if !r.empty() {
			t.row(r)
		}
	}
	return t.m.done(tableHint)
}

// understand settles the columns and returns where the data begins.
func (t *table) understand(opt Options) (begin int, err error) {
	t.cols = noColumns()
	var header record
	var vague []int
	for i, r := range t.rows[:min(len(t.rows), 30)] { // titles may stand above the header
		c, v := byHeader(r.shown)
		named := 0
		for k := codeRole; k < roles; k++ {
			if c[k] >= 0 {
				named++
			}
		}
		if named+min(len(v), 1) >= 2 || named == 1 && opt.Columns != "" {
			t.cols, vague, header, begin = c, v, r, i+1
			break
		}
	}
	width := 0
	for _, r := range t.rows {
		width = max(width, len(r.shown))
	}
	guessed := begin == 0
	if guessed && opt.Columns != "" && len(t.rows) > 0 {
		header = t.rows[0]
	}
	if opt.Columns != "" {
		if err := t.cols.asked(opt.Columns, header.shown, width); err != nil {
			return 0, err
		}
		if guessed && t.cols.color() && !t.colored(header) {
			begin = 1 // its first row has no color where colors were said to be: a header
			t.sayHeader(header)
		}
		guessed = false
	}
	t.white = opt.White
	t.readWhite(header)
	if !t.cols.color() || t.cols[codeRole] < 0 || t.cols[nameRole] < 0 {
		begin = t.guess(begin, width, vague)
	}
	if begin > 0 && t.rows[begin-1].raw == nil {
		t.width = len(t.rows[begin-1].shown)
	}
	if t.white == AnyWhite && (t.cols.lab() || t.cols[labRole] >= 0) {
		t.m.note("L, a and b were taken as relative to D65; say {white} d50 if an instrument or a printer gave them")
	}
	return begin, nil
}

// readWhite takes the white from the headers of L, a and b.
func (t *table) readWhite(header record) {
	if t.white != AnyWhite {
		return
	}
	for _, r := range []role{labRole, lRole, aRole, bRole} {
		switch h := strings.ToLower(header.cell(t.cols[r])); {
		case strings.Contains(h, "d50"):
			t.white = D50
		case strings.Contains(h, "d65"):
			t.white = D65
		}
	}
}

// sayHeader says that a row whose words are not known was passed over.
func (t *table) sayHeader(r record) {
	t.m.note("line %d was taken for the columns' names: it has no color", r.line)
}

func (t *table) colored(r record) bool {
	_, _, ok := t.color(r)
	return ok
}

// sheetErrors is what a spreadsheet shows where a formula fails (from memory).
var sheetErrors = []string{"#N/A", "#REF!", "#VALUE!", "#NAME?", "#DIV/0!", "#NULL!", "#NUM!"}

// row reads one row of data.
func (t *table) row(r record) {
	code := wording.Uncell(r.cell(t.cols[codeRole]))
	if r.bad != "" {
		t.m.leave(r.line, "", "%s", r.bad)
		return
	}
	if r.raw != nil && slices.Contains(sheetErrors, code) {
		t.m.leave(r.line, code, "the spreadsheet shows an error where the code should stand")
		return
	}
	if t.cols[codeRole] < 0 {
		code = wording.Uncell(r.cell(t.cols[nameRole]))
	}
	if code == "" {
		t.m.leave(r.line, r.cell(t.cols[nameRole]), "no code")
		return
	}
	if _, hex := readHex(r.cell(t.cols[hexRole])); !hex && t.spills(r) {
		t.m.leave(r.line, code, "%d cells under %d column names: put text that holds the separator in quotes", len(r.shown), t.width)
		return
	}
	c, reason, ok := t.color(r)
	if !ok {
		t.m.leave(r.line, code, "%s", reason)
		return
	}
	before := len(t.m.res.Card.Drills)
	t.m.add(r.line, code, wording.Uncell(r.cell(t.cols[nameRole])), palettes.FinishOf(wording.Uncell(r.cell(t.cols[finishRole]))), c)
	if reason != "" && len(t.m.res.Card.Drills) > before {
		t.m.doubt(r.line, code, "%s", reason)
	}
}

// spills tells a row that goes on beyond the header: a comma in a number or a
// name has moved its cells. A hex value in its place shows that none moved.
func (t *table) spills(r record) bool {
	if t.width == 0 {
		return false
	}
	for _, cell := range r.shown[min(t.width, len(r.shown)):] {
		if cell != "" {
			return true
		}
	}
	return false
}

// color returns the color of a row: L, a, b before R, G, B before hex. Where
// there is one, the reason says what does not add up.
func (t *table) color(r record) (c lab.Color, reason string, ok bool) {
	hexText := strings.TrimSpace(r.cell(t.cols[hexRole]))
	rgb, isHex := readHex(hexText)
	if three, why, given := t.three(r, labRole, lRole, aRole, bRole); given {
		if why != "" {
			return c, why, false
		}
		if !(three[0] >= 0 && three[0] <= 100.5 && math.Abs(three[1]) <= 200 && math.Abs(three[2]) <= 200) {
			return c, fmt.Sprintf("L %s, a %s, b %s is no color", short(three[0]), short(three[1]), short(three[2])), false
		}
		c = lab.Relative(three[0], three[1], three[2], t.white.xyz())
		if e := lab.DeltaE(c, lab.FromSRGB(rgb)); isHex && inside(c) && e > farFromHex {
			reason = fmt.Sprintf("hex %s and L, a, b are not one color (%.0f apart); L, a, b was taken", hexText, e)
		}
		return c, reason, true
	}
	if three, why, given := t.three(r, rgbRole, redRole, greenRole, blueRole); given {
		if why != "" {
			return c, why, false
		}
		var v [3]uint8
		for i, x := range three {
			if !(x >= 0 && x <= 255 && x == math.Trunc(x)) {
				return c, fmt.Sprintf("%s is not a whole number from 0 to 255", short(x)), false
			}
			v[i] = uint8(x)
		}
		return lab.FromSRGB(v), "", true
	}
	switch {
	case hexText == "":
		return c, "no color", false
	case !isHex && len(strings.TrimPrefix(hexText, "#")) == 8:
		return c, fmt.Sprintf("hex %s has eight digits: it is see-through or in another order", clip(hexText, 20)), false
	case !isHex:
		return c, fmt.Sprintf("%q is not a hex value such as #c86432", clip(hexText, 40)), false
	}
	return lab.FromSRGB(rgb), "", true
}

// farFromHex is where hex and L, a, b stop being one color, CIEDE2000.
const farFromHex = 10

func inside(c lab.Color) bool {
	_, in := c.SRGB()
	return in
}

// three reads three numbers from one cell or from three. Given is false where
// there are none.
func (t *table) three(r record, one role, each ...role) (v [3]float64, why string, given bool) {
	var parts []string
	if text := r.cell(t.cols[one]); text != "" {
		text = strings.NewReplacer("rgb", "", "RGB", "", "(", " ", ")", " ", "lab", "", "Lab", "").Replace(text)
		if strings.Count(text, ",") == 2 && !strings.ContainsAny(text, ";/|") {
			text = strings.ReplaceAll(text, ",", " ")
		}
		parts = strings.FieldsFunc(text, func(c rune) bool { return c == ';' || c == '/' || c == '|' || c == ' ' || c == '\t' })
		if len(parts) != 3 {
			return v, fmt.Sprintf("%q is not three numbers", clip(text, 40)), true
		}
	} else {
		n := 0
		for _, e := range each {
			cell := r.number(t.cols[e])
			if cell != "" {
				n++
			}
			parts = append(parts, cell)
		}
		if n == 0 {
			return v, "", false
		}
		if n < 3 {
			return v, fmt.Sprintf("%s, %s and %s are not all given", roleNames[each[0]], roleNames[each[1]], roleNames[each[2]]), true
		}
	}
	for i, p := range parts {
		x, ok := t.number(p)
		if !ok {
			return v, fmt.Sprintf("%q is not a number", clip(p, 40)), true
		}
		v[i] = x
	}
	return v, "", true
}

// number reads a finite number; a single comma is a decimal one.
func (t *table) number(s string) (float64, bool) {
	s = strings.TrimSpace(strings.ReplaceAll(s, "\u2212", "-"))
	if strings.Count(s, ",") == 1 && !strings.Contains(s, ".") {
		s = strings.Replace(s, ",", ".", 1)
	}
	v, err := strconv.ParseFloat(s, 64)
	return v, err == nil && !math.IsNaN(v) && !math.IsInf(v, 0)
}

// readHex reads a hex value, also as 0xRRGGBB.
func readHex(s string) ([3]uint8, bool) {
	s = strings.TrimSpace(s)
	if len(s) == 8 && (strings.HasPrefix(s, "0x") || strings.HasPrefix(s, "0X")) {
		s = s[2:]
	}
	return lab.ParseHex(s)
}

func short(v float64) string { return strconv.FormatFloat(v, 'g', 6, 64) }
