package measure

import (
	"strings"

	"kitwright/internal/say"
)

// Size is a width and a height. The zero Size means "not given"; any other has
// two positive sides.
type Size struct{ W, H Length }

// ParseSize reads "40x50cm", "8.5x11in", "40cmx500mm" or "40 by 50 cm", with the
// numbers and units of [ParseLength]. The empty text is the zero Size.
func ParseSize(s string) (Size, error) {
	text := strings.ToLower(strings.TrimSpace(s))
	if text == "" {
		return Size{}, nil
	}
	w, h, ok := strings.Cut(timesSign.Replace(text), "x")
	if !ok {
		return Size{}, notASize(s)
	}
	height, unitH := splitUnit(h)
	width, unitW := splitUnit(w)
	if unitH == 0 {
		if _, ok := decimal(height, 1); ok {
			return Size{}, say.Usage(say.Hint("say the unit: %scm or %sin", strings.TrimSpace(s), strings.TrimSpace(s)), "%q has no unit", s)
		}
		return Size{}, notASize(s)
	}
	if unitW == 0 {
		unitW = unitH
	}
	var z Size
	var okW, okH bool
	z.W, okW = decimal(width, unitW)
	z.H, okH = decimal(height, unitH)
	if !okW || !okH {
		return Size{}, notASize(s)
	}
	if z.W == 0 || z.H == 0 {
		return Size{}, say.Usage("give a width and a height above zero, for example 30x40cm", "a size of %q has no area", s)
	}
	return z, nil
}

// timesSign is what people write between width and height.
var timesSign = strings.NewReplacer("×", "x", " by ", "x", "*", "x")

func notASize(s string) error {
	return say.Usage("write width x height and the unit, for example 30x40cm or 8.5x11in", "%q is not a size", s)
}

// String returns the size in centimeters, exactly: "40x50cm".
func (z Size) String() string {
	if z == (Size{}) {
		return ""
	}
	return z.W.In(Centimeter) + "x" + z.H.In(Centimeter) + "cm"
}

// Set reads a size; see [ParseSize].
func (z *Size) Set(s string) error {
	v, err := ParseSize(s)
	if err == nil {
		*z = v
	}
	return err
}

// Type names the kind of value for help texts.
func (z *Size) Type() string { return "WxH" }

// Given says whether there is a size at all.
func (z Size) Given() bool { return z != Size{} }

// Turned returns the size with width and height swapped.
func (z Size) Turned() Size { return Size{W: z.H, H: z.W} }

// Auto is a length that may be left to the program: not given is not zero.
type Auto struct {
	Length Length
	Given  bool
}

// Or returns the length, or another if none was given.
func (a Auto) Or(l Length) Length {
	if a.Given {
		return a.Length
	}
	return l
}

// String returns "auto" or the length.
func (a Auto) String() string {
	if !a.Given {
		return "auto"
	}
	return a.Length.String()
}

// Set reads "auto", the empty text (auto too) or a length.
func (a *Auto) Set(s string) error {
	if t := strings.TrimSpace(strings.ToLower(s)); t == "" || t == "auto" {
		*a = Auto{}
		return nil
	}
	v, err := ParseLength(s)
	if err == nil {
		*a = Auto{Length: v, Given: true}
	}
	return err
}

// Type names the kind of value for help texts.
func (a *Auto) Type() string { return "LENGTH" }
