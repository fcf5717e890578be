package render

import (
	"cmp"
	"slices"
	"strconv"

	"kitwright/internal/measure"
	"kitwright/internal/say"
	"kitwright/plan"
	"kitwright/render/letters"
	"kitwright/render/pdf"
)

// mapPage returns the map of the sections and what the work comes to.
func (l *planPages) mapPage() *pdf.Page {
	pg, y := l.page("Plan", "Plan of the work")
	f := &column{x: l.m, y: y + 1, w: l.w - 2*l.m}
	c := l.kit.Chart
	f.lines(letters.Regular, 9, dim, 3, say.Count(c.Drills(), string(l.kit.Drill.Shape)+" drill")+" in "+say.Count(len(c.Legend), "color")+" · picture "+
		sizeText(l.kit.Width(), l.kit.Height(), l.print.Units)+" · "+say.Count(len(l.plan.Sections), "section")+" of "+l.sectionText())
	pg.Add(f.ops...)

	words := &column{x: l.m, w: l.w - 2*l.m}
	l.figures(words)
	top := f.y + 5
	foot := words.y + 9 // "You sit here" is above the figures
	room := l.h - l.m - foot - top - 2
	side := 9.0 // for the arrows
	cell := min((l.w-2*l.m-2*side)/float64(c.Cols), room/float64(c.Rows))
	x := (l.w - cell*float64(c.Cols)) / 2
	in := l.inSections(cell)
	pg.Add(in.mapOps(x, top)...)
	at := top + cell*float64(c.Rows)
	below := "You sit here."
	if in.short {
		below += " The numbers are the steps."
	}
	pg.Add(pdf.Text{X: l.w / 2, Y: at + 5.2, Size: 9, Align: pdf.Center, S: below})
	words = &column{x: l.m, y: at + 8, w: l.w - 2*l.m}
	l.figures(words)
	pg.Add(words.ops...)

	return pg
}

// sectionText tells how large sections are, in the mean.
func (l *planPages) sectionText() string {
	w, h := l.kit.Width()/measure.Length(l.plan.Across), l.kit.Height()/measure.Length(l.plan.Down)
	about := ""
	if len(l.plan.Sections) > 1 {
		about = "about "
	}
	return about + sizeText(w, h, l.print.Units)
}

// mapOps draws the pale picture with its sections: name, step, colors and
// drills of each, and the way through them.
func (in inSections) mapOps(x, y float64) []pdf.Op {
	c, cell := in.kit.Chart, in.cell
	t := thumbnail(c, 400)
	for i, v := range t.Fill {
		t.Fill[i] = tint(v, 22)
	}
	ops := []pdf.Op{pdf.Area{X: x, Y: y, Pitch: min(cell*float64(c.Cols)/float64(t.Cols), cell*float64(c.Rows)/float64(t.Rows)), Lattice: t}}
	for i := range in.plan.Sections {
		ops = append(ops, in.ops(i, x, y)...)
	}
	return append(ops, in.wayOps(x, y, cell)...)
}

// inSections is what stands in the sections of the map: the same in each that
// is as large as most.
type inSections struct {
	*planPages
	cell  float64
	w, h  float64 // of the largest section
	name  float64 // size of a name, points; 0 where there is no room for more than that
	tick  float64
	plain float64 // size of what stands below it
	lines int
	short bool // there is room for the number of a step alone
}

func (l *planPages) inSections(cell float64) inSections {
	in := inSections{planPages: l, cell: cell}
	for _, s := range l.plan.Sections {
		in.w, in.h = max(in.w, float64(s.Box.W)*cell), max(in.h, float64(s.Box.H)*cell)
	}
	for size := 13.0; size >= small; size -= 0.5 {
		in.tick = min(4, 0.3*size)
		widest, mark := 0.0, 0.0
		for _, s := range l.plan.Sections {
			if s.Confetti {
				mark = 4.6
			}
			widest = max(widest, letters.Width(letters.Bold, size, s.Name))
		}
		if widest+mark+in.tick+3.4 <= in.w && size*letters.PointMM*1.3 <= in.h {
			in.name = size
			break
		}
	}
	in.plain = min(9, max(small, 0.62*in.name))
	fits := func() bool {
		widest := 0.0
		for i := range l.plan.Sections {
			for _, line := range in.said(i)[:in.lines] {
				widest = max(widest, letters.Width(letters.Regular, in.plain, line))
			}
		}
		return widest+2 <= in.w && in.below(in.lines)+1 <= in.h
	}
	for in.lines = 3; in.lines > 0 && !fits(); {
		in.lines--
	}
	if in.lines == 0 && in.name > 0 {
		in.short, in.lines = true, 1
		if !fits() {
			in.short, in.lines = false, 0
		}
	}
	return in
}

