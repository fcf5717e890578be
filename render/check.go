package render

import (
	"cmp"
	"slices"

	"kitwright/chart"
	"kitwright/internal/measure"
	"kitwright/internal/say"
	"kitwright/kit"
	"kitwright/palettes"
	"kitwright/render/letters"
)

// maxSide is the longest side of a sheet, marks and bleed included: 14,400
// units of the PDF Reference (5.08 m) are more than some programs open, and
// 5 m is what an order is held to as well.
const maxSide = 5000 * measure.Millimeter

// The margin that the numbers need, and the one that film, frame and a hand
// need: common practice, no source.
const (
	leastMargin = 15 * measure.Millimeter
	usualMargin = 30 * measure.Millimeter
)

// mostLid is the largest lid there is a round label for.
const mostLid = 100 * measure.Millimeter

// Check says whether a kit can be printed this way, in words; k may be nil
// where there is no kit yet.
func (p Print) Check(k *kit.Kit) error {
	switch {
	case p.Margin < leastMargin:
		return say.Usage("30mm on every side is usual", "{margin} takes %s or more, for the numbers and the bars, not %s", measure.Length(leastMargin), p.Margin)
	case p.Margin > 500*measure.Millimeter:
		return say.Usage("30mm is usual", "{margin} takes 500mm at most, not %s", p.Margin)
	case p.Wrap > 200*measure.Millimeter:
		return say.Usage("40mm goes around usual bars", "{wrap} takes 200mm at most, not %s", p.Wrap)
	case p.Bleed > 20*measure.Millimeter:
		return say.Usage("3mm is usual", "{bleed} takes 20mm at most, not %s", p.Bleed)
	case p.FilmWidth.Given && (p.FilmWidth.Length < 50*measure.Millimeter || p.FilmWidth.Length > maxSide):
		return say.Usage("film is sold 300mm to 1500mm wide", "{film-width} takes 50mm to 5000mm, not %s", p.FilmWidth.Length)
	case p.MediaWidth.Given && (p.MediaWidth.Length < rollLeast || p.MediaWidth.Length > maxSide):
		return say.Usage("rolls are 610mm, 914mm, 1067mm, 1372mm or 1626mm wide", "{media-width} takes %s to 5000mm, not %s", measure.Length(rollLeast), p.MediaWidth.Length)
	case p.PanelOverlap > 100*measure.Millimeter:
		return say.Usage("10mm is enough to glue; 0 makes the panels butt", "{panel-overlap} takes 100mm at most, not %s", p.PanelOverlap)
	case p.SheetCell.Given && (p.SheetCell.Length < 2*measure.Millimeter || p.SheetCell.Length > 20*measure.Millimeter):
		return say.Usage("3.5mm to 5mm reads well", "{sheet-cell} takes 2mm to 20mm, not %s", p.SheetCell.Length)
	}
	if err := p.Supply.Check(nil); err != nil {
		return err
	}
	if err := p.Shop.check(); err != nil {
		return err
	}
	if err := p.checkPaper(); err != nil {
		return err
	}
	if err := p.checkLabels(); err != nil {
		return err
	}
	if err := p.checkMeasured(k); err != nil {
		return err
	}
	if k == nil {
		return nil
	}
	if err := checkKit(k); err != nil {
		return err
	}
	if err := p.Supply.Check(k.Chart); err != nil {
		return err
	}
	if err := p.checkLids(k); err != nil {
		return err
	}
	if err := p.planOptions(k).Check(k.Chart); err != nil {
		return err
	}
	return p.checkSheet(k)
}

