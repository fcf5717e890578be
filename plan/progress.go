package plan

import (
	"slices"
	"strconv"

	"kitwright/internal/say"
)

// Progress is a plan together with what is set of it.
type Progress struct {
	Plan  *Plan
	Log   *Log
	Unfit []Tick // ticks about places that the chart does not have

	set   []bool  // a cell: the drill that the chart wants is there
	stray []int32 // a cell: a drill of another color is there, as an index of codes from 1
	codes []string
	left  [][]int // a section, by its tasks' colors: drills that are not set
	total int     // drills that are set
}

// On says how far a plan has come.
func (l *Log) On(p *Plan) *Progress {
	g := &Progress{Plan: p, Log: l}
	c := p.Chart
	there := make([]int32, len(c.Cells)) // what lies in each cell
	index := map[string]int32{}
	for _, t := range l.InForce() {
		b := t.Box
		if b.X+b.W > c.Cols || b.Y+b.H > c.Rows {
			g.Unfit = append(g.Unfit, t)
			continue
		}
		for _, m := range t.Marks {
			id := index[m.Code]
			if id == 0 {
				g.codes = append(g.codes, m.Code)
				id = int32(len(g.codes))
				index[m.Code] = id
			}
			if t.Act == Open {
				id = 0
			}
			for _, i := range m.Cells {
				there[(b.Y+i/b.W)*c.Cols+b.X+i%b.W] = id
			}
		}
	}
	g.set, g.stray = make([]bool, len(there)), make([]int32, len(there))
	wanted := make([]int32, len(c.Legend))
	for i, e := range c.Legend {
		wanted[i] = index[e.Drill.Address()]
	}
	for i, id := range there {
		switch {
		case id == 0:
		case id == wanted[c.Cells[i]]:
			g.set[i] = true
			g.total++
		default:
			g.stray[i] = id
		}
	}
	for _, s := range p.Sections {
		left := make([]int, len(c.Legend))
		g.visit(s, func(i, _ int) {
			if !g.set[i] {
				left[c.Cells[i]]++
			}
		})
		g.left = append(g.left, left)
	}
	return g
}

// visit goes through the drills of a section: their places in the chart and in
// the section.
func (g *Progress) visit(s Section, do func(cell, place int)) {
	for y := range s.Box.H {
		for x := range s.Box.W {
			do((s.Box.Y+y)*g.Plan.Chart.Cols+s.Box.X+x, y*s.Box.W+x)
		}
	}
}

// Set returns how many drills are set as the chart wants them.
func (g *Progress) Set() int { return g.total }

// IsSet says whether the drill in column x and row y, from 0, is set.
func (g *Progress) IsSet(x, y int) bool { return g.set[y*g.Plan.Chart.Cols+x] }

// Left returns how many drills are still to be set.
func (g *Progress) Left() int { return g.Plan.Drills() - g.total }

// LeftIn returns how many drills of a section are still to be set, and of one
// of its colors.
func (g *Progress) LeftIn(section int) (n int) {
	for _, v := range g.left[section] {
		n += v
	}
	return n
}

// LeftOf returns how many drills of a color are still to be set in a section.
func (g *Progress) LeftOf(section, color int) int { return g.left[section][color] }

// Tasks returns the colors of a section that are not all set, in the order of
// setting, with the drills that are left.
func (g *Progress) Tasks(section int) (out []Task) {
	for _, t := range g.Plan.Sections[section].Work {
		if n := g.left[section][t.Color]; n > 0 {
			t.Presses = (t.Presses*n + t.Drills - 1) / t.Drills
			t.Drills = n
			out = append(out, t)
		}
	}
	return out
}

// Next returns the sections that are not done, in the order of work.
func (g *Progress) Next() (sections []int) {
	for _, i := range g.Plan.Order {
		if g.LeftIn(i) > 0 {
			sections = append(sections, i)
		}
	}
	return sections
}

// Stray is drills that were set in one color and that the chart wants in
// another since: it was edited, or made again.
type Stray struct {
	Section int
	Code    string // that lies there
	Color   int    // that the chart wants: an index into its legend
	Drills  int
}

