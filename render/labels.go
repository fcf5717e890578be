package render

import (
	"io"
	"strconv"
	"strings"

	"kitwright/chart"
	"kitwright/internal/say"
	"kitwright/kit"
	"kitwright/plan"
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
	l := newLabels(k, p)
	return writeDocument(w, k, p, "labels", "A label for every color", l.skin.Box, l.pages())
}

func newLabels(k *kit.Kit, p Print) labels {
	return labels{kit: k, print: p, skin: newSkin(k, p), mark: k.Chart.Mark(), list: p.Buying(k)}
}

// labels is the layout of the labels, everything in mm.
type labels struct {
	kit   *kit.Kit
	print Print
	skin  skin
	mark  string // the letters of the kit's mark
	list  *plan.Buying
}

// labelGrid is where the labels of a page lie.
type labelGrid struct {
	w, h         float64 // of a label
	x, y         float64 // of the first
	stepX, stepY float64
	across, down int
	cut          bool // on plain paper
}

// grid decides where the labels lie. On plain paper rectangles are as small as
// tell every name in full; rows and pages are shared out, and grow into what
// is left.
func (l labels) grid() labelGrid {
	p := l.print
	paperW, paperH, m := p.Paper.Size.W.MM(), p.Paper.Size.H.MM(), p.PaperMargin.MM()
	if s := p.LabelSheet; s.Across > 0 {
		return labelGrid{w: s.Label.W.MM(), h: s.Label.H.MM(), x: s.Left.MM(), y: s.Top.MM(),
			stepX: (s.Label.W + s.GapX).MM(), stepY: (s.Label.H + s.GapY).MM(), across: s.Across, down: s.Down}
	}
	const caption = 6
	place := func(w, h, gap float64) labelGrid {
		g := labelGrid{w: w, h: h, stepX: w + gap, stepY: h + gap, cut: true}
		g.across = max(1, int((paperW-2*m+gap+1e-9)/g.stepX))
		g.down = max(1, int((paperH-2*m-caption+gap+1e-9)/g.stepY))
		return g
	}
	n := len(l.kit.Chart.Legend)
	pages := func(g labelGrid) int { return (n + g.across*g.down - 1) / (g.across * g.down) }
	var g labelGrid
	if d := p.LabelRound; d.Given {
		g = place(d.Length.MM(), d.Length.MM(), 2)
	} else {
		w, heights, most := 47.0, []float64{22, 25.5, 29}, 32.0
		more := l.moreHeight()
		for i := range heights {
			heights[i] += more
		}
		most += more
		if p.LabelFor == ForBag {
			w, heights, most = 62, []float64{38, 42}, 46
		}
		g = place(w, heights[0], 0)
		for across := g.across; across >= 2 && l.cutsWords(g); across-- {
			best := labelGrid{}
			for _, h := range heights {
				try := place((paperW-2*m)/float64(across), h, 0)
				if !l.cutsWords(try) && (best.across == 0 || pages(try) < pages(best)) {
					best = try
				}
			}
			if best.across > 0 {
				g = best
			}
		}
		// Heights grow into the page, as far as that takes no more of them.
		rows := (n + g.across - 1) / g.across
		rows = (rows + pages(g) - 1) / pages(g)
		for h := min(most, (paperH-2*m-caption)/float64(rows)); h > g.h; h -= 0.5 {
			if try := place(g.w, h, 0); !l.cutsWords(try) {
				g = try
				break
			}
		}
	}
	// Pages share the rows, so that none is nearly empty.
	rows := (n + g.across - 1) / g.across
	g.down = (rows + pages(g) - 1) / pages(g)
	g.x = (paperW - float64(g.across)*g.stepX + g.stepX - g.w) / 2
	g.y = m + caption
	return g
}

// cutsWords says whether any color's name or count is not told in full on labels
// of this size. A title may be cut: it is on every one.
func (l labels) cutsWords(g labelGrid) bool {
	for i := range l.kit.Chart.Legend {
		name := drillName(l.kit, i)
		var told []string
		for _, o := range l.label(i, 0, 0, g.w, g.h) {
			if t, ok := o.(pdf.Text); ok {
				told = append(told, t.S)
				if start, cut := strings.CutSuffix(t.S, "…"); cut && !strings.HasPrefix(titleOf(l.kit, l.print), start) {
					return true
				}
			}
		}
		if name != "" && !strings.Contains(strings.Join(told, " "), name) {
			return true
		}
	}
	return false
}

func (l labels) pages() []*pdf.Page {
	g := l.grid()
	per := g.across * g.down
	var form lidForm
	if l.print.LabelRound.Given {
		form, _ = l.lidForm(min(l.print.LabelRound.Length.MM(), g.w, g.h) / 2)
	}
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
			pg.Add(l.lid(i, x+g.w/2, y+g.h/2, d/2, g.cut, form)...)
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
	if n := int(p.Copies); n > 1 {
		what += " of one of " + say.Number(n) + " copies"
	}
	pg.Add(pdf.Text{X: g.x, Y: g.y - 2.4, Size: 8, Ink: dim, S: letters.Shorten(letters.Regular, 8, pg.W-2*g.x, titleOf(l.kit, l.print)+" · "+stampOf(l.kit, p)+" · "+what+", to cut out")})
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
	face letters.Face
	size float64 // relative
	rank int
	s    string
	long bool    // may take a second line
	part float64 // of a line broken in two: points, both alike
	room bool    // s in small type, and a line to write on behind it
}