// CheckLayout says what Check will say of the size of any kit of this layout
// and so many colors of a card, before they are chosen. Nothing that can be
// printed is refused; what passes may still turn out too long by as much as the
// legend of the colors chosen is wider than the narrowest there could be.
func (p Print) CheckLayout(l kit.Layout, card *palettes.Card, colors int) error {
	if err := p.Check(nil); err != nil {
		return err
	}
	k := &kit.Kit{Pitch: l.Pitch, Card: kit.CardRef{Builtin: card.Builtin}, Chart: &chart.Chart{Cols: l.Cols, Rows: l.Rows}}
	var codes, names []string
	for _, d := range card.Drills {
		codes, names = append(codes, d.Code), append(names, d.Name)
	}
	for _, words := range [][]string{codes, names} {
		slices.SortStableFunc(words, func(a, b string) int {
			return cmp.Compare(letters.Width(letters.Bold, 9, letters.Clean(a)), letters.Width(letters.Bold, 9, letters.Clean(b)))
		})
	}
	for i := range min(max(colors, 1), len(codes)) {
		k.Chart.Legend = append(k.Chart.Legend, chart.Entry{Drill: palettes.Drill{Code: codes[i], Name: names[i]}, Count: 1})
	}
	return p.checkSheet(k)
}

// checkPicture holds the size of a kit's picture against the settings.
func (p Print) checkPicture(k *kit.Kit) error {
	short := min(k.Width(), k.Height())
	if 2*p.FrameLip >= short {
		return say.Usage("a frame hides 5mm to 8mm on each side", "{frame-lip} %s would hide the whole picture", p.FrameLip)
	}
	if p.WrapFill == WrapMirror && p.Wrap > short {
		return say.Usage("use {wrap-fill} edge or a smaller wrap", "{wrap} %s is more than there is of the picture to mirror", p.Wrap)
	}
	return nil
}

// checkSheet holds the size of a kit's picture and canvas against the settings.
func (p Print) checkSheet(k *kit.Kit) error {
	if err := p.checkPicture(k); err != nil {
		return err
	}
	cut, err := layCanvas(k, p)
	if err != nil {
		return err
	}
	longest := 0.0
	for _, sheet := range cut.blanks() {
		w, h := sheet.W+2*sheet.Margin(), sheet.H+2*sheet.Margin()
		sx, sy := sheet.Factors()
		longest = max(longest, w*sx, h*sy)
	}
	if longest > maxSide.MM() {
		if q := p; p.Legend == LegendBeside {
			if q.Legend = LegendBelow; q.checkSheet(k) == nil {
				return say.Usage("the legend makes it so long: {legend} below puts it elsewhere", "the sheet would be %.2f m long, and print shops and viewers end at 5 m", longest/1000)
			}
		}
		return say.Usage("order a smaller picture or cut it in two", "the sheet would be %.2f m long, and print shops and viewers end at 5 m", longest/1000)
	}
	return nil
}

// checkFor is Check where there must be a kit.
func (p Print) checkFor(k *kit.Kit) error {
	if k == nil {
		return say.Failed("make a kit first", "there is no kit to print")
	}
	return p.Check(k)
}

func (p Print) checkPaper() error {
	w, h := p.Paper.Size.W, p.Paper.Size.H
	switch {
	case max(w, h) > maxSide:
		return say.Usage("home printers take a3 or tabloid at most", "paper of %s is too large", p.Paper.String())
	case 2*p.PaperMargin >= min(w, h):
		return say.Usage("5mm to 12mm is usual", "{paper-margin} %s leaves nothing of %s paper", p.PaperMargin, p.Paper.String())
	case min(w, h)-2*p.PaperMargin < 120*measure.Millimeter || max(w, h)-2*p.PaperMargin < 150*measure.Millimeter:
		return say.Usage("a4 or letter will do", "%s paper is too small to print on: it takes 120 x 150 mm inside its margins", p.Paper.String())
	}
	return nil
}

func (p Print) checkLabels() error {
	if d := p.LabelRound; d.Given && (d.Length < 15*measure.Millimeter || d.Length > mostLid) {
		return say.Usage("measure the lid, as in 25mm", "{label-round} takes 15mm to 100mm, not %s", d.Length)
	}
	l := p.LabelSheet
	if l == (LabelSheet{}) {
		return nil
	}
	if l.Label.W < 15*measure.Millimeter || l.Label.H < 8*measure.Millimeter {
		return say.Usage("labels of 25 x 10 mm or more can be read", "a label of %s is too small to print on", l.Label.String())
	}
	w := l.Left + measure.Length(l.Across)*l.Label.W + measure.Length(l.Across-1)*l.GapX
	h := l.Top + measure.Length(l.Down)*l.Label.H + measure.Length(l.Down-1)*l.GapY
	if w > p.Paper.Size.W || h > p.Paper.Size.H {
		return say.Usage("check the numbers on the label sheet's packet, and {paper}", "the labels reach %s x %s, beyond %s paper", w, h, p.Paper.String())
	}
	return nil
}

