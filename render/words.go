package render

import (
	"strconv"

	"kitwright/internal/measure"
)

// thousands returns a number as people write it: "32,000".
func thousands(n int) string {
	s := strconv.Itoa(n)
	for i := len(s) - 3; i > 0 && s[i-1] != '-'; i -= 3 {
		s = s[:i] + "," + s[i:]
	}
	return s
}

// count returns a number with its noun, "1 drill" or "32,000 drills".
func count(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return thousands(n) + " " + noun + "s"
}

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
