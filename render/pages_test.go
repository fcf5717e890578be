package render

import (
	"errors"
	"fmt"
	"io"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/measure"
	"kitwright/internal/say"
	"kitwright/kit"
	"kitwright/palettes"
	"kitwright/render/letters"
	"kitwright/render/pdf"
)

func TestFilmStrips(t *testing.T) {
	given := func(l measure.Length) measure.Auto { return measure.Auto{Length: l, Given: true} }
	k := testKit(t, 160, 200, 5, kit.Square) // 400 x 500 mm
	for _, c := range []struct {
		width   measure.Auto
		strips  []strip
		upright bool
	}{
		{measure.Auto{}, []strip{{0, 160}}, true},
		{given(600000), []strip{{0, 160}}, true},
		{given(405000), []strip{{0, 160}}, true},
		{given(404999), []strip{{0, 150}, {150, 160}}, true}, // the overhang on both sides doesn't fit
		{given(300000), []strip{{0, 110}, {110, 160}}, true},
		{given(204999), []strip{{0, 80}, {80, 160}}, true},
	} {
		strips, upright := filmStrips(k, c.width)
		assert.Equal(t, c.upright, upright, c.width)
		if c.width.Length == 204999 { // 80 columns and the overhang are 202.5 mm
			assert.Equal(t, c.strips, strips)
			continue
		}
		assert.Equal(t, c.strips, strips, c.width)
	}
	wide := testKit(t, 300, 40, 5, kit.Square) // 750 x 100 mm: strips run from side to side
	strips, upright := filmStrips(wide, given(110000))
	assert.Equal(t, []strip{{0, 40}}, strips)
	assert.False(t, upright)

	// Whatever the roll, the strips cover every line once and fit the roll.
	for width := 50 * measure.Millimeter; width < 700*measure.Millimeter; width += 7300 {
		strips := cutStrips(160, 2500, width)
		at := 0
		for i, s := range strips {
			require.Equal(t, at, s.From)
			need := measure.Length(s.To-s.From) * 2500
			if i == 0 {
				need += filmOver
			}
			if i == len(strips)-1 {
				need += filmOver
			}
			require.LessOrEqual(t, need, width, "%v of %v", s, strips)
			at = s.To
		}
		require.Equal(t, 160, at)
	}
}

func TestTicketSaysWhatTheShopNeeds(t *testing.T) {
	k := testKit(t, 160, 200, 12, kit.Square)
	p := DefaultPrint()
	p.Wrap = 40000
	require.NoError(t, p.FilmWidth.Set("300mm"))
	text := strings.Join(strings.Fields(run(t, "pdftotext", "-layout", pdfFile(t, func(w io.Writer) error { return Ticket(w, k, p) }), "-")), " ")
	for _, want := range []string{
		"40 × 50 cm", "Print at 100 %", "The bar below the picture measures 480 mm, the one beside it 580 mm, each within 1 mm", "Not mirrored", "Smooth, fine-weave canvas, matte, with no varnish, laminate or other top coat", "Dry all the way through",
		"Clear double-sided film", "2 to 3 mm beyond", "Never on the margins or the wrap", "columns 1–110, 111–160", "never overlap",
		"it is the cover", "common practice, without a published source", "comes first",
	} {
		assert.Contains(t, text, want)
	}
}

func TestBarError(t *testing.T) {
	// A bar as long as the side moves the last drill by as much as it is off: half
	// of 2.5 mm is 1.25 mm, and a ruler shows half millimeters.
	assert.Equal(t, measure.Length(1000), barError(500, 500_000, 2500))
	assert.Equal(t, measure.Length(500), barError(100, 190_000, 2500), "a bar half as long")
	assert.Equal(t, measure.Length(500), barError(100, 2_000_000, 2500), "never less than a ruler shows")
	assert.Equal(t, measure.Length(1000), barError(500, 500_000, 6000), "never more than 1 mm")
}

func TestPitches(t *testing.T) {
	assert.Equal(t, []measure.Length{2450, 2480, 2500, 2530, 2550}, pitches(2500))
	assert.Equal(t, []measure.Length{2740, 2770, 2800, 2830, 2860}, pitches(2800))
	assert.Equal(t, measure.Length(2537), pitches(2537)[2], "the nominal one stays as it is")
}

