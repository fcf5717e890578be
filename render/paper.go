package render

import (
	"strings"

	"kitwright/internal/measure"
	"kitwright/internal/say"
	"kitwright/internal/setting"
)

// Paper is a sheet of paper, upright or as it was given.
type Paper struct {
	Name string // "" if only a size was given
	Size measure.Size
}

// papers are the sheets that have a name: A sizes by ISO 216, the others by
// ANSI/ASME Y14.1 (Letter is its A, Tabloid its B) and common North American
// use (Legal).
var papers = []Paper{
	{"a4", measure.Size{W: 210 * measure.Millimeter, H: 297 * measure.Millimeter}},
	{"letter", measure.Size{W: 215900, H: 279400}},
	{"a3", measure.Size{W: 297 * measure.Millimeter, H: 420 * measure.Millimeter}},
	{"legal", measure.Size{W: 215900, H: 355600}},
	{"tabloid", measure.Size{W: 279400, H: 431800}},
}

func paperNamed(name string) Paper {
	for _, p := range papers {
		if p.Name == name {
			return p
		}
	}
	return Paper{}
}

func (p *Paper) String() string {
	if p.Name != "" {
		return p.Name
	}
	return p.Size.String()
}

// Set reads a name or a size.
func (p *Paper) Set(s string) error {
	if named := paperNamed(strings.ToLower(strings.TrimSpace(s))); named.Name != "" {
		*p = named
		return nil
	}
	z, err := measure.ParseSize(s)
	if err != nil || !z.Given() {
		return say.Usage("choose a4, letter, a3, legal or tabloid, or write a size as in 20x30cm", "%q is not a paper", s)
	}
	*p = Paper{Size: z}
	return nil
}

func (p *Paper) Type() string { return "NAME|WxH" }

// label returns the paper's name as people write it.
func (p Paper) label(u Units) string {
	switch p.Name {
	case "":
		return sizeText(p.Size.W, p.Size.H, u)
	case "a3", "a4":
		return strings.ToUpper(p.Name)
	}
	return strings.ToUpper(p.Name[:1]) + p.Name[1:]
}

// LabelSheet is the geometry of a sheet of labels. The zero value means "plain
// paper with cut lines".
type LabelSheet struct {
	Label        measure.Size
	Across, Down int
	Left, Top    measure.Length // upper left corner of the first label
	GapX, GapY   measure.Length // between labels
}

func (l *LabelSheet) String() string {
	if *l == (LabelSheet{}) {
		return ""
	}
	mm := func(a, b measure.Length) string {
		return a.In(measure.Millimeter) + "x" + b.In(measure.Millimeter) + "mm"
	}
	return mm(l.Label.W, l.Label.H) + "," + measure.Length(l.Across).In(1) + "x" + measure.Length(l.Down).In(1) +
		"," + mm(l.Left, l.Top) + "," + mm(l.GapX, l.GapY)
}

// Set reads "63.5x38.1mm,3x7,7.2x15.1mm,2.5x0mm": the label, how many across
// and down, the corner of the first, the gaps, which may be left out if there
// are none. The empty text is plain paper.
func (l *LabelSheet) Set(s string) error {
	if strings.TrimSpace(s) == "" {
		*l = LabelSheet{}
		return nil
	}
	bad := say.Usage("write label size, number across x down, corner of the first and gaps, as in 63.5x38.1mm,3x7,7.2x15.1mm,2.5x0mm",
		"%q is not a label sheet", s)
	parts := strings.Split(s, ",")
	if len(parts) < 3 || len(parts) > 4 {
		return bad
	}
	var v LabelSheet
	var err error
	if v.Label, err = measure.ParseSize(parts[0]); err != nil || !v.Label.Given() {
		return bad
	}
	across, down, _ := strings.Cut(strings.ToLower(strings.TrimSpace(parts[1])), "x")
	var okA, okD bool
	v.Across, okA = setting.WholeNumber(across, 100)
	v.Down, okD = setting.WholeNumber(down, 100)
	if !okA || !okD || v.Across == 0 || v.Down == 0 {
		return bad
	}
	if v.Left, v.Top, err = pair(parts[2]); err != nil {
		return bad
	}
	if len(parts) == 4 {
		if v.GapX, v.GapY, err = pair(parts[3]); err != nil {
			return bad
		}
	}
	*l = v
	return nil
}

func (l *LabelSheet) Type() string { return "WxH,NxN,X,Y,..." }

// pair reads "7.2x15.1mm": two lengths, either of which may be zero.
func pair(s string) (a, b measure.Length, err error) {
	first, second, _ := strings.Cut(strings.ToLower(strings.TrimSpace(s)), "x")
	if b, err = measure.ParseLength(second); err != nil {
		return 0, 0, err
	}
	if a, err = measure.ParseLength(first); err != nil {
		// "7.2x15.1mm": the unit of the second serves both
		unit := strings.TrimLeft(strings.TrimSpace(second), "0123456789. ")
		a, err = measure.ParseLength(first + unit)
	}
	return a, b, err
}
