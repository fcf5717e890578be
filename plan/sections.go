package plan

import (
	"encoding/csv"
	"io"
	"strconv"

	"kitwright/chart"
	"kitwright/internal/wording"
)

// Plan is the work on a chart: sections, each with its colors in the order of
// setting, and the order of the sections.
type Plan struct {
	Chart        *chart.Chart
	Options      Options
	Across, Down int       // sections
	Sections     []Section // row by row from the top left
	Order        []int     // indices of Sections, the first to be worked on first
	Fetches      int       // how often a container is taken up: a color that goes on in the next section counts once
}

// Section is a block of the canvas that is worked on at one go.
type Section struct {
	Name     string // a letter for the column, a number for the row from the top: "B3"
	Col, Row int    // its place among the sections, from 0
	Box      chart.Box
	Work     []Task // its colors, in the order of setting
	Lone     int    // drills without a like neighbor, seen on the whole chart
	Presses  int    // with the multi-placers at hand
	Confetti bool   // it has so many lone drills that it wants patience
}

// Drills returns how many drills a section has.
func (s Section) Drills() int { return s.Box.W * s.Box.H }

// Task is one color of a section.
type Task struct {
	Color   int // index into the chart's legend
	Drills  int
	Lone    int
	Presses int
	Ready   bool // its container is on the table: the section before ended with it
}

// A section counts as heavy with confetti if at least this share of its drills
// is lone, or twice the share of the whole picture and never less than the
// second. Our choice.
const (
	heavyShare = 0.10
	leastShare = 0.03
)

// Of plans the work on a chart. The plan of the same chart and options is the
// same, always.
func Of(c *chart.Chart, o Options) *Plan {
	cols, rows := o.cuts(c.Cols, true), o.cuts(c.Rows, false)
	p := &Plan{Chart: c, Options: o, Across: len(cols), Down: len(rows)}
	lone, all := newPresses(o.Tips), 0
	for r, down := range rows {
		for q, across := range cols {
			s := Section{Name: sectionName(q, r), Col: q, Row: r, Box: chart.Box{X: across[0], Y: down[0], W: across[1] - across[0], H: down[1] - down[0]}}
			p.fill(&s, lone)
			all += s.Lone
			p.Sections = append(p.Sections, s)
		}
	}
	for i := range p.Sections {
		s := &p.Sections[i]
		share, mean := float64(s.Lone)/float64(s.Drills()), float64(all)/float64(c.Drills())
		s.Confetti = share >= heavyShare || share >= leastShare && share >= 2*mean
	}
	p.Order = o.Order(p.Across, p.Down)
	p.chain()
	return p
}

// fill counts what a section holds.
func (p *Plan) fill(s *Section, cover *presses) {
	c := p.Chart
	tasks := make([]Task, len(c.Legend))
	for y := s.Box.Y; y < s.Box.Y+s.Box.H; y++ {
		for x := s.Box.X; x < s.Box.X+s.Box.W; x++ {
			t := &tasks[c.Cells[y*c.Cols+x]]
			t.Drills++
			if c.Lone(x, y) {
				t.Lone++
				s.Lone++
			}
		}
	}
	for _, patch := range patches(c, s.Box) {
		n := cover.of(patch)
		tasks[patch.color].Presses += n
		s.Presses += n
	}
	for i, t := range tasks {
		if t.Drills > 0 {
			t.Color = i
			s.Work = append(s.Work, t)
		}
	}
}

// sectionName names a section by letters for its column and a number for its
// row: A to Z, then AA.
func sectionName(col, row int) string {
	name := ""
	for n := col + 1; n > 0; n = (n - 1) / 26 {
		name = string(rune('A'+(n-1)%26)) + name
	}
	return name + strconv.Itoa(row+1)
}

// cuts divides n drills of a chart across or down into sections: from and to,
// each. Sections of a length are alike and their edges lie on every tenth line,
// which the canvas shows, where the length leaves a choice; of a number of
// drills they are as long as asked, and the last is what is left.
func (o Options) cuts(n int, across bool) (out [][2]int) {
	side, length := o.Section.Rows, o.Section.Size.H
	if across {
		side, length = o.Section.Cols, o.Section.Size.W
	}
	if side > 0 {
		for at := 0; at < n; at += side {
			out = append(out, [2]int{at, min(at+side, n)})
		}
		return out
	}
	const bold = 10
	parts := max(1, nearest(n*int(o.Pitch), int(length)))
	unit := bold
	if n/parts < bold {
		unit = 1
	}
	at := 0
	for i := 1; i <= parts; i++ {
		to := unit * nearest(i*n, parts*unit)
		if i == parts {
			to = n
		}
		if to > at {
			out = append(out, [2]int{at, to})
			at = to
		}
	}
	return out
}

// nearest returns a/b to the nearest whole number, halves up.
func nearest(a, b int) int { return (2*a + b) / (2 * b) }

// Drills returns how many drills the chart has.
func (p *Plan) Drills() int { return p.Chart.Drills() }

// Presses returns how often the pen goes down with the multi-placers at hand;
// one drill at a time it would go down once for each.
func (p *Plan) Presses() (n int) {
	for _, s := range p.Sections {
		n += s.Presses
	}
	return n
}

// Find returns the section of a name, in any case of letters.
func (p *Plan) Find(name string) (section int, ok bool) {
	col, at := 0, 0
	for ; at < len(name) && at < 3; at++ {
		letter := name[at] &^ ('a' - 'A')
		if letter < 'A' || letter > 'Z' {
			break
		}
		col = col*26 + int(letter-'A') + 1
	}
	row, ok := whole(name[at:])
	if !ok || col < 1 || col > p.Across || row < 1 || row > p.Down || name[at] == ' ' {
		return 0, false
	}
	return (row-1)*p.Across + col - 1, true
}

// Steps returns when each section is worked on, from 1.
func (p *Plan) Steps() []int {
	steps := make([]int, len(p.Sections))
	for n, i := range p.Order {
		steps[i] = n + 1
	}
	return steps
}

// WriteCSV writes a row for every color of every section, in the order of
// work. Columns and rows of drills count from 1 at the top left; lone are
// drills without a like neighbor; ready says that the color's container is on
// the table already.
func (p *Plan) WriteCSV(w io.Writer) error {
	out := csv.NewWriter(w)
	out.Write([]string{"step", "section", "left", "top", "right", "bottom", "number", "symbol", "code", "finish", "drills", "lone", "presses", "ready", "confetti"})
	for n, i := range p.Order {
		s := p.Sections[i]
		for _, t := range s.Work {
			e := p.Chart.Legend[t.Color]
			out.Write([]string{
				strconv.Itoa(n + 1), s.Name,
				strconv.Itoa(s.Box.X + 1), strconv.Itoa(s.Box.Y + 1), strconv.Itoa(s.Box.X + s.Box.W), strconv.Itoa(s.Box.Y + s.Box.H),
				strconv.Itoa(e.Number), string(e.Symbol.Rune), wording.Cell(e.Drill.Code), wording.Cell(string(e.Drill.Finish)),
				strconv.Itoa(t.Drills), strconv.Itoa(t.Lone), strconv.Itoa(t.Presses), strconv.FormatBool(t.Ready), strconv.FormatBool(s.Confetti),
			})
		}
	}
	out.Flush()
	return out.Error()
}
