package render

import (
	"io"
	"math"
	"strconv"

	"kitwright/chart"
	"kitwright/internal/say"
	"kitwright/kit"
	"kitwright/render/letters"
	"kitwright/render/pdf"
)

// Labels writes a label for every color: for containers or bags, on plain
// paper with cut lines, on a label sheet given by its geometry, or round for
// lids.
func Labels(w io.Writer, k *kit.Kit, p Print) error {
	if err := p.checkFor(k); err != nil {
		return err
	}
	l := labels{kit: k, print: p, skin: newSkin(k, p)}
	d := pdf.Document{Title: documentTitle(k, "labels"), Subject: "A label for every color", Creator: pdf.Producer, Box: l.skin.Box, Pages: l.pages()}
	return d.Write(w)
}

// WithExtra returns how many drills of a color to have for n on the canvas,
// and how many of them are extra.
func (p Print) WithExtra(n int) (all, extra int) {
	extra = (n*int(p.Extra) + 99) / 100
	extra = min(max(extra, int(p.ExtraLeast)), int(p.ExtraMost))
	return n + extra, extra
}

// labels is the layout of the labels, everything in mm.
type labels struct {
	kit   *kit.Kit
	print Print
	skin  skin
}

// labelGrid is where the labels of a page lie.
type labelGrid struct {
	w, h         float64 // of a label
	x, y         float64 // of the first
	stepX, stepY float64
	across, down int
	cut          bool // on plain paper
}

func (l labels) grid() labelGrid {
	p := l.print
	paperW, paperH, m := p.Paper.Size.W.MM(), p.Paper.Size.H.MM(), p.PaperMargin.MM()
	if s := p.LabelSheet; s.Across > 0 {
		return labelGrid{w: s.Label.W.MM(), h: s.Label.H.MM(), x: s.Left.MM(), y: s.Top.MM(),
			stepX: (s.Label.W + s.GapX).MM(), stepY: (s.Label.H + s.GapY).MM(), across: s.Across, down: s.Down}
	}
	g := labelGrid{w: 47, h: 22, cut: true}
	gap := 0.0
	if p.LabelFor == ForBag {
		g.w, g.h = 62, 38
	}
	if p.LabelRound.Given {
		g.w, g.h = p.LabelRound.Length.MM(), p.LabelRound.Length.MM()
		gap = 2
	}
	const caption = 6
	g.stepX, g.stepY = g.w+gap, g.h+gap
	g.across = max(1, int((paperW-2*m+gap)/g.stepX))
	g.down = max(1, int((paperH-2*m-caption+gap)/g.stepY))
	// On plain paper pages share the rows, so that none is nearly empty.
	rows := (len(l.kit.Chart.Legend) + g.across - 1) / g.across
	pages := (rows + g.down - 1) / g.down
	g.down = (rows + pages - 1) / pages
	g.x = (paperW - float64(g.across)*g.stepX + gap) / 2
	g.y = m + caption
	return g
}

func (l labels) pages() []*pdf.Page {
	g := l.grid()
	per := g.across * g.down
	var out []*pdf.Page
	for i := range l.kit.Chart.Legend {
		if i%per == 0 {
			out = append(out, l.page(g, min(per, len(l.kit.Chart.Legend)-i)))
		}
		pg := out[len(out)-1]
		x := g.x + float64(i%per%g.across)*g.stepX
		y := g.y + float64(i%per/g.across)*g.stepY
		if l.print.LabelRound.Given {
			d := min(l.print.LabelRound.Length.MM(), g.w, g.h)
			pg.Add(l.round(i, x+g.w/2, y+g.h/2, d/2, g.cut)...)
		} else {
			pg.Add(l.label(i, x, y, g.w, g.h)...)
		}
	}
	return out
}

