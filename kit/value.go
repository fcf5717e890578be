package kit

import (
	"errors"
	"math"
	"strconv"
	"strings"

	"kitwright/internal/say"
	"kitwright/internal/wording"
)

// Cells is a size in drills. The zero value means that none was given.
type Cells struct{ Cols, Rows int }

func (c *Cells) String() string {
	if *c == (Cells{}) {
		return ""
	}
	return strconv.Itoa(c.Cols) + "x" + strconv.Itoa(c.Rows)
}

// Set reads "120x160"; "" means none.
func (c *Cells) Set(s string) error {
	if s == "" {
		*c = Cells{}
		return nil
	}
	w, h, ok := strings.Cut(strings.ToLower(s), "x")
	cols, err1 := strconv.Atoi(strings.TrimSpace(w))
	rows, err2 := strconv.Atoi(strings.TrimSpace(h))
	if !ok || err1 != nil || err2 != nil || cols < 1 || rows < 1 {
		return say.Usage("", "%q is not a number of drills across and down, such as 120x160", s)
	}
	*c = Cells{cols, rows}
	return nil
}

// Type names the value in help.
func (c *Cells) Type() string { return "COLSxROWS" }

// Box is a part of the upright photo in percent of its width and height, from
// the top left. The zero value means that none was given.
type Box struct{ X, Y, W, H float64 }

func (b *Box) String() string {
	if *b == (Box{}) {
		return ""
	}
	return formatNumber(b.X) + "," + formatNumber(b.Y) + "," + formatNumber(b.W) + "," + formatNumber(b.H)
}

// Words writes the box for a person, to a hundredth of a percent: what was
// drawn or computed from cells and pixels may have seventeen digits.
func (b Box) Words() string {
	var parts []string
	for _, v := range []float64{b.X, b.Y, b.W, b.H} {
		parts = append(parts, formatNumber(math.Round(v*100)/100))
	}
	return strings.Join(parts, ",")
}

// BoxColumns and BoxRows are the grid by which a part of a photo may be named:
// columns A to T, rows 1 to 20 from the top.
const BoxColumns, BoxRows = 20, 20

// gridBox reads a part named by its first and last cell of the grid, as in
// "C4-P19", or by its only one.
func gridBox(s string) (Box, bool) {
	cell := func(s string) (x, y int, ok bool) {
		s = strings.ToUpper(strings.TrimSpace(s))
		if s == "" || s[0] < 'A' || s[0] >= 'A'+BoxColumns || strings.Trim(s[1:], "0123456789") != "" {
			return 0, 0, false
		}
		row, err := strconv.Atoi(s[1:])
		return int(s[0] - 'A'), row - 1, err == nil && row >= 1 && row <= BoxRows
	}
	first, last, two := strings.Cut(s, "-")
	if !two {
		last = first
	}
	x0, y0, ok0 := cell(first)
	x1, y1, ok1 := cell(last)
	if !ok0 || !ok1 {
		return Box{}, false
	}
	x0, x1, y0, y1 = min(x0, x1), max(x0, x1), min(y0, y1), max(y0, y1)
	const w, h = 100 / BoxColumns, 100 / BoxRows
	return Box{float64(w * x0), float64(h * y0), float64(w * (x1 - x0 + 1)), float64(h * (y1 - y0 + 1))}, true
}

// Set reads "BOX" in percent, or "C4-P19" by the grid; "" means none.
func (b *Box) Set(s string) error {
	if s == "" {
		*b = Box{}
		return nil
	}
	if named, ok := gridBox(s); ok {
		*b = named
		return nil
	}
	v, ok := numbers(s)
	if !ok || len(v) != 4 {
		return say.Usage("", "%q is not four numbers in percent: left, top, width, height, such as 10,5,80,90, nor two cells of the grid that kitwright look draws, such as C4-P19", s)
	}
	box := Box{v[0], v[1], v[2], v[3]}
	if err := box.check(); err != nil {
		return err
	}
	*b = box
	return nil
}

// Type names the value in help.
func (b *Box) Type() string { return "BOX" }

// check wants a box with an area that lies inside the photo.
func (b Box) check() error {
	const slack = 1e-9 // 33.3 + 66.7 may be a hair over 100
	switch {
	case !(b.W > 0 && b.H > 0):
		return say.Usage("", "its width and height must be above 0 percent")
	case b.X < 0 || b.Y < 0 || b.X+b.W > 100+slack || b.Y+b.H > 100+slack:
		return say.Usage("", "it reaches outside the photo, which is 0 to 100 percent across and down")
	}
	return nil
}

// numbers reads finite decimal numbers with commas between them.
func numbers(s string) ([]float64, bool) {
	parts := strings.Split(s, ",")
	out := make([]float64, len(parts))
	for i, p := range parts {
		v, ok := number(p)
		if !ok {
			return nil, false
		}
		out[i] = v
	}
	return out, true
}

func number(s string) (float64, bool) {
	v, err := strconv.ParseFloat(strings.TrimSpace(s), 64)
	return v, err == nil && !math.IsNaN(v) && !math.IsInf(v, 0)
}

func formatNumber(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }

// colorCount is a pflag.Value for a number of colors, or auto.
type colorCount struct{ to *int }

func (c colorCount) String() string {
	if c.to == nil || *c.to == AutoColors {
		return "auto"
	}
	return strconv.Itoa(*c.to)
}

func (c colorCount) Set(s string) error {
	if s == "auto" {
		*c.to = AutoColors
		return nil
	}
	v, err := strconv.Atoi(strings.TrimSpace(s))
	if err != nil {
		return say.Usage("", "%q is not a whole number, nor auto", s)
	}
	if v == AutoColors {
		return say.Usage("20 to 40 colors suit most pets", "it takes %d to %d, or auto", MinColors, MaxColors)
	}
	*c.to = v
	return nil
}

func (c colorCount) Type() string { return "N|auto" }

// text is a pflag.Value for any words.
type text struct {
	to   *string
	kind string
}

func (t text) String() string {
	if t.to == nil {
		return ""
	}
	return *t.to
}
func (t text) Set(s string) error { *t.to = s; return nil }
func (t text) Type() string       { return t.kind }

// line is text that is printed, on one line and of a length that a page holds.
type line struct{ text }

func (l line) Set(s string) error {
	if err := checkWords(wording.Title, s); err != nil {
		return err
	}
	return l.text.Set(s)
}

// captionLines is text in drills, of one line or of two with a line break
// between, which may also be written as \n, as no form or shell makes that hard.
type captionLines struct{ text }

func (c captionLines) Set(s string) error {
	s = strings.NewReplacer("\r\n", "\n", `\n`, "\n").Replace(s)
	for part := range strings.SplitSeq(s, "\n") {
		if err := checkWords(wording.Caption, part); err != nil {
			return err
		}
	}
	return c.text.Set(s)
}

func (c captionLines) String() string { return strings.ReplaceAll(c.text.String(), "\n", `\n`) }

// checkWords says what is wrong with words given as a setting.
func checkWords(kind wording.Kind, s string) error {
	err := kind.Check(s)
	var said *say.Error
	if errors.As(err, &said) {
		return say.Usage(said.Try, "%s", said.What)
	}
	return err
}

// cardName is the name of a card, or the path of its file.
type cardName struct{ text }

func (c cardName) Set(s string) error {
	switch {
	case strings.TrimSpace(s) == "":
		return say.Usage("kitwright card list names the built-in ones", "no card is named")
	case s != wording.Printable(s):
		return say.Usage("rename the file", "the card's name holds characters that cannot be printed")
	}
	return c.text.Set(s)
}