// The test print shows every code and, in the trace, every symbol at real size
// and rows of 50 at each pitch.
func TestTestPrintShowsEverything(t *testing.T) {
	k := testKit(t, 60, 50, 60, kit.Square)
	p := DefaultPrint()
	path := pdfFile(t, func(w io.Writer) error { return TestPrint(w, k, p) })
	text := run(t, "pdftotext", "-layout", path, "-")
	for _, e := range k.Chart.Legend {
		assert.Contains(t, text, e.Drill.Code)
	}
	var glyphs []traced
	for _, g := range trace(t, path, 1) {
		if strings.HasSuffix(g.font, "Symbols") {
			glyphs = append(glyphs, g)
		}
	}
	require.Len(t, glyphs, 5*50+5*100+60)
	for i, pitch := range pitches(k.Pitch) {
		row := glyphs[50*i : 50*i+50]
		assert.InDelta(t, 49*pitch.MM(), row[49].x-row[0].x, 0.002, "a row at %s", pitch)
	}
	seen := map[rune]bool{}
	for _, g := range glyphs[750:] {
		seen[g.r] = true
		assert.InDelta(t, 2.5, g.size*letters.PointMM, 0.002)
	}
	assert.Len(t, seen, 60)
}

// What was measured is made up for: bars of 100 mm become 100.81 and 99.60 in
// the file, and the page of a canvas grows with them.
func TestMeasuredBarsAreMadeUpFor(t *testing.T) {
	k := testKit(t, 30, 20, 5, kit.Square)
	p := DefaultPrint()
	plain := trace(t, pdfFile(t, func(w io.Writer) error { return Canvas(w, k, p) }), 1)
	require.NoError(t, p.Measured.Set("99.2mm,100.4mm"))
	scaled := trace(t, pdfFile(t, func(w io.Writer) error { return Canvas(w, k, p) }), 1)
	require.Greater(t, len(scaled), len(plain), "the sheet says that it is scaled")
	last := 30*20 - 1
	assert.InDelta(t, (plain[last].x-plain[0].x)*100/99.2, scaled[last].x-scaled[0].x, 0.002)
	assert.InDelta(t, (plain[last].y-plain[0].y)*100/100.4, scaled[last].y-scaled[0].y, 0.002)
}

// The ticket tells the sheet's size as the file has it, so that nobody takes
// the two for a mistake.
func TestTicketAgreesWithAScaledFile(t *testing.T) {
	k := testKit(t, 160, 120, 5, kit.Square)
	p := DefaultPrint()
	ticket := func() string {
		path := pdfFile(t, func(w io.Writer) error { return Ticket(w, k, p) })
		return strings.Join(strings.Fields(run(t, "pdftotext", "-layout", path, "-")), " ")
	}
	assert.NotContains(t, ticket(), "Sheet in the file")
	assert.Contains(t, ticket(), "one page, true scale")

	require.NoError(t, p.Measured.Set("99.2mm,100.4mm"))
	box := strings.Fields(regexp.MustCompile(`TrimBox:.*`).FindString(
		run(t, "pdfinfo", "-box", pdfFile(t, func(w io.Writer) error { return Canvas(w, k, p) }))))
	require.Len(t, box, 5)
	var at [4]float64
	for i := range at {
		var err error
		at[i], err = strconv.ParseFloat(box[i+1], 64)
		require.NoError(t, err)
	}
	text := ticket()
	assert.Contains(t, text, fmt.Sprintf("%.1f × %.1f mm, scaled for the printer", (at[2]-at[0])*25.4/72, (at[3]-at[1])*25.4/72))
	assert.Contains(t, text, "came out at 99.2 mm for 100 mm across and 100.4 mm for 100 mm down")
	assert.NotContains(t, text, "true scale")
}

// However far off a printer is, nothing on a page of fixed size is scaled off
// the paper.
func TestScaledPagesStayOnThePaper(t *testing.T) {
	k := testKit(t, 120, 160, 60, kit.Square)
	p := DefaultPrint()
	p.Sheets = SheetsBuild
	require.NoError(t, p.PaperMargin.Set("3mm"))
	for _, bars := range []string{"90mm,90mm", "99.2mm,95mm", "110mm,90mm"} {
		require.NoError(t, p.Measured.Set(bars))
		s, err := newSheets(k, p)
		require.NoError(t, err)
		for _, pg := range append(s.pages(), testPages(k, p)...) {
			sx, sy := pg.Factors()
			require.True(t, pg.FixedBox)
			for _, o := range pg.Ops {
				x0, y0, x1, y1 := pdf.Bounds(o)
				for _, x := range []float64{x0, x1} {
					assert.LessOrEqual(t, math.Abs(x-pg.W/2)*sx, pg.W/2+0.01, "%s: %T", bars, o)
				}
				for _, y := range []float64{y0, y1} {
					assert.LessOrEqual(t, math.Abs(y-pg.H/2)*sy, pg.H/2+0.01, "%s: %T", bars, o)
				}
			}
		}
	}
}

