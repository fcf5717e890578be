package render

import (
	"strconv"
	"strings"

	"kitwright/internal/measure"
	"kitwright/internal/say"
)

// Bars is what the two 100 mm check bars of a print came out as. The zero
// value means "not measured".
type Bars struct{ Across, Down measure.Length }

func (b *Bars) String() string {
	if *b == (Bars{}) {
		return ""
	}
	return b.Across.String() + "," + b.Down.String()
}

// Set reads "99.2mm,100.4mm"; the empty text is "not measured".
func (b *Bars) Set(s string) error {
	if strings.TrimSpace(s) == "" {
		*b = Bars{}
		return nil
	}
	across, down, ok := strings.Cut(s, ",")
	if !ok {
		return say.Usage("give both bars, across and down, as in 99.2mm,100.4mm", "%q is not two lengths", s)
	}
	var v Bars
	if err := v.Across.Set(across); err != nil {
		return err
	}
	if err := v.Down.Set(down); err != nil {
		return err
	}
	const least, most = 90 * measure.Millimeter, 110 * measure.Millimeter
	if v.Across < least || v.Across > most || v.Down < least || v.Down > most {
		return say.Usage("a bar under 90 mm or over 110 mm was not printed at 100 %: print it again first", "the bars came out as %s and %s", v.Across, v.Down)
	}
	*b = v
	return nil
}

func (b *Bars) Type() string { return "lengths" }

// scale returns what everything must be multiplied by for the bars to come
// out right.
func (b Bars) scale() [2]float64 {
	if b == (Bars{}) {
		return [2]float64{1, 1}
	}
	return [2]float64{100 / b.Across.MM(), 100 / b.Down.MM()}
}

// RowLength is a row of drills laid against a ruler. The zero value means "not
// measured".
type RowLength struct {
	Drills int
	Length measure.Length
}

func (r *RowLength) String() string {
	if *r == (RowLength{}) {
		return ""
	}
	return strconv.Itoa(r.Drills) + "=" + r.Length.String()
}

// Set reads "20=50.4mm"; the empty text is "not measured".
func (r *RowLength) Set(s string) error {
	if strings.TrimSpace(s) == "" {
		*r = RowLength{}
		return nil
	}
	number, length, ok := strings.Cut(s, "=")
	n, isNumber := wholeNumber(strings.TrimSpace(number), 1000)
	if !ok || !isNumber || n < 5 {
		return say.Usage("lay 5 or more drills against a ruler and write as in 20=50.4mm", "%q is not a measured row", s)
	}
	v := RowLength{Drills: n}
	if err := v.Length.Set(length); err != nil {
		return err
	}
	if d := v.drill(); d < 500*measure.Micrometer || d > 20*measure.Millimeter {
		return say.Usage("count the drills again", "%d drills in %s would be %s each", n, v.Length, d)
	}
	*r = v
	return nil
}

func (r *RowLength) Type() string { return "row" }

// drill returns the space that a drill takes, rounded up to a micrometer.
func (r RowLength) drill() measure.Length {
	return (r.Length + measure.Length(r.Drills) - 1) / measure.Length(r.Drills)
}
