package render

import (
	"math"

	"kitwright/internal/measure"
	"kitwright/kit"
)

// SheetSize returns the size of the canvas sheet once it is cut: the picture
// with wrap, margins and legend, without bleed and marks. What a printer's
// measured bars led to is not in it.
func SheetSize(k *kit.Kit, p Print) measure.Size {
	sheet := newCanvas(k, p).page()
	um := func(mm float64) measure.Length { return measure.Length(math.Round(mm * 1000)) }
	return measure.Size{W: um(sheet.W), H: um(sheet.H)}
}

// SheetOf returns the sizes of the canvas sheet as kit.json tells them.
func SheetOf(k *kit.Kit, p Print) *kit.Sheet {
	sheet := newCanvas(k, p).page()
	x, y := sheet.Factors()
	mm := func(v float64) float64 { return math.Round(v*1000) / 1000 }
	return &kit.Sheet{
		TrimWidth: mm(sheet.W), TrimHeight: mm(sheet.H),
		PageWidth: mm((sheet.W + 2*sheet.Margin()) * x), PageHeight: mm((sheet.H + 2*sheet.Margin()) * y),
	}
}

// ProposedPitch returns the pitch that the measured row asks for, if one was
// measured.
func (p Print) ProposedPitch() (measure.Length, bool) {
	if p.MeasuredRow == (RowLength{}) {
		return 0, false
	}
	return ProposePitch(p.MeasuredRow.drill()), true
}