func TestLabelPagesShareTheRows(t *testing.T) {
	p := DefaultPrint().In("en_US")
	p.LabelFor = ForBag // three across and six down on Letter
	for colors, want := range map[int][]int{18: {18}, 19: {12, 7}, 37: {15, 15, 7}, 60: {15, 15, 15, 15}} {
		var got []int
		for _, pg := range newLabels(testKit(t, 30, 20, colors, kit.Square), p).pages() {
			n := 0
			for _, o := range pg.Ops {
				if tx, ok := o.(pdf.Text); ok && strings.HasPrefix(tx.S, "no. ") {
					n++
				}
			}
			got = append(got, n)
		}
		assert.Equal(t, want, got, "%d colors", colors)
	}
}

// A name too long for one line of a label takes two where the label is high
// enough for all its lines.
func TestLabelsTellLongNames(t *testing.T) {
	k := testKit(t, 30, 20, 6, kit.Round)
	k.Chart.Legend[2].Drill.Name = "moderate yellowish brown sand"
	sheet := DefaultPrint()
	require.NoError(t, sheet.LabelSheet.Set("63.5x38.1mm,3x7,7.2x15.1mm,2.5x0mm"))
	bag := DefaultPrint()
	bag.LabelFor = ForBag
	for _, p := range []Print{bag, sheet} {
		var lines []string
		var sizes []float64
		for _, o := range newLabels(k, p).pages()[0].Ops {
			if tx, ok := o.(pdf.Text); ok {
				if strings.HasPrefix(tx.S, "moderate ") || strings.HasSuffix(tx.S, " sand") {
					assert.Greater(t, tx.Size, small+1.5, "%q takes two lines to be larger", tx.S)
					sizes = append(sizes, tx.Size)
				}
				lines = append(lines, tx.S)
			}
		}
		assert.Contains(t, strings.Join(lines, " "), "moderate yellowish brown sand")
		require.Len(t, sizes, 2)
		assert.Equal(t, sizes[0], sizes[1], "both parts alike")
	}
}

// A name that takes two lines takes nobody the room to write her code.
func TestLongNamesLeaveRoomForYourCode(t *testing.T) {
	for _, n := range []int{8, 100} {
		k := testKit(t, 60, 50, n, kit.Square)
		for i := range k.Chart.Legend {
			k.Chart.Legend[i].Drill.Name = "very dark grayish reddish brown"
		}
		room, names := 0, 0
		for _, pg := range newLabels(k, DefaultPrint()).pages() {
			for _, o := range pg.Ops {
				if tx, ok := o.(pdf.Text); ok && tx.S == "your code" {
					room++
				} else if ok && strings.HasPrefix(tx.S, "very dark") {
					names++
				}
			}
		}
		assert.Equal(t, n, names)
		assert.Equal(t, n, room, "%d colors", n)
	}
}

// A fold of the wrap isn't taken for a tick of the check bar beside it.
func TestFoldsKeepOffTheCheckBar(t *testing.T) {
	p := DefaultPrint()
	p.Wrap = 38000
	c := newCanvas(testKit(t, 160, 120, 5, kit.Square), p)
	bar, folds := c.x-c.wrap-barOff, 0
	for _, o := range c.wrapWords() {
		if l, ok := o.(pdf.Line); ok && l.Y1 == l.Y2 && l.X1 < c.x {
			folds++
			assert.Greater(t, min(l.X1, l.X2), bar+1)
		}
	}
	assert.Equal(t, 2, folds)
}

func TestWithExtra(t *testing.T) {
	p := DefaultPrint()
	for n, extra := range map[int]int{1: 20, 200: 20, 201: 21, 1000: 100, 2991: 300, 50000: 300} {
		all, got := p.WithExtra(n)
		assert.Equal(t, extra, got, n)
		assert.Equal(t, n+extra, all)
	}
	p.Extra, p.ExtraLeast = 0, 0
	all, _ := p.WithExtra(7)
	assert.Equal(t, 7, all)
}

