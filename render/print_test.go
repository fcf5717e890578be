package render

import (
	"errors"
	"testing"

	"github.com/spf13/pflag"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/measure"
	"kitwright/internal/say"
	"kitwright/internal/setting"
	"kitwright/kit"
)

// values are settings away from their defaults, by flag.
var values = map[string][]string{
	"look": {"tint", "color", "ink"}, "large": {"true"}, "units": {"in"}, "legend": {"below", "both", "off"},
	"margin": {"35mm", "1.5in"}, "wrap": {"40mm", "0"}, "wrap-fill": {"edge", "plain"}, "frame-lip": {"6mm"}, "bleed": {"0mm", "5mm"},
	"film-width": {"600mm", "auto"}, "media-width": {"610mm", "auto"}, "panel-overlap": {"0", "20mm"}, "paper": {"letter", "A3", "20x30cm", "8.5x13in"}, "paper-margin": {"6mm"}, "sheets": {"build"},
	"sheet-cell": {"4mm", "auto"}, "label-for": {"bag"}, "label-sheet": {"63.5x38.1mm,3x7,7.2x15.1mm,2.5x0mm", "50x20mm,4x10,0x8.5mm", ""},
	"label-round": {"20mm", ""}, "extra": {"0%", "15"}, "extra-least": {"0", "50"}, "extra-most": {"1000"},
	"bags": {"200:0.50,1000:1.80,5000:7", "200", ""}, "bag-fill": {"95%"}, "copies": {"12"}, "weighed": {"500=4.2g", "500=4g,0.5g", ""},
	"section": {"40x40", "8x12cm"}, "work": {"far", "checkerboard"}, "hand": {"left"}, "tips": {"none", "3,5", "2"}, "pace": {"350", "200,800"}, "sitting": {"3h", "1h30m", "0"},
	"measured": {"99.2mm,100.4mm", "9.9cm,101mm", ""}, "measured-row": {"20=50.4mm", ""}, "date": {"2026-11-26", "2024-02-29", ""},
	"measured-picture": {"499mm,401mm", ""}, "name-files": {"true", "false"},
	"font": {"ours.ttf", ""}, "pdf": {"x4"}, "shop-profile": {"shop.icc", ""}, "convert": {"true"}, "intent": {"perceptual"}, "ink-limit": {"280%", "300"}, "outline-text": {"true"},
}

func TestEverySettingParsesBack(t *testing.T) {
	p := DefaultPrint()
	p.flags().VisitAll(func(f *pflag.Flag) {
		require.NotEmpty(t, values[f.Name], "no values to try for --%s", f.Name)
		assert.NotEmpty(t, f.Usage, f.Name)
		assert.NotEmpty(t, f.Value.Type(), f.Name)
		assert.NotEmpty(t, setting.GroupOf(f), f.Name)
		for _, v := range append(values[f.Name], f.DefValue) {
			require.NoError(t, f.Value.Set(v), "--%s %s", f.Name, v)
			once := f.Value.String()
			require.NoError(t, f.Value.Set(once), "--%s %s", f.Name, once)
			assert.Equal(t, once, f.Value.String(), f.Name)
			if v != f.DefValue {
				var q Print
				again := q.flags()
				for name, text := range p.Settings() {
					require.NoError(t, again.Lookup(name).Value.Set(text))
				}
				assert.Equal(t, p, q)
			}
		}
	})
	assert.Equal(t, DefaultPrint().Settings(), p.Settings(), "the defaults were set last")
}

func TestSettingsRefuse(t *testing.T) {
	p := DefaultPrint()
	fs := p.flags()
	for name, bad := range map[string][]string{
		"look": {"", "shiny"}, "margin": {"NaN", "-3mm", "30"}, "wrap": {"Inf"}, "paper": {"", "a9", "NaNxNaN", "0x3cm"},
		"extra": {"-1", "NaN", "101%", "1.5"}, "extra-least": {"", "1e3", "-5", "99999999999999999999"},
		"bags": {"many", "200:NaN"}, "bag-fill": {"101%"}, "copies": {"0"}, "weighed": {"4.2g"},
		"measured": {"99mm", "50mm,100mm", "NaN,NaN", "100mm,112mm"}, "measured-row": {"20", "2=5mm", "20=NaN", "20=0mm", "20=9m", "NaN=50mm"},
		"measured-picture": {"499mm", "NaN,NaN", "499,401"},
		"label-sheet":      {"x", "63x38mm", "63x38mm,0x7,7x15mm", "63x38mm,3x7,7mm", "63x38mm,3x7,7x15mm,1x1mm,9", "0x0mm,3x7,7x15mm"},
		"label-round":      {"NaN", "-2mm"}, "date": {"26.11.2026", "2026-02-30", "today", "NaN"}, "film-width": {"wide"}, "media-width": {"NaN", "-610mm", "610"}, "panel-overlap": {"auto", "-1mm"},
	} {
		for _, v := range bad {
			before := fs.Lookup(name).Value.String()
			err := fs.Lookup(name).Value.Set(v)
			var e *say.Error
			require.True(t, errors.As(err, &e), "--%s %q gives %v", name, v, err)
			assert.True(t, e.Usage)
			assert.NotEmpty(t, e.Try)
			assert.Equal(t, before, fs.Lookup(name).Value.String(), "a refused value changes nothing")
		}
	}
}