// checkKit refuses a kit whose numbers contradict each other: one edited by
// hand.
func checkKit(k *kit.Kit) error {
	c := k.Chart
	edited := func(format string, args ...any) error {
		return say.Failed("it may have been edited by hand: make the kit again, or restore the file", "the kit does not add up: "+format, args...)
	}
	if c == nil || c.Cols < 1 || c.Rows < 1 || len(c.Cells) != c.Cols*c.Rows {
		return edited("its cells do not fill its grid")
	}
	if k.Pitch < 100 || k.Pitch > 100_000 {
		return edited("its drills are %s apart", k.Pitch)
	}
	counts := make([]int, len(c.Legend))
	for i, v := range c.Cells {
		if int(v) >= len(counts) {
			return edited("drill %d has color %d, and there are %d", i+1, v+1, len(counts))
		}
		counts[v]++
	}
	for i, e := range c.Legend {
		if e.Count != counts[i] {
			return edited("color %d has %s in the legend and %s in the chart", i+1, say.Count(e.Count, "drill"), say.Number(counts[i]))
		}
	}
	return nil
}

// PitchWarning says so when a pitch leaves less than one percent of slack for
// drills of the given size, and is empty otherwise. That a row wants so much
// is common practice, no source.
func PitchWarning(pitch, drill measure.Length) say.Text {
	if drill <= 0 || pitch*100 >= drill*101 {
		return say.Text{}
	}
	return say.Textf("A pitch of %s leaves less than 1 percent slack for drills of %s: long rows may buckle. Try {pitch} %s.",
		mmText(pitch), mmText(drill), ProposePitch(drill))
}

// ProposePitch returns the pitch for drills that take this much space in a
// row: one percent more, up to the next hundredth of a millimeter.
func ProposePitch(drill measure.Length) measure.Length {
	const step = 10 * measure.Micrometer
	need := (drill*101 + 99) / 100
	return (need + step - 1) / step * step
}

// Advice returns what the run should tell about these settings, a sentence
// each: what the printer's bars led to, and the pitch that a measured row of
// drills asks for.
func (p Print) Advice(k *kit.Kit) []say.Text {
	out := p.measuredAdvice(k)
	if p.MeasuredRow != (RowLength{}) {
		drill := p.MeasuredRow.drill()
		out = append(out, say.Textf("Your drills take %s each: order with {pitch} %s (1 percent slack).", mmText(drill), ProposePitch(drill)))
		if k != nil {
			if w := PitchWarning(k.Pitch, drill); !w.Empty() {
				out = append(out, w)
			}
		}
	}
	if k != nil {
		out = append(out, p.fontAdvice(k)...)
	}
	if p.Margin < usualMargin {
		out = append(out, say.Textf("A {margin} of %s leaves little to hold the canvas by and to frame it: %s is usual.", mmText(p.Margin), mmText(usualMargin)))
	}
	if p.Wrap > 0 && p.FrameLip > 0 {
		out = append(out, say.Textf("A canvas with a wrap is usually hung without a frame: leave out {frame-lip} if it is."))
	}
	if k != nil && k.Chart != nil {
		if t := p.planOptions(k).FitWords(k.Chart.Cols, k.Chart.Rows); !t.Empty() {
			out = append(out, t)
		}
	}
	if t := p.fewerSheets(k); !t.Empty() {
		out = append(out, t)
	}
	if k != nil && k.Chart != nil {
		out = append(out, p.Buying(k).Warnings(k.Chart)...)
	}
	return append(out, p.shopAdvice(k)...)
}