func TestLabelsLieWhereTheSheetHasThem(t *testing.T) {
	k := testKit(t, 30, 20, 25, kit.Square)
	p := DefaultPrint()
	require.NoError(t, p.LabelSheet.Set("63.5x38.1mm,3x7,7.2x15.1mm,2.5x0mm"))
	l := newLabels(k, p)
	pages := l.pages()
	require.Len(t, pages, 2, "21 on a sheet")
	var swatches []pdf.Rect
	for _, pg := range pages {
		for _, o := range pg.Ops {
			if r, ok := o.(pdf.Rect); ok && r.H > 30 {
				swatches = append(swatches, r)
			}
		}
	}
	require.Len(t, swatches, 25)
	for i, s := range swatches {
		x, y := 7.2+float64(i%21%3)*66, 15.1+float64(i%21/3)*38.1
		assert.InDelta(t, 2.5, s.X-x, 0.001, "inside label %d", i)
		assert.InDelta(t, 2.5, s.Y-y, 0.001, "inside label %d", i)
	}
	text := run(t, "pdftotext", "-layout", pdfFile(t, func(w io.Writer) error { return Labels(w, k, p) }), "-")
	for i, e := range k.Chart.Legend {
		all, _ := p.WithExtra(e.Count)
		assert.Contains(t, text, e.Drill.Code, i)
		assert.Contains(t, text, say.Number(all)+" drills", i)
	}
	assert.Contains(t, text, "square, plain")
}

func TestLegendCardIsInBothOrders(t *testing.T) {
	k := testKit(t, 30, 40, 33, kit.Round)
	pages := strings.Split(run(t, "pdftotext", "-layout", pdfFile(t, func(w io.Writer) error { return Legend(w, k, DefaultPrint()) }), "-"), "\f")
	order := map[string][]string{}
	for _, pg := range pages {
		how := ""
		for _, l := range strings.Split(pg, "\n") {
			if rest, ok := strings.CutPrefix(strings.TrimSpace(l), "Legend, "); ok {
				how = strings.SplitN(rest, " (", 2)[0]
			}
			if at := strings.Index(l, "SR-"); at >= 0 {
				order[how] = append(order[how], l[at:at+6])
			}
		}
	}
	require.Len(t, order["by code"], 33)
	require.Len(t, order["by symbol"], 33)
	assert.IsIncreasing(t, order["by code"])
	name := map[string]string{}
	for _, e := range k.Chart.Legend {
		name[e.Drill.Code] = e.Symbol.Name
	}
	for i, c := range order["by symbol"][1:] {
		assert.False(t, naturalLess(name[c], name[order["by symbol"][i]]), "%s before %s", name[order["by symbol"][i]], name[c])
	}
}

func TestNaturalLess(t *testing.T) {
	sorted := []string{"2", "10", "a9", "A10", "SR-041", "sr-100", "SR-0200", "t"}
	for i := range sorted[1:] {
		assert.True(t, naturalLess(sorted[i], sorted[i+1]), "%s before %s", sorted[i], sorted[i+1])
		assert.False(t, naturalLess(sorted[i+1], sorted[i]))
	}
}

// WCAG 2.1 contrast of symbols in every color of the built-in cards, and of
// every 17th value of all sRGB, by the values in the file and as predicted in
// print, for every look of both shapes. WCAG asks 3 of graphics and 4.5 of text;
// the bound for the better of two inks on a full color is the square root of
// .85/.075, 3.3665, so mid tones are moved until they have 4.5.
func TestSymbolsStandOut(t *testing.T) {
	var colors []color
	for _, name := range []string{"munsell", "nbs"} {
		card, err := palettes.Named(name)
		require.NoError(t, err)
		for _, d := range card.Drills {
			colors = append(colors, d.RGB)
		}
	}
	for r := 0; r < 256; r += 17 {
		for g := 0; g < 256; g += 17 {
			for b := 0; b < 256; b += 17 {
				colors = append(colors, color{uint8(r), uint8(g), uint8(b)})
			}
		}
	}
	least := map[string]float64{}
	note := func(what string, v float64) {
		if old, ok := least[what]; !ok || v < old {
			least[what] = v
		}
	}
	for _, c := range colors {
		for _, shape := range []kit.Shape{kit.Square, kit.Round} {
			for _, look := range []CellLook{LookTint, LookColor, LookInk} {
				for _, large := range []bool{false, true} {
					s := newSkin(&kit.Kit{Drill: kit.Drill{Shape: shape}}, Print{Look: look, Large: large})
					ground, ink := s.cell(c)
					what := fmt.Sprintf("%s, %s, large %v", look, shape, large)
					note(what, contrast(luminance(ground), luminance(ink)))
					note(what+", in print", contrast(printLuminance(ground), printLuminance(ink)))
				}
			}
		}
	}
	want := map[string]float64{
		"tint, square, large false": 7.8, "tint, square, large false, in print": 4.5,
		"tint, square, large true": 9.9, "tint, square, large true, in print": 5.6,
		"color, square, large false, in print": 4.5, "color, round, large false, in print": 4.5,
		"ink, square, large false, in print": 11.3,
	}
	for what, ratio := range want {
		assert.GreaterOrEqual(t, least[what], ratio, what)
	}
	for _, size := range []string{"large false", "large false, in print", "large true", "large true, in print"} {
		assert.Equal(t, least["tint, square, "+size], least["tint, round, "+size], "a round drill's symbol stands on the same tint")
	}
	t.Log(least)
}