func (l labels) lines(i int) []labelLine {
	e := &l.kit.Chart.Legend[i]
	b := l.list.Lines[i]
	lines := []labelLine{
		{face: letters.Bold, size: 1.35, rank: 0, s: codeText(l.kit, e.Drill)},
		{face: letters.Regular, size: 1, rank: 2, s: drillName(l.kit, i), long: true},
		{face: letters.Bold, size: 1.05, rank: 1, s: say.Number(b.Ready()) + " drills"},
		{face: letters.Regular, size: 0.9, rank: 3, s: say.Number(b.Drills) + " and " + say.Number(b.Extra) + " extra"},
		{face: letters.Regular, size: 0.9, rank: 4, s: l.kindOf(e) + " · " + l.mark},
	}
	if lines[1].s == "" {
		lines = append(lines[:1], lines[2:]...)
	}
	if l.print.LabelFor == ForBag {
		lines = append(lines, labelLine{face: letters.Regular, size: 0.9, rank: 5, s: titleOf(l.kit, l.print)})
	}
	return append(lines, l.more(i)...)
}

// more returns what a label tells where it was asked for: weight and bags, and
// room for her code as long as there is none.
func (l labels) more(i int) (lines []labelLine) {
	b, s := l.list.Lines[i], l.list.Supply
	if grams, off := s.Weighed.Grams(b.Ready()); grams != "" {
		lines = append(lines, labelLine{face: letters.Regular, size: 0.9, rank: 3, s: grams + " ± " + off + " g"})
	}
	if s.Copies <= 1 && len(b.Bags) > 0 {
		lines = append(lines, labelLine{face: letters.Regular, size: 0.9, rank: 4, s: timesSign(s.Bags.Words(b.Bags))})
	}
	if l.kit.YourCode(l.kit.Chart.Legend[i].Drill) == "" {
		lines = append(lines, labelLine{face: letters.Regular, size: 1.4, rank: 6, s: "your code", room: true})
	}
	return lines
}

// moreHeight returns the height that a container's label takes for more, mm.
func (l labels) moreHeight() (most float64) {
	if l.print.LabelFor == ForBag { // high enough as it is
		return 0
	}
	for i := range l.kit.Chart.Legend {
		sum := 0.0
		for _, line := range l.more(i) {
			sum += 3.6 * line.size
		}
		most = max(most, sum)
	}
	return most
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
	sy := y + (h-side)/2
	if under {
		sy = y + (h-side-numH)/2
		ops = append(ops, pdf.Text{X: sx + side/2, Y: sy + side + numH*0.85, Size: numSize, Align: pdf.Center, S: number})
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
// than 7; lines of a high rank are left out if they don't fit. A long line is
// broken in two if all lines find room then and it comes out larger.
func setLines(lines []labelLine, x, y, w, h float64) []pdf.Op {
	const leading = 1.28
	total := func(lines []labelLine) (sum float64) {
		for _, l := range lines {
			sum += max(l.size, 0.9) * leading * letters.PointMM
		}
		return sum
	}
	const largest = 11
	if two := breakLong(lines, w, min(h/total(lines), largest)); len(two) > len(lines) && h/total(two) >= small/0.9 {
		lines = two
	} else if broken := breakLong(lines, w, small); h/total(broken) >= small/0.9 {
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
	unit := min(h/total(lines), largest)
	at := y + (h-unit*total(lines))/2
	var ops []pdf.Op
	for _, l := range lines {
		size := max(unit*l.size, small)
		if l.part > 0 {
			size = max(min(size, l.part), small)
		}
		for size > small && letters.Width(l.face, size, l.s) > w {
			size = max(size-0.25, small)
		}
		at += unit * max(l.size, 0.9) * leading * letters.PointMM
		if l.room {
			base, from := at-0.2*unit*l.size*letters.PointMM, letters.Width(letters.Regular, small, l.s)+1
			ops = append(ops, pdf.Text{X: x, Y: base, Size: small, Ink: dim, S: l.s}, pdf.Line{X1: x + from, Y1: base + 0.4, X2: x + w, Y2: base + 0.4, W: hair, Ink: gray})
			continue
		}
		ops = append(ops, pdf.Text{X: x, Y: at - 0.27*unit*l.size*letters.PointMM, Size: size, Face: l.face, S: letters.Shorten(l.face, size, w, l.s)})
	}
	return ops
}

// breakLong returns lines with the long ones that are wider than w mm at this
// size broken in two, at that size or as much smaller as they need.
func breakLong(lines []labelLine, w, size float64) []labelLine {
	var out []labelLine
	for _, l := range lines {
		if !l.long || letters.Width(l.face, size, l.s) <= w {
			out = append(out, l)
			continue
		}
		parts, at := letters.Wrap(l.face, size, w, 2, l.s), size
		for at > small && strings.Join(parts, " ") != l.s {
			at = max(at-0.25, small)
			parts = letters.Wrap(l.face, at, w, 2, l.s)
		}
		for _, part := range parts {
			l.s, l.size, l.part = part, 0.9, at
			out = append(out, l)
		}
	}
	return out
}
