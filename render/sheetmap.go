package render

import (
	"strconv"

	"kitwright/internal/say"
	"kitwright/render/letters"
	"kitwright/render/pdf"
)

// Cautions that stand on the first page of everything made at home.
var cautions = []string{
	"Small parts: keep drills away from children under three and from pets, who swallow them.",
	"Blades cut: cut on a mat, away from your hand. Adhesives and sealers give off fumes: air the room.",
	"Print, share or sell a picture only if you have the rights to the photo.",
}

// mapPage returns the first page: the picture with the sheets drawn over it,
// what to do, and the cautions.
func (s *sheets) mapPage(panels []panel) *pdf.Page {
	k := s.kit
	pg := &pdf.Page{W: s.w, H: s.h, Label: "Map", Header: "Map"}
	m := max(s.margin, 10)
	what := "Home pages to read"
	if s.build {
		what = "Home pages to build"
	}
	ops, y := pageTitle(m, m, s.w-2*m, what, titleOf(k))
	pg.Add(ops...)
	f := &column{x: m, y: y + 1, w: s.w - 2*m}
	f.lines(letters.Regular, 9, dim, 3, say.Number(k.Chart.Cols)+" × "+say.Number(k.Chart.Rows)+" "+string(k.Drill.Shape)+" drills, "+mmText(k.Pitch)+" apart · "+
		say.Count(len(k.Chart.Legend), "color")+" · picture "+sizeText(k.Width(), k.Height(), s.print.Units)+" · "+say.Count(len(panels), "sheet")+" of "+s.print.Paper.label(s.print.Units)+" paper")
	pg.Add(f.ops...)

	words := &column{x: m, w: s.w - 2*m}
	s.howTo(words)
	below := words.y
	portrait := s.h >= s.w
	picW, picH := s.w-2*m, s.h-m-f.y-below-8
	if !portrait { // words beside the picture
		half := (s.w - 2*m - 8) / 2
		words = &column{x: m + half + 8, w: half}
		s.howTo(words)
		picW, picH = half, s.h-m-f.y-6
	}
	x, top := m, f.y+4
	cell := min(picW/float64(k.Chart.Cols), picH/float64(k.Chart.Rows))
	w, h := cell*float64(k.Chart.Cols), cell*float64(k.Chart.Rows)
	if portrait {
		x = (s.w - w) / 2
	}
	t := thumbnail(k.Chart, 240)
	pg.Add(pdf.Area{X: x, Y: top, Pitch: min(w/float64(t.Cols), h/float64(t.Rows)), Lattice: t})
	for i, pl := range panels {
		e := black
		px, py := x+float64(pl.Cols.From)*cell, top+float64(pl.Rows.From)*cell
		pw, ph := float64(pl.Cols.size())*cell, float64(pl.Rows.size())*cell
		pg.Add(pdf.Rect{X: px, Y: py, W: pw, H: ph, Edge: &e, Line: 0.3})
		size := min(13, 0.5*min(pw, ph)/letters.PointMM/letters.CapHeight)
		if size < small { // hundreds of sheets: their numbers are on them
			continue
		}
		n := strconv.Itoa(i + 1)
		nw := letters.Width(letters.Bold, size, n)
		pad := 0.35 * size * letters.PointMM
		tick := 0.8 * size * letters.PointMM
		bw, bh := nw+tick+3*pad, size*letters.PointMM*1.15
		if bw > pw { // room for the number only
			tick = 0
			bw = nw + 2*pad
		}
		bx, by := px+(pw-bw)/2, py+(ph-bh)/2
		pale := white
		pg.Add(pdf.Rect{X: bx, Y: by, W: bw, H: bh, Fill: &pale},
			pdf.Text{X: bx + pad, Y: by + bh/2 + letters.CapHeight*size*letters.PointMM/2, Size: size, Face: letters.Bold, S: n})
		if tick > 0 {
			pg.Add(pdf.Rect{X: bx + bw - pad - tick, Y: by + (bh-tick)/2, W: tick, H: tick, Edge: &e, Line: 0.2})
		}
	}
	if portrait {
		words.y = 0
		words.ops = nil
		words.y = s.h - m - below
		s.howTo(words)
	} else {
		words.ops = nil
		words.y = f.y + 1
		s.howTo(words)
	}
	pg.Add(words.ops...)
	return pg
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
		steps = []string{
			"Print at 100 %, with no “fit to page”. Measure: ten drills are " + mmText(s.kit.Pitch*10) + " long.",
			"Begin at sheet 1. Trim the left and upper edge of each next sheet where it says so, lay it over the lap until crosses and lines meet, and tape it from behind.",
			"Then lay clear double-sided film over the drilled picture and 2 to 3 mm beyond. Its liner is the cover until the last drill. (Common practice, no source.)",
			"A viewer can hide tints, symbols or lines: they are layers.",
		}
	}
	for _, t := range steps {
		f.lines(letters.Regular, 9.5, black, 3, t)
		f.y += 0.8
	}
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