func TestDefaultsFollowTheLocale(t *testing.T) {
	for locale, want := range map[string][2]string{
		"en_US.UTF-8": {"letter", "cm"}, "en_CA": {"letter", "cm"}, "fr-CA": {"letter", "cm"}, "de_DE.UTF-8@euro": {"a4", "cm"}, "C": {"a4", "cm"}, "": {"a4", "cm"},
	} {
		p := DefaultPrint().In(locale)
		assert.Equal(t, want, [2]string{p.Paper.String(), string(p.Units)}, locale)
		assert.NoError(t, p.Check(nil))
	}
}

// ISO 216:2007, table 1; ANSI/ASME Y14.1 sheets A (Letter) and B (Tabloid);
// Legal is 8.5 x 14 inches. Values from memory.
func TestPaperSizes(t *testing.T) {
	for name, want := range map[string]measure.Size{
		"a4": {W: 210000, H: 297000}, "a3": {W: 297000, H: 420000},
		"letter": {W: 85 * measure.Inch / 10, H: 11 * measure.Inch}, "legal": {W: 85 * measure.Inch / 10, H: 14 * measure.Inch},
		"tabloid": {W: 11 * measure.Inch, H: 17 * measure.Inch},
	} {
		assert.Equal(t, want, paperNamed(name).Size, name)
	}
}

func TestCheckRefuses(t *testing.T) {
	small := testKit(t, 20, 20, 5, kit.Square)
	for name, change := range map[string]func(p *Print, k *kit.Kit){
		"margin":             func(p *Print, k *kit.Kit) { p.Margin = 14000 },
		"paper-margin":       func(p *Print, k *kit.Kit) { p.PaperMargin = 200000 },
		"too small to print": func(p *Print, k *kit.Kit) { p.Paper = Paper{Size: measure.Size{W: 50000, H: 50000}} },
		"too large":          func(p *Print, k *kit.Kit) { p.Paper = Paper{Size: measure.Size{W: 50000, H: 5000001}} },
		"frame-lip":          func(p *Print, k *kit.Kit) { p.FrameLip = 25000 },
		"wrap":               func(p *Print, k *kit.Kit) { p.Wrap = 60000 },
		"extra-least":        func(p *Print, k *kit.Kit) { p.ExtraLeast = 400 },
		"beyond a4 paper":    func(p *Print, k *kit.Kit) { _ = p.LabelSheet.Set("70x38mm,3x7,7x15mm") },
		"5 m":                func(p *Print, k *kit.Kit) { k.Pitch = 100000; k.Chart = testKit(t, 60, 3, 2, kit.Square).Chart },
		"in the legend":      func(p *Print, k *kit.Kit) { k.Chart.Legend[2].Count++ },
		"has color":          func(p *Print, k *kit.Kit) { k.Chart.Cells[7] = 99 },
		"do not fill":        func(p *Print, k *kit.Kit) { k.Chart.Cols++ },
	} {
		p, k := DefaultPrint(), *small
		c := *small.Chart
		c.Cells = append([]uint16(nil), c.Cells...)
		c.Legend = append(c.Legend[:0:0], c.Legend...)
		k.Chart = &c
		require.NoError(t, p.Check(&k))
		change(&p, &k)
		err := p.Check(&k)
		var e *say.Error
		require.True(t, errors.As(err, &e), name)
		assert.Contains(t, e.What, name)
		assert.NotEmpty(t, e.Try, name)
		w := &countWriter{}
		assert.Error(t, Canvas(w, &k, p))
		assert.Zero(t, w.n, "%s: nothing written", name)
	}
}

