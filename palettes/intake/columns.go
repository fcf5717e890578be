package intake

import (
	"strconv"
	"strings"
	"unicode"

	"kitwright/internal/say"
)

// role is what a column holds.
type role int

const (
	other role = iota
	codeRole
	nameRole
	finishRole
	hexRole
	rgbRole // all three in a cell
	redRole
	greenRole
	blueRole
	labRole // all three in a cell
	lRole
	aRole
	bRole
	roles
)

var roleNames = [roles]string{
	codeRole: "code", nameRole: "name", finishRole: "finish", hexRole: "hex", rgbRole: "rgb",
	redRole: "R", greenRole: "G", blueRole: "B", labRole: "lab", lRole: "L", aRole: "a", bRole: "b",
}

// known are the headers that need no guess, folded by plainWord, in English
// and in languages that cards come in. Of two columns for one role, the
// earlier in this list wins.
var known = []struct {
	role  role
	words string
}{
	{codeRole, "code colorcode colourcode drillcode farbcode codecouleur codigo codice kode kod код"},
	{codeRole, "number colornumber colournumber colorno colourno no nr num nummer farbnummer farbnr numero номер 色号 编号"},
	{codeRole, "id colorid sampleid item itemno sku article articleno art artnr ref reference артикул"},
	{nameRole, "name colorname colourname samplename farbname nom nombre nome naam navn namn название имя 名称"},
	{nameRole, "description title bezeichnung beschreibung"},
	{finishRole, "finish surface effect coating oberflache finition acabado finitura type typ"},
	{hexRole, "hex hexcode hexrgb rgbhex colorhex hexcolor hexcolour html htmlcode web hexwert"},
	{rgbRole, "rgb srgb rgbcode rgbvalue"},
	{redRole, "r red rgbr srgbr rot rouge rojo rosso"},
	{greenRole, "g green rgbg srgbg grun vert verde"},
	{blueRole, "blue rgbb srgbb blau bleu azul blu"},
	{labRole, "lab cielab"},
	{lRole, "l labl ciel lstar"},
	{aRole, "a laba ciea astar"},
	{bRole, "b labb cieb bstar"},
	{other, "color colour farbe couleur kleur цвет"}, // code, name or hex: the cells tell
}

// plainWord folds a header: small letters, no marks, no accents of the usual
// kinds, no white and nothing in parentheses in it.
func plainWord(header string) string {
	header = strings.NewReplacer("L*", "l", "a*", "a", "b*", "b", "é", "e", "ü", "u", "ö", "o", "ä", "a", "ñ", "n", "í", "i", "ó", "o", "№", "no").Replace(strings.TrimSpace(header))
	header = strings.ToLower(header)
	if word, _, more := strings.Cut(header, "("); more && strings.TrimSpace(word) != "" {
		header = word // "RGB (0-255)", "Color (English)"
	}
	for _, white := range []string{"d50", "d65", "cie1976", "2°"} {
		header = strings.ReplaceAll(header, white, "")
	}
	return strings.Map(func(c rune) rune {
		if unicode.IsLetter(c) || unicode.IsDigit(c) {
			return c
		}
		return -1
	}, header)
}

// columns says which column holds what; -1 where none does.
type columns [roles]int

func noColumns() (c columns) {
	for i := range c {
		c[i] = -1
	}
	return c
}

func (c columns) color() bool {
	return c[hexRole] >= 0 || c[rgbRole] >= 0 || c[labRole] >= 0 || c.rgb() || c.lab()
}
func (c columns) rgb() bool { return c[redRole] >= 0 && c[greenRole] >= 0 && c[blueRole] >= 0 }
func (c columns) lab() bool { return c[lRole] >= 0 && c[aRole] >= 0 && c[bRole] >= 0 }

func (c columns) uses(i int) bool {
	for r := codeRole; r < roles; r++ {
		if c[r] == i {
			return true
		}
	}
	return false
}

// byHeader reads a row as a header: the columns whose words are known, and
// those called "color", which may be anything.
func byHeader(row []string) (c columns, vague []int) {
	c = noColumns()
	words := make([]string, len(row))
	for i, cell := range row {
		words[i] = plainWord(cell)
	}
	for _, k := range known {
		set := " " + k.words + " "
		for i, w := range words {
			if w == "" || !strings.Contains(set, " "+w+" ") {
				continue
			}
			switch {
			case k.role == other:
				vague = append(vague, i)
			case c[k.role] < 0 && !c.uses(i):
				c[k.role] = i
			}
		}
	}
	// A column b after r and g is blue, if there is no L and a, or another b.
	if c[redRole] >= 0 && c[greenRole] >= 0 && c[blueRole] < 0 {
		for i, w := range words {
			if w == "b" && i > c[greenRole] && (c[lRole] < 0 || c[aRole] < 0 || i < c[aRole] || c[bRole] != i) {
				c[blueRole] = i
				break
			}
		}
		if c[bRole] == c[blueRole] && c[blueRole] >= 0 {
			c[bRole] = -1
			for i, w := range words {
				if w == "b" && i != c[blueRole] && c[aRole] >= 0 && i > c[aRole] {
					c[bRole] = i
					break
				}
			}
		}
	}
	return c, vague
}

// asked reads Options.Columns over what is known: "code=2,hex=5", a column
// being a number from 1, a spreadsheet's letter, or what its header says.
func (c *columns) asked(text string, header []string, width int) error {
	const hint = "write it as code=2,hex=5 or code=A,name=B,L=D,a=E,b=F; the names are code, name, finish, hex, rgb, R, G, B, lab, L, a, b"
	for _, part := range strings.Split(text, ",") {
		title, where, ok := strings.Cut(part, "=")
		title, where = strings.TrimSpace(title), strings.TrimSpace(where)
		r := other
		for i := codeRole; i < roles; i++ {
			if title == roleNames[i] || r == other && strings.EqualFold(title, roleNames[i]) && i != redRole && i != greenRole && i != blueRole {
				r = i
			}
		}
		if r == other && (title == "r" || title == "g") {
			r = map[string]role{"r": redRole, "g": greenRole}[title]
		}
		if !ok || r == other {
			return say.Usage(hint, "{columns}: %q names no column", part)
		}
		at := column(where, header)
		if at < 0 || at >= width {
			return say.Usage(hint, "{columns}: there is no column %q; the table has %d", where, width)
		}
		(*c)[r] = at
	}
	return nil
}

func column(where string, header []string) int {
	for i, h := range header {
		if h != "" && strings.EqualFold(strings.TrimSpace(h), where) {
			return i
		}
	}
	if n, err := strconv.Atoi(where); err == nil {
		return n - 1
	}
	if where == "" || len(where) > 2 {
		return -1
	}
	n := 0
	for _, c := range strings.ToUpper(where) {
		if c < 'A' || c > 'Z' {
			return -1
		}
		n = n*26 + int(c-'A') + 1
	}
	return n - 1
}
