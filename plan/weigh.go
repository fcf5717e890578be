package plan

import (
	"strconv"
	"strings"

	"kitwright/internal/say"
	"kitwright/internal/setting"
)

// Mass is a mass in whole micrograms.
type Mass int64

const (
	milligram Mass = 1000
	gram      Mass = 1_000_000
	mostMass       = 100_000 * gram
)

// Weighed is drills that were counted and laid on a scale, of 10 to a million
// drills. The zero value means "not weighed".
type Weighed struct {
	Drills int
	Weight Mass
	Step   Mass // of the scale's display
}

const weighedHint = "count some drills, weigh them and write as in 500=4.2g; with the scale's step as in 500=4g,1g"

// String writes the weighing as Set reads it, in grams.
func (w *Weighed) String() string {
	if *w == (Weighed{}) {
		return ""
	}
	start := strconv.Itoa(w.Drills) + "="
	for d, step := 0, gram; d <= 6; d, step = d+1, step/10 {
		if w.Step == step && w.Weight%step == 0 {
			return start + w.Weight.grams(d) + "g"
		}
	}
	return start + trimmed(w.Weight) + "g," + trimmed(w.Step) + "g"
}

// Set reads "500=4.2g", where the digits tell the scale's step, or
// "500=4.2g,0.5g" with the step behind. The empty text is "not weighed".
func (w *Weighed) Set(text string) error {
	if strings.TrimSpace(text) == "" {
		*w = Weighed{}
		return nil
	}
	number, mass, ok := strings.Cut(text, "=")
	n, isNumber := setting.WholeNumber(strings.TrimSpace(number), 1_000_000)
	if !ok || !isNumber || n < 10 {
		return say.Usage(weighedHint, "%q is not the weight of 10 or more drills", text)
	}
	mass, step, told := strings.Cut(strings.ReplaceAll(strings.ToLower(mass), " ", ""), "g,")
	if told {
		mass += "g"
	}
	v := Weighed{Drills: n}
	if v.Weight, v.Step, ok = readMass(mass); !ok {
		return say.Usage(weighedHint, "%q is not a weight", mass)
	}
	if told {
		if v.Step, _, ok = readMass(step); !ok || v.Step < 1 {
			return say.Usage(weighedHint, "%q is not the step of a scale", step)
		}
	}
	if each := v.Weight / Mass(n); each < milligram/10 || each > gram {
		return say.Usage("a usual drill weighs 5 to 15 mg: check the count and the unit", "%d drills of %sg would weigh %sg each", n, trimmed(v.Weight), trimmed(each))
	}
	if 2*v.Step > v.Weight {
		return say.Usage("weigh more drills at once, or use a finer scale", "a scale with steps of %sg cannot weigh %sg", trimmed(v.Step), trimmed(v.Weight))
	}
	*w = v
	return nil
}

func (w *Weighed) Type() string { return "N=GRAMS" }

// readMass reads a decimal number with the unit g, mg or kg, and returns what
// its last digit stands for.
func readMass(s string) (v, digit Mass, ok bool) {
	unit := gram
	switch s, ok = strings.CutSuffix(s, "g"); {
	case !ok:
		return 0, 0, false
	case strings.HasSuffix(s, "m"):
		s, unit = s[:len(s)-1], milligram
	case strings.HasSuffix(s, "k"):
		s, unit = s[:len(s)-1], 1000*gram
	}
	whole, part, pointed := strings.Cut(strings.Replace(s, ",", ".", 1), ".")
	w, okW := setting.WholeNumber(whole, 1_000_000)
	if !okW || pointed && part == "" {
		return 0, 0, false
	}
	v, digit = Mass(w)*unit, unit
	for _, r := range part {
		if digit /= 10; r < '0' || r > '9' || digit == 0 {
			return 0, 0, false
		}
		v += Mass(r-'0') * digit
	}
	return v, digit, v <= mostMass
}

// grams writes a mass in grams with so many decimals, rounded, halves up.
func (m Mass) grams(decimals int) string {
	step := gram
	for range decimals {
		step /= 10
	}
	n := (m + step/2) / step
	per := gram / step
	s := strconv.FormatInt(int64(n/per), 10)
	if decimals == 0 {
		return s
	}
	return s + "." + strconv.FormatInt(int64(per+n%per), 10)[1:]
}

// trimmed writes a mass in grams without zeros at its end.
func trimmed(m Mass) string {
	return strings.TrimSuffix(strings.TrimRight(m.grams(6), "0"), ".")
}

// Grams returns what so many drills weigh, in grams, and how far off that may
// be, with as many digits as that leaves sense; empty if nothing was weighed.
//
// A digital display may be off by half a step either way (JCGM 100:2008,
// F.2.2.1). Nothing else is in the figure: not the scale's own error, and not
// that drills differ from color to color.
func (w Weighed) Grams(drills int) (grams, off string) {
	if w.Drills == 0 {
		return "", ""
	}
	n, of := int64(drills), int64(w.Drills)
	half := func(num, den int64) Mass { return Mass((2*num + den) / (2 * den)) }
	v := half(n*int64(w.Weight), of)
	u := Mass((n*int64(w.Step) + 2*of - 1) / (2 * of)) // rounded up
	// Its first digit is told, and the second where the first is a 1.
	decimals, step := 6, Mass(1)
	for decimals > 0 && u/step >= 20 {
		decimals, step = decimals-1, step*10
	}
	u = (u + step - 1) / step * step
	return v.grams(decimals), u.grams(decimals)
}
