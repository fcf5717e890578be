package render

import (
	"strconv"
	"strings"

	"kitwright/internal/measure"
	"kitwright/internal/say"
	"kitwright/internal/setting"
	"kitwright/kit"
)

// Bars is what two check bars of a print, of 100, 150 or 200 mm, came out as.
// The zero value means "not measured".
type Bars struct{ Across, Down measure.Length }

func (b *Bars) String() string {
	if *b == (Bars{}) {
		return ""
	}
	return b.Across.String() + "," + b.Down.String()
}

// Set reads "148.8mm,200.8mm"; the empty text is "not measured".
func (b *Bars) Set(s string) error {
	if strings.TrimSpace(s) == "" {
		*b = Bars{}
		return nil
	}
	v, err := twoLengths(s, "give both bars, across and down, as in 148.8mm,200.8mm")
	if err != nil {
		return err
	}
	if barOf(v.Across) == 0 || barOf(v.Down) == 0 {
		return say.Usage("the bars of the test print are 150 mm and 200 mm long: what is 10 percent off was not printed at 100 %; what a canvas came out as is told by {measured-picture}", "the bars came out as %s and %s", v.Across, v.Down)
	}
	*b = v
	return nil
}

// twoLengths reads a length across and one down.
func twoLengths(s, try string) (v Bars, err error) {
	across, down, ok := strings.Cut(s, ",")
	if !ok {
		return v, say.Usage(try, "%q is not two lengths", s)
	}
	if err := v.Across.Set(across); err != nil {
		return v, err
	}
	return v, v.Down.Set(down)
}

// barOf returns how long the bar was meant to be that came out as long as this;
// 0 if none was. No two bars can be mistaken for each other.
func barOf(l measure.Length) measure.Length {
	for _, bar := range []measure.Length{100, 150, 200} {
		if bar *= measure.Millimeter; offBy(l, bar, 10) {
			return bar
		}
	}
	return 0
}

// offBy says whether a length is at most so many percent off another.
func offBy(l, from, percent measure.Length) bool {
	return max(l-from, from-l)*100 <= from*percent
}

func (b *Bars) Type() string { return "ACROSS,DOWN" }

// Picture is what a printed picture measures from its first to its last line.
// The zero value means "not measured".
type Picture Bars

func (m *Picture) String() string { return (*Bars)(m).String() }

// Set reads "499mm,401mm"; the empty text is "not measured".
func (m *Picture) Set(s string) error {
	if strings.TrimSpace(s) == "" {
		*m = Picture{}
		return nil
	}
	v, err := twoLengths(s, "give width and height, as in 499mm,401mm")
	if err == nil {
		*m = Picture(v)
	}
	return err
}

func (m *Picture) Type() string { return "ACROSS,DOWN" }

// What a ruler shows and a tape shows is known this well (our assumption): less
// is not made up for, as it would be moved by chance.
const (
	rulerError = 300 * measure.Micrometer
	tapeError  = 500 * measure.Micrometer
)

// measuredPair is one direction of what was measured.
type measuredPair struct{ is, want, within measure.Length }

// scale returns what everything must be multiplied by to come out right.
func (m measuredPair) scale() float64 {
	if m.is == 0 || m.ignored() {
		return 1
	}
	return float64(m.want) / float64(m.is)
}

// ignored says whether it may be an error of reading.
func (m measuredPair) ignored() bool { return max(m.is-m.want, m.want-m.is) <= m.within }

// measuredOf returns what was measured, across and down; nothing if nothing was.
func (p Print) measuredOf(k *kit.Kit) (m [2]measuredPair, ok bool) {
	switch {
	case p.MeasuredPicture != (Picture{}) && k != nil && k.Chart != nil:
		return [2]measuredPair{{p.MeasuredPicture.Across, k.Width(), tapeError}, {p.MeasuredPicture.Down, k.Height(), tapeError}}, true
	case p.Measured != (Bars{}):
		return [2]measuredPair{{p.Measured.Across, barOf(p.Measured.Across), rulerError}, {p.Measured.Down, barOf(p.Measured.Down), rulerError}}, true
	}
	return m, false
}

// printerScale returns what a print must be multiplied by, across and down, to
// come out right on the printer that was measured.
func (p Print) printerScale(k *kit.Kit) [2]float64 {
	m, _ := p.measuredOf(k)
	return [2]float64{m[0].scale(), m[1].scale()}
}

// scaledFor says on paper for which printer it was scaled; "" for none.
func (p Print) scaledFor(k *kit.Kit) string {
	m, _ := p.measuredOf(k)
	if p.printerScale(k) == [2]float64{1, 1} {
		return ""
	}
	told := func(i int) string {
		if m[i].ignored() {
			return "true"
		}
		return mmText(m[i].is) + " for " + mmText(m[i].want)
	}
	return "Scaled for one printer, which came out at " + told(0) + " across and " + told(1) + " down."
}

// checkMeasured refuses what cannot have been measured of this kit.
func (p Print) checkMeasured(k *kit.Kit) error {
	switch {
	case p.MeasuredPicture == (Picture{}):
		return nil
	case p.Measured != (Bars{}):
		return say.Usage("give the one that was measured last, of a print that nothing was made up for", "{measured} and {measured-picture} were both given")
	case k == nil || k.Chart == nil:
		return nil
	}
	if m, _ := p.measuredOf(k); !offBy(m[0].is, m[0].want, 10) || !offBy(m[1].is, m[1].want, 10) {
		return say.Usage("measure from the first line of the grid to the last, without margins", "{measured-picture} says %s across and %s down, and the picture is %s and %s", m[0].is, m[1].is, m[0].want, m[1].want)
	}
	return nil
}

// measuredAdvice says what was made up for, and what was not.
func (p Print) measuredAdvice(k *kit.Kit) (out []say.Text) {
	m, ok := p.measuredOf(k)
	if !ok {
		return nil
	}
	if s := p.printerScale(k); s != [2]float64{1, 1} {
		out = append(out, say.Textf("%s Print with the same settings, and measure again.", p.scaledFor(k)))
	}
	for i, way := range []string{"across", "down"} {
		if m[i].ignored() && m[i].is != m[i].want {
			out = append(out, say.Textf("%s %s instead of %s may be an error of reading, so nothing is made up for that way.", mmText(m[i].is), way, mmText(m[i].want)))
		}
	}
	return out
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

// Set reads "50=126mm"; the empty text is "not measured".
func (r *RowLength) Set(s string) error {
	if strings.TrimSpace(s) == "" {
		*r = RowLength{}
		return nil
	}
	number, length, ok := strings.Cut(s, "=")
	n, isNumber := setting.WholeNumber(strings.TrimSpace(number), 1000)
	if !ok || !isNumber || n < 5 {
		return say.Usage("lay 50 drills, or at least 5, against a ruler and write as in 50=126mm", "%q is not a measured row", s)
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

func (r *RowLength) Type() string { return "N=LENGTH" }

// drill returns the space that a drill takes, rounded up to a micrometer.
func (r RowLength) drill() measure.Length {
	return (r.Length + measure.Length(r.Drills) - 1) / measure.Length(r.Drills)
}
