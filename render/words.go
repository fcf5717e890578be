package render

import (
	"kitwright/internal/measure"
	"kitwright/kit"
)

// sizeText returns a size to the millimeter or to the hundredth of an inch:
// "40 × 50 cm", "15.75 × 19.69 in".
func sizeText(w, h measure.Length, u Units) string {
	return lengthNumber(w, u) + " × " + lengthNumber(h, u) + " " + string(u)
}

// lengthText returns one length the same way.
func lengthText(l measure.Length, u Units) string { return lengthNumber(l, u) + " " + string(u) }

func lengthNumber(l measure.Length, u Units) string {
	if u == Inches {
		hundredths := (l*100 + measure.Inch/2) / measure.Inch
		return (hundredths * measure.Centimeter / 100).In(measure.Centimeter)
	}
	return ((l + measure.Millimeter/2) / measure.Millimeter * measure.Millimeter).In(measure.Centimeter)
}

// mmText returns a short length exactly, "2.5 mm".
func mmText(l measure.Length) string { return l.In(measure.Millimeter) + " mm" }

// SizeWord returns the size of a kit's picture as a part of a name: "40x50cm".
func SizeWord(k *kit.Kit, p Print) string {
	return lengthNumber(k.Width(), p.Units) + "x" + lengthNumber(k.Height(), p.Units) + string(p.Units)
}