// Strays returns what was set and does not fit any more, section by section.
func (g *Progress) Strays() (out []Stray) {
	for n, s := range g.Plan.Sections {
		count := map[[2]int]int{}
		var keys [][2]int
		g.visit(s, func(i, _ int) {
			if g.stray[i] == 0 {
				return
			}
			k := [2]int{int(g.stray[i]), int(g.Plan.Chart.Cells[i])}
			if count[k] == 0 {
				keys = append(keys, k)
			}
			count[k]++
		})
		slices.SortFunc(keys, func(a, b [2]int) int { return slices.Compare(a[:], b[:]) })
		for _, k := range keys {
			out = append(out, Stray{n, g.codes[k[0]-1], k[1], count[k]})
		}
	}
	return out
}

// Mark returns the tick that sets everything that is left of some colors of a
// section, all of them if none are named, or with Open takes everything back
// that is set of them.
func (g *Progress) Mark(act Act, section int, colors ...int) (Tick, error) {
	p, s := g.Plan, g.Plan.Sections[section]
	for _, c := range colors {
		if !slices.ContainsFunc(s.Work, func(t Task) bool { return t.Color == c }) {
			return Tick{}, say.Usage("plan.pdf lists the colors of each section", "%s has no drill of %s", s.Name, g.named([]int{c}))
		}
	}
	t := Tick{Act: act, Section: s.Name, Box: s.Box}
	for _, task := range s.Work {
		if len(colors) > 0 && !slices.Contains(colors, task.Color) {
			continue
		}
		m := Mark{Code: p.Chart.Legend[task.Color].Drill.Address()}
		g.visit(s, func(i, place int) {
			if int(p.Chart.Cells[i]) == task.Color && g.set[i] == (act == Open) {
				m.Cells = append(m.Cells, place)
			}
		})
		if len(m.Cells) > 0 {
			m.Presses = (task.Presses*len(m.Cells) + task.Drills - 1) / task.Drills
			t.Marks = append(t.Marks, m)
		}
	}
	switch {
	case len(t.Marks) > 0:
		return t, nil
	case act == Open:
		return t, say.Usage("kitwright left KIT shows what is set", "nothing of that is ticked in %s", s.Name)
	case len(colors) == 0 || g.LeftIn(section) == 0:
		return t, say.Usage("kitwright left KIT shows what is left; {undo} takes a wrong tick back", "all of %s is ticked already", s.Name)
	}
	return t, say.Usage("kitwright left KIT shows what is left; {undo} takes a wrong tick back", "%s is ticked already in %s", g.named(colors), s.Name)
}

// MarkRun returns the tick that sets what is left of one run, that of the drill
// in column x and row y, from 0, or with Open takes back what is set of it.
func (g *Progress) MarkRun(act Act, section, x, y int) (Tick, error) {
	p, s := g.Plan, g.Plan.Sections[section]
	t := Tick{Act: act, Section: s.Name, Box: s.Box}
	for _, r := range p.Runs(section) {
		w, h := r.Length, 1
		if r.Down {
			w, h = 1, r.Length
		}
		if x < r.X || x >= r.X+w || y < r.Y || y >= r.Y+h {
			continue
		}
		m := Mark{Code: p.Chart.Legend[r.Color].Drill.Address(), Presses: len(r.Tips)}
		for b := r.Y; b < r.Y+h; b++ {
			for a := r.X; a < r.X+w; a++ {
				if g.IsSet(a, b) == (act == Open) {
					m.Cells = append(m.Cells, (b-s.Box.Y)*s.Box.W+a-s.Box.X)
				}
			}
		}
		if len(m.Cells) > 0 {
			t.Marks = append(t.Marks, m)
			return t, nil
		}
	}
	if act == Open {
		return t, say.Usage("choose one that is set", "nothing of that run is ticked in %s", s.Name)
	}
	return t, say.Usage("choose one that is not set", "that run is ticked already in %s", s.Name)
}

// named names colors as they stand on paper: "no. 12 (SR-041)".
func (g *Progress) named(colors []int) string {
	out := ""
	for i, c := range colors {
		if i > 0 {
			out += ", "
		}
		e := g.Plan.Chart.Legend[c]
		out += "no. " + strconv.Itoa(e.Number) + " (" + e.Drill.Address() + ")"
	}
	return out
}

// Drills returns how many drills a tick is about.
func (t Tick) Drills() (n int) {
	for _, m := range t.Marks {
		n += len(m.Cells)
	}
	return n
}

// Last returns the tick that an undo would take back, false if there is none.
func (l *Log) Last() (Tick, bool) {
	force := l.InForce()
	if len(force) == 0 {
		return Tick{}, false
	}
	return force[len(force)-1], true
}