// What is wrong with a size is known before any color is chosen, and nothing
// is refused then that could be printed.
func TestCheckLayoutKnowsBeforeTheKit(t *testing.T) {
	p := DefaultPrint()
	assert.ErrorContains(t, p.CheckLayout(kit.Layout{Cols: 1000, Rows: 2000, Pitch: 2500}, testCard(30), 30), "5 m")
	p.FrameLip = 25000
	assert.ErrorContains(t, p.CheckLayout(kit.Layout{Cols: 20, Rows: 40, Pitch: 2500}, testCard(30), 30), "frame-lip")
	p = DefaultPrint()
	p.Wrap = 60000
	assert.ErrorContains(t, p.CheckLayout(kit.Layout{Cols: 40, Rows: 20, Pitch: 2500}, testCard(30), 30), "wrap")
	for _, p.WrapFill = range []WrapFill{WrapMirror, WrapEdge, WrapPlain} {
		for _, p.MediaWidth = range []measure.Auto{{}, {Length: 250 * measure.Millimeter, Given: true}} {
			p.Wrap, p.Bleed = 20*measure.Millimeter, 3*measure.Millimeter
			assert.NoError(t, p.CheckLayout(kit.Layout{Cols: 120, Rows: 100, Pitch: 2500}, testCard(30), 30), "%s: there are no drills yet", p.WrapFill)
		}
	}
	p.MediaWidth = measure.Auto{}

	refused := map[LegendPlace]int{}
	p = DefaultPrint()
	for _, p.Legend = range []LegendPlace{LegendBeside, LegendBelow} {
		for long := 1700; long <= 1940; long += 10 {
			cols, rows := 3, long
			if p.Legend == LegendBeside {
				cols, rows = long, 3
			}
			k := testKit(t, cols, rows, 30, kit.Square)
			early, late := p.CheckLayout(kit.Layout{Cols: cols, Rows: rows, Pitch: k.Pitch}, testCard(30), 30), p.Check(k)
			if early != nil {
				refused[p.Legend]++
				assert.Error(t, late, "%d drills long", long)
			}
			if late == nil {
				assert.NoError(t, early, "%d drills long", long)
			} else if p.Legend == LegendBeside && cols < 1890 {
				assert.ErrorContains(t, late, "5 m")
				var e *say.Error
				require.True(t, errors.As(late, &e))
				assert.Contains(t, e.Try, "legend")
			}
		}
	}
	for place, n := range refused {
		assert.Greater(t, n, 3, place)
		assert.Less(t, n, 25, place)
	}
}

func TestNoKit(t *testing.T) {
	for _, pr := range prints {
		if pr.of != "" {
			continue
		}
		if pr.name != "test print" && pr.name != "test print without a kit" {
			assert.Error(t, pr.write(&countWriter{}, nil, DefaultPrint()), pr.name)
		}
	}
	assert.Error(t, Canvas(&countWriter{}, &kit.Kit{}, DefaultPrint()))
}

// A full disk is an error, and not a panic, wherever it fills up.
func TestFullDisk(t *testing.T) {
	k := testKit(t, 20, 20, 5, kit.Square)
	for _, room := range []int{0, 1, 5000, 20000} {
		err := Canvas(&fullWriter{room}, k, DefaultPrint())
		assert.ErrorIs(t, err, errFull, room)
	}
}

var errFull = errors.New("no space left")

type fullWriter struct{ room int }

func (w *fullWriter) Write(b []byte) (int, error) {
	if w.room -= len(b); w.room < 0 {
		return 0, errFull
	}
	return len(b), nil
}

type countWriter struct{ n int }

func (w *countWriter) Write(b []byte) (int, error) { w.n += len(b); return len(b), nil }

func TestPitch(t *testing.T) {
	assert.True(t, PitchWarning(2525, 2500).Empty())
	assert.Contains(t, PitchWarning(2520, 2500).String(), "pitch 2.53mm")
	assert.True(t, PitchWarning(2500, 0).Empty(), "nothing known")
	var row RowLength
	require.NoError(t, row.Set("20=50.4mm"))
	assert.Equal(t, measure.Length(2520), row.drill())
	assert.Equal(t, measure.Length(2550), ProposePitch(2520))
	p := DefaultPrint()
	p.MeasuredRow = row
	assert.Len(t, p.Advice(testKit(t, 20, 20, 5, kit.Square)), 2)
	p.Measured = Bars{99200, 100400}
	assert.Len(t, p.Advice(nil), 2)
	foreign := testKit(t, 20, 20, 5, kit.Square)
	foreign.Title = "Cat 猫"
	advice := DefaultPrint().Advice(foreign)
	require.Len(t, advice, 1)
	assert.Contains(t, advice[0].String(), "has no 猫")
}

func FuzzSettings(f *testing.F) {
	for name, texts := range values {
		for _, t := range texts {
			f.Add(name, t)
		}
	}
	f.Add("shop-profile", "profiles/ matte.icc") // a name may begin with a space
	f.Fuzz(func(t *testing.T, name, text string) {
		p := DefaultPrint()
		fl := p.flags().Lookup(name)
		if fl == nil || fl.Value.Set(text) != nil {
			return
		}
		once := fl.Value.String()
		if err := fl.Value.Set(once); err != nil || fl.Value.String() != once {
			t.Fatalf("--%s %q is %q, then %q, %v", name, text, once, fl.Value.String(), err)
		}
		_ = p.Check(nil) // whatever it says, it must not panic
	})
}
