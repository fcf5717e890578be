package render

import (
	"io"
	"slices"
	"strconv"

	"kitwright/internal/say"
	"kitwright/kit"
	"kitwright/plan"
	"kitwright/render/letters"
	"kitwright/render/pdf"
)

// PlanOf plans the work on a kit as these settings want it.
func (p Print) PlanOf(k *kit.Kit) *plan.Plan { return plan.Of(k.Chart, p.planOptions(k)) }

func (p Print) planOptions(k *kit.Kit) plan.Options {
	o := p.Plan
	o.Pitch = k.Pitch
	return o
}

// Plan writes the work to print and tick: a map of the sections, how to work,
// a list to pour and tick for every section, and how to finish.
func Plan(w io.Writer, k *kit.Kit, p Print) error {
	if err := p.checkFor(k); err != nil {
		return err
	}
	l := newPlanPages(k, p)
	return writeDocument(w, k, p, "plan", "Sections, their order, and what to pour for each", l.skin.Box, l.pages())
}

// planPages is the layout of the plan, everything in mm.
type planPages struct {
	kit     *kit.Kit
	print   Print
	plan    *plan.Plan
	skin    skin
	w, h, m float64
	steps   []int // of the sections
	size    float64
	row     float64 // from color to color in a list
	cols    planColumns
}

// planColumns are the widths of a list's columns, the same on every page.
type planColumns struct {
	lists                               int     // side by side
	width                               float64 // of a list
	cell, number, code, drills, presses float64
}

// Sizes of the lists.
const (
	planGap   = 5.0  // between lists
	planHead  = 12.0 // of a page
	planTick  = 3.6  // a box to tick, with the room beside it
	planBlock = 20.0 // above the first color of a section
	planAfter = 5.0  // below the last one
	planLeast = 8    // colors before a section goes on in the next list
)

func newPlanPages(k *kit.Kit, p Print) *planPages {
	l := &planPages{kit: k, print: p, plan: p.PlanOf(k), skin: newSkin(k, p), w: p.Paper.Size.W.MM(), h: p.Paper.Size.H.MM(), m: max(p.PaperMargin.MM(), 10), size: 9, row: 5.4}
	if p.Large {
		l.size, l.row = 12, 7.2
	}
	l.steps = l.plan.Steps()
	c := &l.cols
	c.cell = 0.78 * l.row
	c.number = letters.Width(letters.Regular, l.size, "00")
	c.drills, c.presses = letters.Width(letters.Regular, small, "drills"), letters.Width(letters.Regular, small, "presses")
	for _, e := range k.Chart.Legend {
		c.number = max(c.number, letters.Width(letters.Regular, l.size, strconv.Itoa(e.Number)))
		c.code = max(c.code, letters.Width(letters.Bold, l.size, codeText(k, e.Drill)))
	}
	for _, s := range l.plan.Sections {
		for _, t := range s.Work {
			c.drills = max(c.drills, letters.Width(letters.Regular, l.size, say.Number(t.Drills)))
			c.presses = max(c.presses, letters.Width(letters.Regular, l.size, say.Number(t.Presses)))
		}
	}
	c.code = min(c.code, 2.4*l.size)
	need := l.fixed() + c.code
	c.lists = max(1, int((l.w-2*l.m+planGap)/(need+planGap)))
	c.width = (l.w - 2*l.m - planGap*float64(c.lists-1)) / float64(c.lists)
	return l
}

// fixed is the width of all columns but the code's, with the gaps.
func (l *planPages) fixed() float64 {
	c := l.cols
	w := planTick + c.cell + 0.6 + c.cell + 1.2 + c.number + 1.6 + 1.6 + c.drills
	if l.tips() {
		w += 1.8 + c.presses
	}
	return w
}

// tips says whether there are multi-placers.
func (l *planPages) tips() bool { return l.plan.Options.Tips != 0 }

func (l *planPages) pages() []*pdf.Page {
	out := append([]*pdf.Page{l.mapPage()}, l.howPages()...)
	out = append(out, l.lists()...)
	return append(out, l.finishPages()...)
}

// flow sets groups of text down as many pages as they take.
type flow struct {
	*planPages
	title string
	pages []*pdf.Page
	y     float64
}

// group sets what build puts into a column, on a new page if this one has no
// room for all of it.
func (f *flow) group(build func(*column)) {
	const widest = 190.0 // longer lines are hard to read
	set := func() *column {
		c := &column{x: f.m, y: f.y, w: min(f.w-2*f.m, widest)}
		build(c)
		return c
	}
	c := set()
	if len(f.pages) == 0 || c.y > f.h-f.m {
		title := f.title
		if len(f.pages) > 0 {
			title += ", continued"
		}
		var pg *pdf.Page
		pg, f.y = f.page(f.title, title)
		f.pages = append(f.pages, pg)
		c = set()
	}
	f.pages[len(f.pages)-1].Add(c.ops...)
	f.y = c.y
}