// page returns a page with its caption and, on plain paper, the cut lines of n
// labels.
func (l labels) page(g labelGrid, n int) *pdf.Page {
	p := l.print
	pg := &pdf.Page{W: p.Paper.Size.W.MM(), H: p.Paper.Size.H.MM()}
	if !g.cut {
		return pg
	}
	what := "labels for containers"
	if p.LabelFor == ForBag {
		what = "labels for bags"
	}
	if p.LabelRound.Given {
		what = "labels for lids of " + mmText(p.LabelRound.Length)
	}
	pg.Add(pdf.Text{X: g.x, Y: g.y - 2.4, Size: 8, Ink: dim, S: letters.Shorten(letters.Regular, 8, pg.W-2*g.x, titleOf(l.kit)+" · "+what+", to cut out")})
	if p.LabelRound.Given {
		return pg
	}
	rows := (n + g.across - 1) / g.across
	cols := min(n, g.across)
	for c := range cols + 1 {
		in := rows
		if c > n-(rows-1)*g.across { // the last row is not full
			in = rows - 1
		}
		x := g.x + float64(c)*g.stepX
		pg.Add(pdf.Line{X1: x, Y1: g.y, X2: x, Y2: g.y + float64(in)*g.stepY, W: hair, Ink: gray})
	}
	for r := range rows + 1 {
		in := cols
		if r == rows {
			in = n - (rows-1)*g.across
		}
		y := g.y + float64(r)*g.stepY
		pg.Add(pdf.Line{X1: g.x, Y1: y, X2: g.x + float64(in)*g.stepX, Y2: y, W: hair, Ink: gray})
	}
	return pg
}

// labelLine is one line of a label. Lines of a higher rank go first when there
// is too little room.
type labelLine struct {
	face  letters.Face
	size  float64 // relative
	rank  int
	s     string
	short string // where the whole has no room
	long  bool   // may take a second line
	part  bool   // of a line broken in two: 7 points, both alike
}

func (l labels) lines(i int) []labelLine {
	e := &l.kit.Chart.Legend[i]
	all, extra := l.print.WithExtra(e.Count)
	lines := []labelLine{
		{face: letters.Bold, size: 1.35, rank: 0, s: codeText(e.Drill)},
		{face: letters.Regular, size: 1, rank: 2, s: drillName(l.kit, i), long: true},
		{face: letters.Bold, size: 1.05, rank: 1, s: say.Number(all) + " drills"},
		{face: letters.Regular, size: 0.9, rank: 3, s: say.Number(e.Count) + " and " + say.Number(extra) + " extra"},
		{face: letters.Regular, size: 0.9, rank: 4, s: l.kindOf(e)},
	}
	if lines[1].s == "" {
		lines = append(lines[:1], lines[2:]...)
	}
	if l.print.LabelFor == ForBag {
		lines = append(lines, labelLine{face: letters.Regular, size: 0.9, rank: 5, s: titleOf(l.kit)})
	}
	return lines
}

// kindOf returns shape and finish.
func (l labels) kindOf(e *chart.Entry) string {
	finish := "plain"
	if e.Drill.Finish != "" {
		finish = letters.Clean(string(e.Drill.Finish))
	}
	return string(l.kit.Drill.Shape) + ", " + finish
}

// label draws a rectangular label: the color down its left side, the symbol,
// the number under it, then the words.
func (l labels) label(i int, x, y, w, h float64) []pdf.Op {
	e := &l.kit.Chart.Legend[i]
	pad := min(max(0.07*h, 0.9), 2.5)
	band := min(max(0.07*w, 2.2), 6)
	c, edge := e.Drill.RGB, gray
	ops := []pdf.Op{pdf.Rect{X: x + pad, Y: y + pad, W: band, H: h - 2*pad, Fill: &c, Edge: &edge, Line: 0.1}}

	number := "no. " + strconv.Itoa(e.Number)
	numSize := min(max(h*0.36, small), 10)
	numH := numSize * letters.PointMM * 1.2
	side := min(h-2*pad-numH, 0.27*w)
	sx := x + 2*pad + band
	under := side >= 4.5 // else the number doesn't fit under the symbol
	if !under {
		side = min(h-2*pad, 0.27*w)
	}
	sy := y + pad
	if under {
		sy = y + (h-side-numH)/2
		ops = append(ops, pdf.Text{X: sx + side/2, Y: sy + side + numH*0.85, Size: numSize, Align: pdf.Center, S: number})
	} else {
		sy = y + (h-side)/2
	}
	ops = append(ops, l.skin.drillOps(e, sx, sy, side)...)

	tx := sx + max(side, letters.Width(letters.Regular, numSize, number)*0.5+side/2) + 2*pad
	lines := l.lines(i)
	if !under {
		lines[0].s = strconv.Itoa(e.Number) + "  " + lines[0].s
	}
	return append(ops, setLines(lines, tx, y+pad, x+w-pad-tx, h-2*pad)...)
}

