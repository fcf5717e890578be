// Package measure holds lengths and sizes as whole micrometers, and how they
// are written: "2.5mm", "30cm", "12in", "40x50cm".
//
// Begin with [Length]. Every type is a flag value (pflag.Value) whose String
// parses back through Set to the same value, and whose Set reads decimals with
// integers, so no length is ever rounded by a floating-point detour.
package measure

import (
	"strings"

	"kitwright/internal/say"
)

// Length is a length in whole micrometers, from 0 to [Longest].
type Length int

// Units of length.
const (
	Micrometer Length = 1
	Millimeter Length = 1000
	Centimeter Length = 10 * Millimeter
	Inch       Length = 25400 // exactly, by the international yard and pound agreement of 1959

	Longest = 1000 * 1000 * Millimeter // a kilometer: nothing here is near it
)

// ParseLength reads a decimal number with the unit cm, mm or in: "2.5mm", or
// "2,5 mm" as much of the world writes it; inches may be written inch, inches
// or " too. Zero needs no unit. What is finer than a micrometer is rounded to
// the nearest, halves up.
func ParseLength(s string) (Length, error) {
	number, unit := splitUnit(s)
	if unit == 0 {
		if v, ok := decimal(number, 1); ok && v == 0 {
			return 0, nil
		}
		if _, ok := decimal(number, 1); ok {
			return 0, say.Usage(say.Hint("say the unit: %smm or %scm", strings.TrimSpace(s), strings.TrimSpace(s)), "%q has no unit", s)
		}
		return 0, notALength(s)
	}
	v, ok := decimal(number, unit)
	if !ok {
		return 0, notALength(s)
	}
	return v, nil
}

func notALength(s string) error {
	return say.Usage("write a number and cm, mm or in, for example 2.5mm or 12in", "%q is not a length", s)
}

// splitUnit returns the text before the unit and the unit; 0 if there is none.
func splitUnit(s string) (string, Length) {
	s = strings.ToLower(strings.TrimSpace(s))
	for _, u := range []struct {
		name string
		unit Length
	}{
		{"mm", Millimeter}, {"cm", Centimeter}, {"in", Inch},
		{"inches", Inch}, {"inch", Inch}, {`"`, Inch}, {"″", Inch}, {"”", Inch}, {"''", Inch},
	} {
		if rest, ok := strings.CutSuffix(s, u.name); ok {
			return strings.TrimSpace(rest), u.unit
		}
	}
	return s, 0
}

// decimal reads an unsigned decimal number and returns it in units of unit,
// rounded to the nearest micrometer, halves up. It is not ok if the text is
// anything but digits with at most one point or comma (three digits
// behind a comma are left open to doubt, and not ok), or is longer than Longest.
func decimal(s string, unit Length) (Length, bool) {
	if before, after, ok := strings.Cut(s, ","); ok {
		if strings.ContainsAny(after, ",.") || len(after) == 3 { // 1,000 may stand for a thousand
			return 0, false
		}
		s = before + "." + after
	}
	whole, part, _ := strings.Cut(s, ".")
	if whole == "" && part == "" {
		return 0, false
	}
	var v Length
	for _, r := range whole {
		if r < '0' || r > '9' {
			return 0, false
		}
		v = v*10 + Length(r-'0')
		if v > Longest {
			return 0, false
		}
	}
	// num/den is the part after the point; digits beyond the twelfth cannot
	// move a micrometer, whose unit is at most 25400, except through a tie.
	num, den := Length(0), Length(1)
	for i, r := range part {
		if r < '0' || r > '9' {
			return 0, false
		}
		if i < 12 {
			num, den = num*10+Length(r-'0'), den*10
		}
	}
	v = v*unit + (2*num*unit+den)/(2*den)
	return v, v <= Longest
}

// String returns the length in millimeters, exactly: "2.5mm".
func (l Length) String() string { return l.In(Millimeter) + "mm" }

// In returns the length as a decimal number of units, exactly for mm and cm;
// in inches rounded to the fourth decimal.
func (l Length) In(unit Length) string {
	v := l
	if unit == Inch { // 1/10000 inch is 2.54 micrometers
		v, unit = (l*10000+Inch/2)/Inch, 10000
	}
	sign := ""
	if v < 0 {
		sign, v = "-", -v
	}
	s := sign + itoa(v/unit)
	rest := v % unit
	if rest == 0 {
		return s
	}
	digits := itoa(unit + rest)[1:] // unit is a power of ten
	return s + "." + strings.TrimRight(digits, "0")
}

func itoa(v Length) string {
	var b [20]byte
	i := len(b)
	for {
		i--
		b[i] = byte('0' + v%10)
		v /= 10
		if v == 0 {
			return string(b[i:])
		}
	}
}

// MM returns the length in millimeters for drawing.
func (l Length) MM() float64 { return float64(l) / 1000 }

// Set reads a length; see [ParseLength].
func (l *Length) Set(s string) error {
	v, err := ParseLength(s)
	if err == nil {
		*l = v
	}
	return err
}

// Type names the kind of value for help texts.
func (l *Length) Type() string { return "LENGTH" }
