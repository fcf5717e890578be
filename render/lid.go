package render

import (
	"math"
	"strconv"

	"kitwright/internal/measure"
	"kitwright/internal/say"
	"kitwright/kit"
	"kitwright/render/letters"
	"kitwright/render/pdf"
)

// lidForm is how all labels for lids of one size are laid out.
type lidForm struct {
	side   float64 // of the symbol, share of the inner radius
	beside bool    // the number stands beside the symbol, else before the code
	short  bool    // counts are written "× 82"
}

// lidForm returns the roomiest form in which number, code and count of every
// color have room on lids of radius r. It is false if none does.
func (l labels) lidForm(r float64) (lidForm, bool) {
	for _, short := range []bool{false, true} {
		for _, beside := range []bool{true, false} {
			for _, side := range []float64{0.7, 0.6, 0.5} {
				f, all := lidForm{side, beside, short}, true
				for i := range l.kit.Chart.Legend {
					if _, full := l.lidWords(i, 0, 0, r, f); !full {
						all = false
						break
					}
				}
				if all {
					return f, true
				}
			}
		}
	}
	return lidForm{0.5, false, true}, false
}

// lidInside returns the radius within the ring of a lid of radius r.
func lidInside(r float64) float64 { return r - 0.6 - 0.09*r }

// lid draws a label for a lid of radius r about its middle: a ring of the
// color, the symbol, and as many words as the circle holds.
func (l labels) lid(i int, cx, cy, r float64, cut bool, f lidForm) []pdf.Op {
	e := &l.kit.Chart.Legend[i]
	c, edge, paper := e.Drill.RGB, gray, white
	ops := []pdf.Op{pdf.Circle{X: cx, Y: cy, R: r - 0.6, Fill: &c}, pdf.Circle{X: cx, Y: cy, R: lidInside(r), Fill: &paper, Edge: &edge, Line: 0.1}}
	if cut {
		ops = append(ops, pdf.Circle{X: cx, Y: cy, R: r, Edge: &edge, Line: hair})
	}
	words, _ := l.lidWords(i, cx, cy, r, f)
	return append(ops, words...)
}

// lidWords draws symbol and words within the ring of a lid. It is false if
// number, code and count don't all have room.
func (l labels) lidWords(i int, cx, cy, r float64, f lidForm) (ops []pdf.Op, full bool) {
	const air = 0.4 // to the ring
	in := lidInside(r)
	side := f.side * in
	e := &l.kit.Chart.Legend[i]
	number, code := strconv.Itoa(e.Number), codeText(l.kit, e.Drill)
	numSize := max(min(0.3*r/letters.PointMM, 12), small)
	// The upper corners of symbol and number touch the circle.
	wide := side
	if f.beside {
		wide = side + 0.8 + letters.Width(letters.Regular, numSize, number)
	} else {
		code = number + "  " + code
	}
	reach := in - air
	if wide >= 1.8*reach {
		return nil, false
	}
	top := cy - min(0.8*in, math.Sqrt(float64(reach*reach)-float64(wide*wide)/4))
	ops = append(ops, l.skin.drillOps(e, cx-wide/2, top, side)...)
	if f.beside {
		ops = append(ops, pdf.Text{X: cx + wide/2, Y: top + side/2 + letters.CapHeight*numSize*letters.PointMM/2, Size: numSize, Align: pdf.Right, S: number})
	}
	all := l.list.Lines[i].Ready()
	drills := say.Number(all) + " drills"
	if f.short {
		drills = "× " + say.Number(all)
	}
	lines := []labelLine{
		{face: letters.Bold, size: 1.2, s: code},
		{face: letters.Regular, size: 1, s: drills},
		{face: letters.Regular, size: 0.9, s: l.kindOf(e) + " · " + l.mark},
		{face: letters.Regular, size: 0.9, s: drillName(l.kit, i)},
	}
	unit := min(max(0.36*r, small/0.9), 10)
	y := top + side + 0.6
	for n, s := range lines {
		size := max(unit*s.size, small)
		room := func(size float64) float64 { // between the circle's sides, at the lower or upper edge of the line
			far := max(math.Abs(y+size*1.15*letters.PointMM+0.2*size*letters.PointMM-cy), math.Abs(y-cy))
			return 2 * math.Sqrt(max(0, float64(reach*reach)-float64(far*far)))
		}
		for size > small && letters.Width(s.face, size, s.s) > room(size) {
			size = max(size-0.25, small)
		}
		w := room(size)
		t := letters.Shorten(s.face, size, w, s.s)
		if t == "" || t != s.s && (n < 2 || w < 12) {
			return ops, n > 1 // too little of a word is worse than none
		}
		y += size * 1.15 * letters.PointMM
		ops = append(ops, pdf.Text{X: cx, Y: y, Size: size, Face: s.face, Align: pdf.Center, S: t})
	}
	return ops, true
}

// checkLids refuses lids that are too small for number, code and count of some
// color, and names the smallest that aren't.
func (p Print) checkLids(k *kit.Kit) error {
	if !p.LabelRound.Given {
		return nil
	}
	l := newLabels(k, p)
	holds := func(d measure.Length) bool {
		_, ok := l.lidForm(d.MM() / 2)
		return ok
	}
	d := p.LabelRound.Length
	if s := p.LabelSheet; s.Across > 0 {
		d = min(d, s.Label.W, s.Label.H)
	}
	if holds(d) {
		return nil
	}
	for more := d/measure.Millimeter*measure.Millimeter + measure.Millimeter; more <= mostLid; more += measure.Millimeter {
		if holds(more) {
			return say.Usage(say.Hint("use lids of %s or more, or {label-for} bag", more), "{label-round}: a lid of %s has no room for the number, code and count of every color", d)
		}
	}
	return say.Usage("use {label-for} bag, or a card with shorter codes", "{label-round}: no lid has room for the codes of this card")
}