// said is what is said of a section.
func (in inSections) said(i int) []string {
	s := in.plan.Sections[i]
	step := strconv.Itoa(in.steps[i])
	if !in.short {
		step = "step " + step
	}
	return []string{step, say.Count(len(s.Work), "color"), say.Count(s.Drills(), "drill")}
}

// below returns where the last of some lines stands in a section.
func (in inSections) below(lines int) float64 {
	return 1.2 + letters.Ascent*in.name*letters.PointMM*0.92 + float64(lines)*1.3*in.plain*letters.PointMM
}

func (in inSections) ops(i int, x, y float64) []pdf.Op {
	s, e := in.plan.Sections[i], black
	px, py := x+float64(s.Box.X)*in.cell, y+float64(s.Box.Y)*in.cell
	pw, ph := float64(s.Box.W)*in.cell, float64(s.Box.H)*in.cell
	ops := []pdf.Op{pdf.Rect{X: px, Y: py, W: pw, H: ph, Edge: &e, Line: 0.25}}
	if in.name == 0 || pw < 0.72*in.w || ph < 0.72*in.h {
		if letters.Width(letters.Bold, small, s.Name)+0.6 <= pw && ph >= 3.2 {
			ops = append(ops, pdf.Text{X: px + pw/2, Y: py + ph/2 + letters.CapHeight*small*letters.PointMM/2, Size: small, Face: letters.Bold, Align: pdf.Center, S: s.Name})
		}
		return ops // the lists name the others
	}
	ops = append(ops, pdf.Text{X: px + 1.2, Y: py + in.below(0), Size: in.name, Face: letters.Bold, S: letters.Shorten(letters.Bold, in.name, pw-in.tick-3, s.Name)},
		pdf.Rect{X: px + pw - in.tick - 1.1, Y: py + 1.2, W: in.tick, H: in.tick, Fill: &white, Edge: &e, Line: 0.2})
	if s.Confetti {
		ops = append(ops, confettiMark(px+pw-in.tick-3.6, py+1.2+in.tick/2)...)
	}
	for n, line := range in.said(i)[:in.lines] {
		if in.below(n+1)+1 > ph || letters.Width(letters.Regular, in.plain, line)+2 > pw {
			break
		}
		ops = append(ops, pdf.Text{X: px + 1.2, Y: py + in.below(n+1), Size: in.plain, S: line})
	}
	return ops
}

// wayOps draws beside each row of sections an arrow the way it is worked on,
// and the one row that is begun with in full black.
func (l *planPages) wayOps(x, y, cell float64) []pdf.Op {
	w := cell * float64(l.kit.Chart.Cols)
	var ops []pdf.Op
	first := l.plan.Sections[l.plan.Order[0]].Row
	for r := range l.plan.Down {
		s := l.plan.Sections[r*l.plan.Across]
		mid := y + (float64(s.Box.Y)+float64(s.Box.H)/2)*cell
		ink := gray
		if r == first {
			ink = black
		}
		if l.plan.Options.Hand == plan.LeftHand {
			ops = append(ops, arrowAcross(x+w+7, mid, -5.5, ink)...)
		} else {
			ops = append(ops, arrowAcross(x-7, mid, 5.5, ink)...)
		}
	}
	return ops
}

// arrowAcross draws an arrow from x, y to the right by a length, or to the left
// by a negative one.
func arrowAcross(x, y, length float64, ink color) []pdf.Op {
	tip, back := x+length, 2.0
	if length < 0 {
		back = -back
	}
	return []pdf.Op{
		pdf.Line{X1: x, Y1: y, X2: tip - back, Y2: y, W: 0.35, Ink: ink},
		pdf.Poly{Fill: ink, Points: [][2]float64{{tip, y}, {tip - back, y - 1.1}, {tip - back, y + 1.1}}},
	}
}

