package render

import (
	"math"

	"kitwright/internal/measure"
	"kitwright/kit"
)

// SheetSize returns the size of the canvas sheet once it is cut, and its panels
// are joined: the picture with wrap, margins and legend, without bleed and
// marks. What a printer's measured bars led to is not in it.
func SheetSize(k *kit.Kit, p Print) measure.Size {
	c := laid(k, p).c
	um := func(mm float64) measure.Length { return measure.Length(math.Round(mm * 1000)) }
	return measure.Size{W: um(c.sheetW), H: um(c.sheetH)}
}

// SheetOf returns the sizes of the canvas sheet as kit.json tells them; the page
// is the first panel's where there are some.
func SheetOf(k *kit.Kit, p Print) *kit.Sheet {
	cut := laid(k, p)
	page := cut.pages()[0]
	x, y := page.Factors()
	mm := func(v float64) float64 { return math.Round(v*1000) / 1000 }
	return &kit.Sheet{
		TrimWidth: mm(cut.c.sheetW), TrimHeight: mm(cut.c.sheetH),
		PageWidth: mm((page.W + 2*page.Margin()) * x), PageHeight: mm((page.H + 2*page.Margin()) * y),
	}
}

// laid returns how a canvas goes onto the roll; in one piece where it cannot,
// which the check says.
func laid(k *kit.Kit, p Print) *panels {
	cut, err := layCanvas(k, p)
	if err != nil {
		cut = &panels{c: newCanvas(k, p)}
	}
	return cut
}

// ProposedPitch returns the pitch that the measured row asks for, if one was
// measured.
func (p Print) ProposedPitch() (measure.Length, bool) {
	if p.MeasuredRow == (RowLength{}) {
		return 0, false
	}
	return ProposePitch(p.MeasuredRow.drill()), true
}
