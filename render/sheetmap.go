package render

import (
	"strconv"

	"kitwright/internal/measure"
	"kitwright/internal/say"
	"kitwright/render/letters"
	"kitwright/render/pdf"
)

// Cautions that stand on the first page of everything made at home.
var cautions = []string{
	"Small parts: keep drills away from children under three and from pets, who swallow them.",
	"Was one swallowed or breathed in: ask a doctor, or the vet. Sweep after each sitting.",
	"Blades: keep them away from all children; cut on a mat, away from your hand. Adhesives and sealers give off fumes: air the room.",
	"Print, share or sell a picture only if you have the rights to the photo.",
}

// tickRows is how many rows of boxes to tick off the map has room for; more
// go on a page of their own.
const tickRows = 14

// mapPages returns the first page: the picture with the sheets drawn over it,
// a box to tick off for each, what to do, and the cautions.
func (s *sheets) mapPages() []*pdf.Page {
	k := s.kit
	pg := &pdf.Page{W: s.w, H: s.h, Label: "Map", Header: "Map"}
	m := max(s.margin, 10)
	what := "Sheets to read"
	if s.build {
		what = "Sheets to build"
	}
	ops, y := pageTitle(m, m, s.w-2*m, what, titleOf(k, s.print)+" · "+s.stamp)
	pg.Add(ops...)
	f := &column{x: m, y: y + 1, w: s.w - 2*m}
	f.lines(letters.Regular, 9, dim, 3, say.Number(k.Chart.Cols)+" × "+say.Number(k.Chart.Rows)+" "+string(k.Drill.Shape)+" drills, "+mmText(k.Pitch)+" apart · "+
		say.Count(len(k.Chart.Legend), "color")+" · picture "+sizeText(k.Width(), k.Height(), s.print.Units)+" · "+say.Count(len(s.panels), "sheet")+" of "+s.print.Paper.label(s.print.Units)+" paper")
	pg.Add(f.ops...)
	out := []*pdf.Page{pg}
	top, left := f.y+3, &column{x: m, y: 0, w: s.w - 2*m}
	words := &column{x: m, w: s.w - 2*m}
	if beside := s.w > s.h; beside {
		const aside = 96.0 // for the words
		left.w = s.w - 2*m - 8 - aside
		words = &column{x: m + left.w + 8, y: top - 4, w: aside}
		s.howTo(words)
	} else { // measured here, set when it is known where they begin
		s.howTo(words)
	}
	ticks := s.tickRowsIn(left.w)
	separate := ticks > tickRows
	room := s.h - m - top
	if !separate {
		room -= tickStep*float64(ticks) + 4
	}
	if s.w <= s.h {
		room -= words.y
	}
	cell := min(left.w/float64(k.Chart.Cols), room/float64(k.Chart.Rows))
	pg.Add(s.mapOps(left.x+(left.w-cell*float64(k.Chart.Cols))/2, top, cell)...)
	at := top + cell*float64(k.Chart.Rows) + 4
	if separate {
		more := &pdf.Page{W: s.w, H: s.h, Label: "Ticks"}
		ops, y := pageTitle(m, m, s.w-2*m, "Sheets done", titleOf(k, s.print)+" · "+s.stamp)
		more.Add(ops...)
		more.Add(s.tickOps(m, y+2, s.w-2*m)...)
		out = append(out, more)
	} else {
		pg.Add(s.tickOps(left.x, at, left.w)...)
		at += tickStep * float64(ticks)
	}
	if s.w <= s.h {
		words = &column{x: m, y: at, w: s.w - 2*m}
		s.howTo(words)
	}
	pg.Add(words.ops...)
	return out
}