// A lid of 20 mm still tells how many drills are in it, extra included.
func TestSmallLidsCountTheirDrills(t *testing.T) {
	for _, mm := range []measure.Length{20, 25, 35} {
		k := testKit(t, 60, 60, 12, kit.Round)
		p := DefaultPrint()
		p.LabelRound = measure.Auto{Length: mm * measure.Millimeter, Given: true}
		var words []string
		for _, pg := range newLabels(k, p).pages() {
			for _, o := range pg.Ops {
				if w, ok := o.(pdf.Text); ok {
					words = append(words, w.S)
				}
			}
		}
		for i, e := range k.Chart.Legend {
			all, _ := p.WithExtra(e.Count)
			assert.True(t, slices.Contains(words, "× "+say.Number(all)) || slices.Contains(words, say.Number(all)+" drills"),
				"color %d on a lid of %d mm: %v", i+1, mm, words)
		}
	}
}

// Lids tell number, code and count of every color, all within the ring, or are
// refused with the smallest size that does.
func TestLidsHoldWhatTheyMust(t *testing.T) {
	k := testKit(t, 60, 50, 60, kit.Square)
	p := DefaultPrint()
	p.LabelRound = measure.Auto{Length: 15000, Given: true}
	err := p.Check(k)
	var e *say.Error
	require.True(t, errors.As(err, &e))
	var least float64
	_, scan := fmt.Sscanf(e.Try, "use lids of %gmm", &least)
	require.NoError(t, scan, e.Try)
	for mm := 15.0; mm <= 40; mm++ {
		p.LabelRound.Length = measure.Length(1000 * mm)
		if mm < least {
			assert.Error(t, p.Check(k), "%g mm", mm)
			continue
		}
		require.NoError(t, p.Check(k), "%g mm", mm)
		l := newLabels(k, p)
		form, ok := l.lidForm(mm / 2)
		require.True(t, ok)
		for i, entry := range k.Chart.Legend {
			ops := l.lid(i, 0, 0, mm/2, true, form)
			in := lidInside(mm / 2)
			words := ""
			for _, o := range ops {
				tx, ok := o.(pdf.Text)
				if !ok {
					continue
				}
				words += tx.S + " "
				air := 0.15 * tx.Size * letters.PointMM // letters seldom fill their line
				x0, y0, x1, y1 := pdf.Bounds(o)
				assert.LessOrEqual(t, math.Hypot(max(-x0, x1), max(-(y0+air), y1-air)), in+0.01, "%q touches the ring of %g mm", tx.S, mm)
			}
			all, _ := p.WithExtra(entry.Count)
			assert.Contains(t, words, entry.Drill.Code)
			assert.Regexp(t, fmt.Sprintf(`(^| )%d `, i+1), words)
			assert.Regexp(t, `(× `+say.Number(all)+`|`+say.Number(all)+` drills)`, words)
		}
	}
	k.Chart.Legend[3].Drill.Code = strings.Repeat("W", 60)
	p.LabelRound.Length = 30000
	assert.ErrorContains(t, p.Check(k), "no lid")
}

// Labels are as wide as tells every name of the built-in card in full.
func TestLabelsTellEveryName(t *testing.T) {
	card, err := palettes.Named("munsell")
	require.NoError(t, err)
	for from := 0; from+100 <= len(card.Drills); from += 100 {
		part := *card
		part.Drills = card.Drills[from : from+100]
		cells := make([]uint16, 400)
		for i := range cells {
			cells[i] = uint16(i % 100)
		}
		k := kitOf(t, 20, 20, &part, cells, kit.Square)
		k.Title = "Marmalade" // bags tell it too
		for i := range k.Chart.Legend {
			k.Chart.Legend[i].Count = 1912
		}
		for _, paper := range []string{"a4", "letter"} {
			for _, use := range []LabelFor{ForContainer, ForBag} {
				p := DefaultPrint()
				p.LabelFor, p.Paper = use, paperNamed(paper)
				l := newLabels(k, p)
				assert.False(t, l.cutsWords(l.grid()), "%s on %s", use, paper)
				for _, pg := range l.pages() {
					for _, o := range pg.Ops {
						if tx, ok := o.(pdf.Text); ok {
							assert.NotContains(t, tx.S, "…")
						}
					}
				}
			}
		}
	}
}