// page returns a page with a heading, and where it goes on.
func (l *planPages) page(label, title string) (*pdf.Page, float64) {
	pg := &pdf.Page{W: l.w, H: l.h, Label: label, Header: title}
	ops, y := pageTitle(l.m, l.m, l.w-2*l.m, title, titleOf(l.kit, l.print)+" · "+stampOf(l.kit, l.print))
	pg.Add(ops...)
	return pg, y
}

// lists sets the sections one after the other down the lists of as many pages
// as it takes. A section is not broken over two lists unless it is longer than
// one: then it begins wherever there is room.
func (l *planPages) lists() []*pdf.Page {
	var out []*pdf.Page
	all := l.spread()
	for i := 0; i < len(all); {
		pg, first, page := &pdf.Page{W: l.w, H: l.h}, l.plan.Sections[all[i].section].Name, all[i].page
		last := first
		for ; i < len(all) && all[i].page == page; i++ {
			b := all[i]
			last = l.plan.Sections[b.section].Name
			pg.Add(l.block(b.section, b.from, b.n, l.m+float64(b.list)*(l.cols.width+planGap), b.y)...)
		}
		name := "Section " + first
		if last != first {
			name = "Sections " + first + " to " + last
		}
		pg.Label, pg.Header = name, name
		pg.Add(pdf.Text{X: l.m, Y: l.m + 4.4, Size: 14, Face: letters.Bold, S: name},
			pdf.Text{X: l.m, Y: l.m + 9.2, Size: 8.5, Ink: dim, S: letters.Shorten(letters.Regular, 8.5, l.w-2*l.m, titleOf(l.kit, l.print)+" · "+stampOf(l.kit, l.print)+" · pour each color, set it, tick it")})
		out = append(out, pg)
	}
	return out
}

// planPlace is where n colors of a section stand, from one of them on.
type planPlace struct {
	section, from, n int
	page, list       int
	y                float64
}

// spread places the sections, those of the last page in lists of about one
// length.
func (l *planPages) spread() []planPlace {
	top, bottom := l.m+planHead, l.h-l.m
	all := l.spreadTo(l.plan.Order, bottom)
	if len(all) == 0 {
		return nil
	}
	last := all[len(all)-1].page
	i := slices.IndexFunc(all, func(p planPlace) bool { return p.page == last })
	tallest := 0.0
	for _, p := range all[i:] {
		if p.from > 0 || p.n < len(l.plan.Sections[p.section].Work) { // it goes on somewhere
			return all
		}
		tallest = max(tallest, l.blockHeight(p.n))
	}
	order := l.plan.Order[len(l.plan.Order)-(len(all)-i):]
	for b := top + tallest + 1e-6; b < bottom; b += l.row {
		if even := l.spreadTo(order, b); even[len(even)-1].page == 0 {
			for k := range even {
				even[k].page = last
			}
			return append(all[:i], even...)
		}
	}
	return all
}

func (l *planPages) blockHeight(colors int) float64 { return planBlock + float64(colors)*l.row }

// spreadTo places sections down lists that end at bottom.
func (l *planPages) spreadTo(order []int, bottom float64) (all []planPlace) {
	top := l.m + planHead
	page, list, y := 0, 0, top
	for _, i := range order {
		colors := len(l.plan.Sections[i].Work)
		for from := 0; from < colors; {
			height := l.blockHeight(colors - from)
			broken := top+height > bottom && y+l.blockHeight(planLeast) <= bottom // wherever it begins
			if y > top && y+height > bottom && !broken {
				if list++; list == l.cols.lists {
					page, list = page+1, 0
				}
				y = top
			}
			n := min(colors-from, int((bottom-y-planBlock)/l.row+1e-9))
			all = append(all, planPlace{i, from, n, page, list, y})
			y += l.blockHeight(n) + planAfter
			from += n
		}
	}
	return all
}