// mapOps draws the picture, its cells cell mm wide, with the outlines of the
// sheets and their numbers in the corners, where they hide little of it.
func (s *sheets) mapOps(x, y, cell float64) []pdf.Op {
	c := s.kit.Chart
	t := thumbnail(c, 400)
	ops := []pdf.Op{pdf.Area{X: x, Y: y, Pitch: min(cell*float64(c.Cols)/float64(t.Cols), cell*float64(c.Rows)/float64(t.Rows)), Lattice: t}}
	e, pale := black, white
	for i, pl := range s.panels {
		px, py := x+float64(pl.Cols.From)*cell, y+float64(pl.Rows.From)*cell
		pw, ph := float64(pl.Cols.size())*cell, float64(pl.Rows.size())*cell
		ops = append(ops, pdf.Rect{X: px, Y: py, W: pw, H: ph, Edge: &e, Line: 0.25})
		size := min(10, 0.4*ph/letters.PointMM)
		n := strconv.Itoa(i + 1)
		bw, bh := letters.Width(letters.Bold, max(size, small), n)+1.2, letters.CapHeight*max(size, small)*letters.PointMM+1.2
		if size < small || bw > 0.8*pw { // too many sheets: their numbers are on them
			continue
		}
		ops = append(ops, pdf.Rect{X: px, Y: py, W: bw, H: bh, Fill: &pale, Edge: &e, Line: 0.15},
			pdf.Text{X: px + 0.6, Y: py + bh - 0.6, Size: size, Face: letters.Bold, S: n})
	}
	return ops
}

// Sizes of the boxes to tick off, mm.
const (
	tickWide = 11.0
	tickStep = 4.8
)

// tickRowsIn returns how many rows the boxes of all sheets take in a width.
func (s *sheets) tickRowsIn(w float64) int {
	across := max(1, int(w/tickWide))
	return (len(s.panels) + across - 1) / across
}

// tickOps draws a box with its number for every sheet.
func (s *sheets) tickOps(x, y, w float64) []pdf.Op {
	across := max(1, int(w/tickWide))
	var ops []pdf.Op
	e := black
	for i := range s.panels {
		bx, by := x+float64(i%across)*tickWide, y+float64(i/across)*tickStep
		ops = append(ops, pdf.Rect{X: bx, Y: by, W: 3.2, H: 3.2, Edge: &e, Line: 0.2},
			pdf.Text{X: bx + 3.9, Y: by + 2.7, Size: 8, S: strconv.Itoa(i + 1)})
	}
	return ops
}

// howTo sets what to do with the sheets, and the cautions.
func (s *sheets) howTo(f *column) {
	f.heading("How to use them")
	steps := []string{
		"Cells are " + mmText(microns(s.cell)) + " here, larger than the drills, and the sheets don't overlap: they are for reading.",
		"Every sheet lists only its own colors and how many drills of each. Tick a color off when it is set, and a sheet when it is done.",
		"A viewer can hide tints, symbols or lines: they are layers.",
	}
	if s.build {
		n := max(1, min(50, s.panels[0].Cols.size()/10*10))
		steps = []string{
			"Print at 100 %, with no “fit to page”. Measure: " + say.Count(n, "drill") + " are " + mmText(s.kit.Pitch*measure.Length(n)) + " long, and the bar is 50 mm.",
			"Begin at sheet 1. Trim the left and upper edge of each next sheet where it says so, lay it over the lap until crosses and lines meet, and tape it from behind.",
			"Then clear double-sided film over the drilled picture and 2 to 3 mm beyond: tack one edge, peel a hand's width of liner at a time, press with a felt squeegee from the middle outward. Its upper liner is the cover until the last drill. (Common practice, no source.)",
			"A viewer can hide tints, symbols or lines: they are layers.",
		}
	}
	for _, t := range steps {
		f.lines(letters.Regular, 9.5, black, 3, t)
		f.y += 0.8
	}
	f.lines(letters.Regular, 9.5, black, 3, timesSign(s.print.Buying(s.kit).Sum())+". legend.pdf and kit.csv tell it color by color.")
	f.y += 0.8
	f.heading("Please mind")
	for _, t := range cautions {
		f.lines(letters.Regular, 9.5, black, 3, t)
		f.y += 0.8
	}
}

// tooSmall is the error of paper that holds no sheet.
func tooSmall(p Print) error {
	return say.Usage("use larger paper, or a smaller {sheet-cell}", "%s paper has no room for the drills", p.Paper.String())
}
