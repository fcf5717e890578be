package plan

import (
	"kitwright/chart"
)

// Run is neighboring drills of one color that lie in a row or, where Down is
// set, in a column of one section, and the multi-placers that set them with the
// fewest presses, from the left or the top.
type Run struct {
	Color        int // index into the chart's legend
	X, Y, Length int
	Down         bool
	Tips         []int
}

// patch is a connected part of one color inside a section: each of its drills
// has a like neighbor above, below, left or right, or it is alone.
type patch struct {
	color int
	box   chart.Box // of the section
	in    []int32   // a drill of the section: the number of its patch
	id    int32
	cells []int // its drills, as places in the section
}

// patches returns the patches of a section, by their first drill from the top
// left.
func patches(c *chart.Chart, box chart.Box) []patch {
	in := make([]int32, box.W*box.H)
	at := func(i int) uint16 { return c.Cells[(box.Y+i/box.W)*c.Cols+box.X+i%box.W] }
	var out []patch
	for i := range in {
		if in[i] != 0 {
			continue
		}
		id := int32(len(out) + 1)
		cells := []int{i}
		in[i] = id
		color := at(i)
		for n := 0; n < len(cells); n++ {
			j := cells[n]
			x := j % box.W
			for _, k := range [4]int{j - box.W, j - 1, j + 1, j + box.W} {
				if k < 0 || k >= len(in) || k == j-1 && x == 0 || k == j+1 && x == box.W-1 || in[k] != 0 || at(k) != color {
					continue
				}
				in[k] = id
				cells = append(cells, k)
			}
		}
		out = append(out, patch{int(color), box, in, id, cells})
	}
	return out
}

// runs returns the rows or the columns of a patch.
func (p patch) runs(down bool) []Run {
	step, span := 1, p.box.W
	if down {
		step, span = p.box.W, p.box.H
	}
	along := func(i int) int { // how far a drill lies along its row or column
		if down {
			return i / p.box.W
		}
		return i % p.box.W
	}
	is := func(i int) bool { return p.in[i] == p.id }
	var out []Run
	for _, i := range p.sorted() {
		if along(i) > 0 && is(i-step) {
			continue // not the first
		}
		n := 1
		for along(i)+n < span && is(i+n*step) {
			n++
		}
		out = append(out, Run{Color: p.color, X: p.box.X + i%p.box.W, Y: p.box.Y + i/p.box.W, Length: n, Down: down})
	}
	return out
}

// sorted returns the drills of a patch from the top left.
func (p patch) sorted() []int {
	if len(p.cells) == 1 {
		return p.cells
	}
	out := make([]int, 0, len(p.cells))
	for i := p.cells[0]; len(out) < len(p.cells); i++ { // the first is the topmost
		if p.in[i] == p.id {
			out = append(out, i)
		}
	}
	return out
}

// presses knows the fewest presses for runs of any length.
type presses struct {
	sizes []int
	few   []int // by length
}

func newPresses(t Tips) *presses { return &presses{sizes: t.Sizes(), few: []int{0}} }

// fewest returns the fewest presses for a run. Taking the largest first is not
// always best: ten drills by 7, 5 and 1 take two presses, not four.
func (p *presses) fewest(n int) int {
	for m := len(p.few); m <= n; m++ {
		least := m
		for _, size := range p.sizes {
			if size <= m {
				least = min(least, p.few[m-size]+1)
			}
		}
		p.few = append(p.few, least)
	}
	return p.few[n]
}

// cover returns multi-placers that set a run with the fewest presses, large
// ones first where there is a choice.
func (p *presses) cover(n int) (tips []int) {
	left := p.fewest(n)
	for largest := len(p.sizes) - 1; n > 0; {
		size := p.sizes[largest]
		if size > n || p.few[n-size] != left-1 {
			largest--
			continue
		}
		tips, n, left = append(tips, size), n-size, left-1
	}
	return tips
}

// of returns the fewest presses for a patch that is set along its rows or along
// its columns.
func (p *presses) of(q patch) int { n, _ := p.along(q); return n }

// along says whether a patch takes fewer presses along its columns.
func (p *presses) along(q patch) (n int, down bool) {
	if len(q.cells) == 1 {
		return 1, false
	}
	rows, cols := 0, 0
	for _, r := range q.runs(false) {
		rows += p.fewest(r.Length)
	}
	for _, r := range q.runs(true) {
		cols += p.fewest(r.Length)
	}
	return min(rows, cols), cols < rows
}

// Runs returns the drills of one section as runs, patch by patch: each patch of
// a color along its rows or along its columns, whichever takes fewer presses,
// rows where both take as many. Together they cover every drill once.
func (p *Plan) Runs(section int) []Run {
	cover := newPresses(p.Options.Tips)
	var out []Run
	for _, q := range patches(p.Chart, p.Sections[section].Box) {
		_, down := cover.along(q)
		for _, r := range q.runs(down) {
			r.Tips = cover.cover(r.Length)
			out = append(out, r)
		}
	}
	return out
}