// block draws n colors of a section from one on, under its heading.
func (l *planPages) block(section, from, n int, x, y float64) []pdf.Op {
	s := l.plan.Sections[section]
	c := l.cols
	e, g := black, gray
	const picture = 15.0
	cell := picture / float64(max(s.Box.W, s.Box.H))
	ops := []pdf.Op{
		pdf.Area{X: x, Y: y, Pitch: cell, Lattice: plainWindow(l.kit.Chart, s.Box.X, s.Box.Y, s.Box.W, s.Box.H)},
		pdf.Rect{X: x, Y: y, W: cell * float64(s.Box.W), H: cell * float64(s.Box.H), Edge: &g, Line: 0.1},
	}
	at := x + picture + 2.5
	room := x + c.width - at
	ops = append(ops, pdf.Text{X: at, Y: y + 4.2, Size: 14, Face: letters.Bold, S: letters.Shorten(letters.Bold, 14, room-6, s.Name)})
	if from > 0 {
		ops = append(ops, pdf.Text{X: at + letters.Width(letters.Bold, 14, s.Name) + 2, Y: y + 4.2, Size: 8.5, Ink: dim, S: "continued"})
	} else {
		ops = append(ops, pdf.Rect{X: x + c.width - 4.2, Y: y + 0.2, W: 4, H: 4, Edge: &e, Line: 0.25})
	}
	step := "step " + strconv.Itoa(l.steps[section]) + " · " + l.plan.Options.Pace.Setting(s.Drills()).Short()
	lines := []string{step, "columns " + strconv.Itoa(s.Box.X+1) + "–" + strconv.Itoa(s.Box.X+s.Box.W) + ", rows " + strconv.Itoa(s.Box.Y+1) + "–" + strconv.Itoa(s.Box.Y+s.Box.H)}
	switch {
	case s.Confetti:
		lines = append(lines, say.Number(s.Drills())+" drills, "+say.Number(s.Lone)+" of them lone")
	default:
		lines = append(lines, say.Count(s.Drills(), "drill")+" in "+say.Count(len(s.Work), "color"))
	}
	for i, t := range lines {
		ops = append(ops, pdf.Text{X: at, Y: y + 7.9 + 3.3*float64(i), Size: small + 0.5, Ink: dim, S: letters.Shorten(letters.Regular, small+0.5, room, t)})
	}
	if s.Confetti && from == 0 {
		ops = append(ops, confettiMark(x+c.width-9.6, y+2.2)...)
	}

	// Heads of the columns stand beside the line above the colors.
	right := x + c.width
	drills := right
	head := y + planBlock - 1.6
	if l.tips() {
		ops = append(ops, pdf.Text{X: right, Y: head, Size: small, Ink: dim, Align: pdf.Right, S: "presses"})
		drills = right - c.presses - 1.8
	}
	ops = append(ops, pdf.Text{X: drills, Y: head, Size: small, Ink: dim, Align: pdf.Right, S: "drills"},
		pdf.Line{X1: x, Y1: y + planBlock - 0.6, X2: right, Y2: y + planBlock - 0.6, W: 0.18, Ink: black})
	if from == 0 && s.Work[0].Ready {
		ops = append(ops, pdf.Text{X: x, Y: head, Size: small, Ink: dim, S: letters.Shorten(letters.Regular, small, drills-c.drills-2-x, "no. "+strconv.Itoa(l.number(s.Work[0]))+" is still out")})
	}
	for i, t := range s.Work[from : from+n] {
		ops = append(ops, l.colorOps(t, x, y+planBlock+float64(i)*l.row, right, drills)...)
		if (i+1)%5 == 0 && i+1 < n {
			below := y + planBlock + float64(i+1)*l.row
			ops = append(ops, pdf.Line{X1: x, Y1: below, X2: right, Y2: below, W: hair, Ink: faint})
		}
	}
	return ops
}

// number is what a task's color is called on paper.
func (l *planPages) number(t plan.Task) int { return l.kit.Chart.Legend[t.Color].Number }

// colorOps draws one color to pour, set and tick.
func (l *planPages) colorOps(t plan.Task, x, y, right, drills float64) []pdf.Op {
	c, e := l.cols, &l.kit.Chart.Legend[t.Color]
	mid := y + l.row/2
	base := mid + letters.CapHeight*l.size*letters.PointMM/2
	g := gray
	ops := []pdf.Op{pdf.Rect{X: x, Y: mid - 1.3, W: 2.6, H: 2.6, Edge: &g, Line: 0.18}}
	at := x + planTick
	ops = append(ops, l.skin.drillOps(e, at, mid-c.cell/2, c.cell)...)
	at += c.cell + 0.6
	ops = append(ops, l.skin.swatchOps(e.Drill.RGB, at, mid-c.cell/2, c.cell)...)
	at += c.cell + 1.2 + c.number
	ops = append(ops, pdf.Text{X: at, Y: base, Size: l.size, Align: pdf.Right, S: strconv.Itoa(e.Number)})
	at += 1.6
	ops = append(ops,
		pdf.Text{X: at, Y: base, Size: l.size, Face: letters.Bold, S: letters.Shorten(letters.Bold, l.size, drills-c.drills-1.6-at, codeText(l.kit, e.Drill))},
		pdf.Text{X: drills, Y: base, Size: l.size, Align: pdf.Right, S: say.Number(t.Drills)})
	if l.tips() {
		ops = append(ops, pdf.Text{X: right, Y: base, Size: l.size, Ink: dim, Align: pdf.Right, S: say.Number(t.Presses)})
	}
	return ops
}

// confettiMark draws the mark of a section with many lone drills, its middle at
// x, y.
func confettiMark(x, y float64) []pdf.Op {
	b := black
	var ops []pdf.Op
	for _, d := range [5][2]float64{{-1.5, -0.7}, {-0.3, 0.9}, {0.2, -1.2}, {1.2, 0.1}, {-1.4, 1.2}} {
		ops = append(ops, pdf.Rect{X: x + d[0] - 0.35, Y: y + d[1] - 0.35, W: 0.7, H: 0.7, Fill: &b})
	}
	return ops
}