// figures sets what the work comes to.
func (l *planPages) figures(f *column) {
	const wide = 30
	p := l.plan
	up := p.KitUp()
	f.heading("What it comes to")
	f.item(wide, "Setting", p.Setting().Words()+" at "+p.Options.Pace.Words()+" drills an hour"+l.sittingText())
	f.item(wide, "Kitting up", say.Number(int(up.Least))+" to "+say.Number(int(up.Most))+" minutes to label, pour and lay out "+say.Count(len(l.kit.Chart.Legend), "color")+", before the first drill")
	f.item(wide, "Containers", "are taken up "+times(p.Fetches)+": a color that ends one section begins the next where it can")
	if l.tips() {
		n, all := p.Presses(), p.Drills()
		f.item(wide, "Multi-placers", "of "+p.Options.Tips.Words()+" drills: "+say.Number(n)+" presses instead of "+say.Number(all)+" ("+strconv.Itoa(100*(all-n)/all)+" % saved)")
	}
	heavy := 0
	for _, s := range p.Sections {
		if s.Confetti {
			heavy++
		}
	}
	if heavy > 0 {
		y, it := f.y, "It is marked: take it"
		if heavy > 1 {
			it = "They are marked: take them"
		}
		f.item(wide, "Confetti", "In "+say.Count(heavy, "section")+" many drills have no like neighbor. "+it+" when you are fresh, in good light")
		f.ops = append(f.ops, confettiMark(f.x+wide-6, y+2.4)...)
	}
}

func times(n int) string { return say.Count(n, "time") }

// sittingText tells how many sittings that is, where one is said.
func (l *planPages) sittingText() string {
	least, most := l.plan.Sittings()
	switch {
	case most == 0:
		return ""
	case least == most:
		return ": " + say.Count(most, "sitting") + " of " + l.plan.Options.Sitting.Words()
	}
	return ": " + say.Number(least) + " to " + say.Count(most, "sitting") + " of " + l.plan.Options.Sitting.Words()
}

// howPages tell how to work, with a drawing of the liner.
func (l *planPages) howPages() []*pdf.Page {
	const size = 10.0
	text := func(f *column, s string) {
		f.lines(letters.Regular, size, black, 12, s)
		f.y += 1.4
	}
	out := &flow{planPages: l, title: "How to work"}
	out.group(func(f *column) {
		f.heading("The order")
		text(f, orderWords[l.plan.Options.Work])
		side, hand := "left", "right"
		if l.plan.Options.Hand == plan.LeftHand {
			side, hand = hand, side
		}
		text(f, "Each row begins at the "+side+", so that your "+hand+" hand lies on what is still covered or long set, and never on open film. "+
			"A list gives the colors in the order of pouring: most drills first; single ones come late, when their neighbors show the place.")
		text(f, "Where one color fills a wide field, set every other drill as on a checkerboard and fill in between: rows stay straight, and no drill has to be forced into its gap.")
	})
	out.group(func(f *column) {
		f.heading("The film's liner")
		const drawing = 58.0
		g := &column{x: f.x, y: f.y, w: f.w - drawing - 6}
		for _, s := range linerWords[l.plan.Options.Work] {
			text(g, s)
		}
		drawn, below := l.linerOps(f.x+f.w-drawing, f.y+1, drawing)
		f.ops = append(append(f.ops, g.ops...), drawn...)
		f.y = max(g.y, below+2)
	})
	out.group(func(f *column) {
		f.heading("In a section")
		text(f, "Open the section. Pour the first color of its list into a tray and shake it until the drills lie with their facets up.")
		text(f, "Set it, tick it, pour the rest back, and take the next. Before you go on, press the section down through the liner, and cover it.")
	})
	if l.tips() {
		out.group(func(f *column) {
			f.heading("Where multi-placers pay")
			text(f, "Presses are counted patch by patch: along its rows or along its columns, whichever takes fewer, each run with the fewest of your tips. These colors save most presses:")
			l.saving(f)
		})
	}
	out.group(func(f *column) {
		f.y++
		f.lines(letters.Regular, 8.5, dim, 4, "All of this is common practice, without a published source, and so are the hours. Paces differ: after three sections that you timed, kitwright left tells your own.")
	})
	return out.pages
}

var orderWords = map[plan.Way]string{
	plan.Near:         "From the near edge up: the row before you first, then the next one behind it. Your arm rests on drills that are set and covered.",
	plan.Far:          "From the far edge down: the row at the back first, then the next one toward you. Your arm rests on the liner, which stays folded over everything nearer.",
	plan.Checkerboard: "Every other section first, as the fields of one color on a checkerboard, then those between. No section pushes the next one out of line, and the pull of the film stays even: that keeps a large canvas from warping.",
}

var linerWords = map[plan.Way][]string{
	plan.Near: {
		"Lift the liner off the film at the near edge and fold it back to the first line between rows of sections. Crease it there.",
		"Cut it only where it is lifted, with scissors: along the crease, then across between the sections of the row. Never cut on the canvas: a blade goes through liner, film and print at once.",
		"Lay the pieces back where they were. Take off one at a time, set that section, and lay its piece over the drills, smooth side down: it is where your hand rests.",
	},
	plan.Far: {
		"Loosen the liner at the far edge and fold it toward you to the first line between rows of sections. Crease it there, and hold it with clips.",
		"It need not be cut at all. When a row is set, fold on to the next line; your hand lies on the fold, never on open film.",
		"If you cut what is folded over, do it where it is lifted, with scissors. Never cut on the canvas: a blade goes through liner, film and print at once. Lay the cut piece over the drills that are set.",
	},
	plan.Checkerboard: {
		"Lift the liner off the film row by row and cut it, with scissors and only where it is lifted, into pieces as large as a section. Never cut on the canvas: a blade goes through liner, film and print at once.",
		"Write the name of its section on each piece, and lay it back in its place at once: open film gathers dust and hair.",
		"Take off one piece at a time. Lay it over the drills when the section is set.",
	},
}