// setLines sets lines in a box, as large as fits up to 12 points, none smaller
// than 7; lines of a high rank are left out if they don't fit. A long line too
// wide at 7 points is broken in two if all lines find room then.
func setLines(lines []labelLine, x, y, w, h float64) []pdf.Op {
	const leading = 1.28
	total := func(lines []labelLine) (sum float64) {
		for _, l := range lines {
			sum += max(l.size, 0.9) * leading * letters.PointMM
		}
		return sum
	}
	if broken := breakLong(lines, w); h/total(broken) >= small/0.9 {
		lines = broken
	}
	for len(lines) > 1 && h/total(lines) < small/0.9 {
		worst := 0
		for i := range lines {
			if lines[i].rank > lines[worst].rank {
				worst = i
			}
		}
		lines = append(lines[:worst:worst], lines[worst+1:]...)
	}
	unit := min(h/total(lines), 11)
	at := y + (h-unit*total(lines))/2
	var ops []pdf.Op
	for _, l := range lines {
		size := max(unit*l.size, small)
		for size > small && (l.part || letters.Width(l.face, size, l.s) > w) {
			size = max(size-0.25, small)
		}
		at += unit * max(l.size, 0.9) * leading * letters.PointMM
		ops = append(ops, pdf.Text{X: x, Y: at - 0.27*unit*l.size*letters.PointMM, Size: size, Face: l.face, S: letters.Shorten(l.face, size, w, l.s)})
	}
	return ops
}

// breakLong returns lines with the long ones that are wider than w mm at 7
// points broken in two.
func breakLong(lines []labelLine, w float64) []labelLine {
	var out []labelLine
	for _, l := range lines {
		if !l.long || letters.Width(l.face, small, l.s) <= w {
			out = append(out, l)
			continue
		}
		for _, part := range letters.Wrap(l.face, small, w, 2, l.s) {
			l.s, l.size, l.part = part, 0.9, true
			out = append(out, l)
		}
	}
	return out
}

// round draws a label for a lid about its middle: a ring of the color, the
// symbol, and as many words as the circle holds.
func (l labels) round(i int, cx, cy, r float64, cut bool) []pdf.Op {
	e := &l.kit.Chart.Legend[i]
	c, edge, paper := e.Drill.RGB, gray, white
	ring := 0.09 * r
	in := r - 0.6 - ring
	ops := []pdf.Op{pdf.Circle{X: cx, Y: cy, R: r - 0.6, Fill: &c}, pdf.Circle{X: cx, Y: cy, R: in, Fill: &paper, Edge: &edge, Line: 0.1}}
	if cut {
		ops = append(ops, pdf.Circle{X: cx, Y: cy, R: r, Edge: &edge, Line: hair})
	}
	all, _ := l.print.WithExtra(e.Count)
	lines := []labelLine{
		{face: letters.Bold, size: 1.2, rank: 0, s: codeText(e.Drill)},
		{face: letters.Regular, size: 1, rank: 1, s: say.Number(all) + " drills", short: "× " + say.Number(all)},
		{face: letters.Regular, size: 0.9, rank: 2, s: l.kindOf(e)},
		{face: letters.Regular, size: 0.9, rank: 3, s: drillName(l.kit, i)},
	}
	// At 7 points a line is 3 mm; half of the circle is for the symbol, and as
	// many lines follow as its curve leaves room for.
	unit := max(0.36*r, small/0.9)
	unit = min(unit, 10)
	// Symbol and number stand side by side.
	side, top := 0.7*in, cy-0.8*in
	number := strconv.Itoa(e.Number)
	numSize := max(min(0.3*r/letters.PointMM, 12), small)
	wide := side + 0.8 + letters.Width(letters.Regular, numSize, number)
	if y := cy - top; wide/2 > math.Sqrt(in*in-y*y) {
		wide, number = side, ""
	}
	ops = append(ops, l.skin.drillOps(e, cx-wide/2, top, side)...)
	if number != "" {
		ops = append(ops, pdf.Text{X: cx + wide/2, Y: top + side/2 + letters.CapHeight*numSize*letters.PointMM/2, Size: numSize, Align: pdf.Right, S: number})
	}
	y := top + side + 0.6
	for _, s := range lines {
		size := max(unit*s.size, small)
		y += size * 1.15 * letters.PointMM
		half := in*in - (y-cy)*(y-cy)
		if y+0.3 > cy+in || half <= 0 {
			break
		}
		w := 2*math.Sqrt(half) - 1
		if s.short != "" && letters.Width(s.face, small, s.s) > w {
			s.s = s.short
		}
		for size > small && letters.Width(s.face, size, s.s) > w {
			size = max(size-0.25, small)
		}
		t := letters.Shorten(s.face, size, w, s.s)
		if t == "" || t != s.s && w < 12 {
			break // too little of a word is worse than none
		}
		ops = append(ops, pdf.Text{X: cx, Y: y, Size: size, Face: s.face, Align: pdf.Center, S: t})
	}
	return ops
}