// linerOps draws nine sections as they lie in the middle of the work, side mm
// wide with their key, and returns where the drawing ends.
func (l *planPages) linerOps(x, y, side float64) ([]pdf.Op, float64) {
	const n = 3
	cell := 10.0
	e, set, cover := black, color{205, 205, 205}, color{236, 242, 246}
	o := plan.Options{Pitch: 1000 * measure.Micrometer, Section: plan.SectionSize{Cols: 5, Rows: 5}, Work: l.plan.Options.Work, Hand: l.plan.Options.Hand}
	order := o.Order(n, n)
	const done = 4
	var ops []pdf.Op
	left := x + side - n*cell - 1
	for step, i := range order {
		sx, sy := left+float64(i%n)*cell, y+float64(i/n)*cell
		fill := &cover
		switch {
		case step < done:
			fill = &set
		case step == done:
			fill = &white
		}
		ops = append(ops, pdf.Rect{X: sx, Y: sy, W: cell, H: cell, Fill: fill, Edge: &e, Line: 0.2})
		ops = append(ops, pdf.Text{X: sx + cell/2, Y: sy + cell/2 + 1.1, Size: 9, Face: letters.Bold, Align: pdf.Center, S: strconv.Itoa(step + 1)})
	}
	below := y + n*cell
	for i, k := range []struct {
		fill color
		what string
	}{{set, "set"}, {white, "open"}, {cover, "under the liner"}} {
		fill := k.fill
		ky := y + 4 + 5*float64(i)
		ops = append(ops, pdf.Rect{X: x, Y: ky, W: 3, H: 3, Fill: &fill, Edge: &e, Line: 0.2},
			pdf.Text{X: x + 4.2, Y: ky + 2.5, Size: 8, S: letters.Shorten(letters.Regular, 8, left-x-5.2, k.what)})
	}
	ops = append(ops, pdf.Text{X: left + n*cell/2, Y: below + 4, Size: 8, Ink: dim, Align: pdf.Center, S: "you"})
	return ops, below + 5
}

// saving lists the colors with which multi-placers save most presses.
func (l *planPages) saving(f *column) {
	type sum struct{ color, drills, presses int }
	sums := make([]sum, len(l.kit.Chart.Legend))
	for _, s := range l.plan.Sections {
		for _, t := range s.Work {
			sums[t.Color].color = t.Color
			sums[t.Color].drills += t.Drills
			sums[t.Color].presses += t.Presses
		}
	}
	slices.SortStableFunc(sums, func(a, b sum) int { return cmp.Compare(b.drills-b.presses, a.drills-a.presses) })
	const row, most = 5.6, 6
	half := (f.w - 8) / 2
	number := letters.Width(letters.Bold, 9, "000")
	shown := sums[:min(most, len(sums))]
	rows := (len(shown) + 1) / 2
	for i, s := range shown {
		e := &l.kit.Chart.Legend[s.color]
		x, mid := f.x+float64(i/rows)*(half+8), f.y+(float64(i%rows)+0.5)*row
		base := mid + letters.CapHeight*9*letters.PointMM/2
		f.ops = append(f.ops, l.skin.drillOps(e, x, mid-2.1, 4.2)...)
		f.ops = append(f.ops, l.skin.swatchOps(e.Drill.RGB, x+5.2, mid-2.1, 4.2)...)
		saved := say.Number(s.presses) + " for " + say.Number(s.drills)
		room := half - 13 - number - letters.Width(letters.Regular, 9, saved) - 3
		f.ops = append(f.ops, pdf.Text{X: x + 11 + number, Y: base, Size: 9, Align: pdf.Right, S: strconv.Itoa(e.Number)},
			pdf.Text{X: x + 13 + number, Y: base, Size: 9, Face: letters.Bold, S: letters.Shorten(letters.Bold, 9, room, codeText(l.kit, e.Drill))},
			pdf.Text{X: x + half, Y: base, Size: 9, Align: pdf.Right, S: saved})
	}
	f.y += float64(rows)*row + 2
}
