package kit

import (
	"errors"
	"testing"

	"github.com/spf13/pflag"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/chart"
	"kitwright/internal/measure"
	"kitwright/internal/say"
	"kitwright/internal/setting"
	"kitwright/photo"
)

// parse reads flags into an order that began as the default one.
func parse(args ...string) (Order, error) {
	o := DefaultOrder()
	fs := pflag.NewFlagSet("order", pflag.ContinueOnError)
	o.Bind(fs)
	err := fs.Parse(args)
	return o, err
}

// Every setting, given or not, is written as text that reads back to the same
// setting: kit.json, the flags and a form all rely on it.
func TestEverySettingReadsBack(t *testing.T) {
	given, err := parse("--size", "40x50cm", "--grid", "120x160", "--turn", "asked", "--fit", "whole",
		"--crop", "10,5.5,80,90", "--title", "Our cat, \"Ginger\" ♥", "--drill", "round", "--pitch", "2.81mm", "--colors", "auto", "--card", "nbs",
		"--focus", "40,25,12,10", "--focus", "60,25.5,12,10,8", "--keep", "SR-001,SR-002", "--keep", "SR-003", "--keep", `"A,1", "say ""moo""",SR-041/AB`, "--avoid", "5YR 6/8",
		"--subject", "20,10,60,80", "--background", "plain=N 9", "--tone", "none",
		"--caption", "Ginger 2026", "--caption-size", "small", "--border", "3,N 2", "--rare", "0.25", "--calm", "0", "--effort", "prove",
		"--own", "--buy", "3", "--buy-bags", "4", "--bag-size", "500", "--own-extra", "5%,0,100", "--stock", `SR-001=340,SR-062/AB=0,"A,1"=7,B=2=1`)
	require.NoError(t, err)
	for name, o := range map[string]Order{"default": DefaultOrder(), "given": given} {
		var back Order // nothing set: every value must come from the text
		fs := pflag.NewFlagSet("order", pflag.ContinueOnError)
		back.Bind(fs)
		n := 0
		for key, text := range o.Settings() {
			require.NoError(t, fs.Set(key, text), "%s: --%s %q", name, key, text)
			n++
		}
		assert.Equal(t, o, back, name)
		assert.GreaterOrEqual(t, n, 22)
	}
}

func TestEverySettingIsExplained(t *testing.T) {
	o := DefaultOrder()
	fs := pflag.NewFlagSet("order", pflag.ContinueOnError)
	o.Bind(fs)
	fs.VisitAll(func(f *pflag.Flag) {
		assert.NotEmpty(t, f.Usage, f.Name)
		assert.NotEmpty(t, setting.GroupOf(f), f.Name)
		assert.NotEmpty(t, f.Value.Type(), f.Name)
	})
}

func TestOrderRefuses(t *testing.T) {
	for _, args := range [][]string{
		{"--size", "0x40cm"}, {"--size", "-3x40cm"}, {"--size", "40x50"}, {"--size", "NaNxNaNcm"}, {"--size", ""},
		{"--grid", "0x10"}, {"--grid", "10"}, {"--grid", "-1x5"}, {"--grid", "1e9x1e9"},
		{"--pitch", "0"}, {"--pitch", "0mm"}, {"--pitch", "NaN"}, {"--pitch", "-2.5mm"}, {"--pitch", "2.5"}, {"--pitch", "6cm"},
		{"--colors", "1"}, {"--colors", "101"}, {"--colors", "-5"}, {"--colors", "2.5"}, {"--colors", "many"},
		{"--crop", "0,0,0,100"}, {"--crop", "50,50,60,10"}, {"--crop", "-1,0,10,10"}, {"--crop", "NaN,0,10,10"}, {"--crop", "1,2,3"}, {"--crop", "0,0,Inf,10"},
		{"--colors", "0"}, {"--focus", "1,2,3"}, {"--focus", "90,0,20,10"}, {"--focus", "0,0,10,10,NaN"}, {"--focus", "0,0,10,10,0.5"}, {"--focus", "0,0,10,10,21"},
		{"--subject", "0,0,0,10"}, {"--background", "3"}, {"--background", "plain="}, {"--tone", "loud"}, {"--caption-size", "huge"}, {"--border", "-1"}, {"--border", "wide"},
		{"--rare", "1.5"}, {"--rare", "NaN"}, {"--calm", "-0.1"}, {"--calm", "much"}, {"--effort", "maximal"},
		{"--title", "Ginger\nand Co"}, {"--title", "\x1b[31m"}, {"--title", "caf\xe9"}, {"--caption", "a\tb"},
		{"--stock", "SR-001"}, {"--stock", "SR-001=-3"}, {"--stock", "=4"}, {"--stock", "SR-001=2.5"}, {"--own-extra", "10"}, {"--own-extra", "101,0,0"}, {"--own-extra", "10,50,20"},
		{"--buy", "-1"}, {"--buy", "2"}, {"--own", "--buy", "2", "--buy-bags", "1"}, {"--buy-bags", "x"}, {"--bag-size", "0"},
		{"--drill", "hexagonal"}, {"--fit", "stretch"}, {"--turn", "maybe"},
	} {
		o, err := parse(args...)
		if err == nil {
			err = o.Check()
		}
		var said *say.Error
		if assert.True(t, errors.As(unwrapFlag(err), &said), "%v gives %v", args, err) {
			assert.True(t, said.Usage, "%v", args)
		}
	}
}

// unwrapFlag returns the error that a flag's value gave.
func unwrapFlag(err error) error {
	var invalid *pflag.InvalidValueError
	if errors.As(err, &invalid) {
		return invalid.Unwrap()
	}
	return err
}

func TestLay(t *testing.T) {
	for _, c := range []struct {
		name       string
		args       []string
		w, h       int // of the photo
		cols, rows int
		size       string
		turned     bool
	}{
		{"drills are floor(size / pitch)", []string{"--size", "30x40cm"}, 3000, 4000, 120, 160, "30x40cm", false},
		{"a wide photo turns the canvas", []string{"--size", "30x40cm"}, 4000, 3000, 160, 120, "40x30cm", true},
		{"unless asked not to", []string{"--size", "30x40cm", "--turn", "asked"}, 4000, 3000, 120, 160, "30x40cm", false},
		{"a square photo turns nothing", []string{"--size", "30x40cm"}, 100, 100, 120, 160, "30x40cm", false},
		{"the crop decides, not the photo", []string{"--size", "30x40cm", "--crop", "0,0,50,100"}, 4000, 3000, 120, 160, "30x40cm", false},
		{"round drills lie 2.8 mm apart", []string{"--size", "28x28cm", "--drill", "round"}, 100, 100, 100, 100, "28x28cm", false},
		{"what is left over is left off", []string{"--size", "30x40cm", "--drill", "round"}, 3000, 4000, 107, 142, "29.96x39.76cm", false},
		{"inches", []string{"--size", "12x16in"}, 3000, 4000, 121, 162, "30.25x40.5cm", false},
		{"a grid", []string{"--grid", "7x9"}, 70, 90, 7, 9, "1.75x2.25cm", false},
		{"the whole photo", []string{"--size", "30x40cm", "--fit", "whole"}, 1000, 1200, 120, 144, "30x36cm", false},
		{"the whole tall photo", []string{"--size", "30x40cm", "--fit", "whole"}, 500, 1000, 80, 160, "20x40cm", false},
		{"a sliver keeps one drill", []string{"--grid", "10x10", "--fit", "whole"}, 1, 5000, 1, 10, "0.25x2.5cm", false},
	} {
		o, err := parse(c.args...)
		require.NoError(t, err, c.name)
		require.NoError(t, o.Check(), c.name)
		l, err := o.Lay(c.w, c.h)
		require.NoError(t, err, c.name)
		assert.Equal(t, []int{c.cols, c.rows}, []int{l.Cols, l.Rows}, c.name)
		size := measure.Size{W: l.Width(), H: l.Height()}
		assert.Equal(t, c.size, size.String(), c.name)
		assert.Equal(t, c.turned, l.Turned, c.name)
	}
}

func TestLayCropsToFill(t *testing.T) {
	o := DefaultOrder() // 30 x 40 cm
	l, err := o.Lay(4000, 4000)
	require.NoError(t, err)
	assert.Equal(t, 3000.0, l.Crop.W)
	assert.Equal(t, 4000.0, l.Crop.H)
	assert.Equal(t, 500.0, l.Crop.X)
	assert.InDelta(t, 0.25, l.Cut, 1e-12)

	tall, err := o.Lay(3000, 5000) // as much above as below is cut
	require.NoError(t, err)
	assert.Equal(t, photo.Crop{X: 0, Y: 500, W: 3000, H: 4000}, tall.Crop)
	assert.InDelta(t, 0.2, tall.Cut, 1e-12)

	o.Crop = Box{50, 0, 50, 50} // 2000 x 2000 at the top right
	l, err = o.Lay(4000, 4000)
	require.NoError(t, err)
	assert.Equal(t, 1500.0, l.Crop.W)
	assert.Equal(t, 2250.0, l.Crop.X)
	assert.Equal(t, 2000.0, l.Crop.H)
}

func TestLayRefusesWhatNoCanvasCanBe(t *testing.T) {
	for _, args := range [][]string{
		{"--size", "1x40mm"}, {"--grid", "2000x1001"}, {"--grid", "999999999999x9999999999"},
		{"--size", "501x40cm"}, {"--size", "100x100cm", "--pitch", "0.5mm"}, {"--grid", "101x10", "--pitch", "50mm"},
	} {
		o, err := parse(args...)
		require.NoError(t, err, "%v", args)
		require.NoError(t, o.Check(), "%v", args)
		_, err = o.Lay(300, 400)
		var said *say.Error
		require.True(t, errors.As(err, &said), "%v gives %v", args, err)
		assert.True(t, said.Usage)
		assert.NotEmpty(t, said.Try)
	}
}

func TestTitleOfAFile(t *testing.T) {
	for name, want := range map[string]string{
		"ginger.jpg": "ginger", "a.b.png": "a.b", ".hidden": ".hidden", "ginger": "ginger",
		"a\nb\x1b.png": "a b ", "caf\xe9.jpg": "caf ", "Café 🐱.heic": "Café 🐱",
	} {
		assert.Equal(t, want, titleOf(name), "%q", name)
	}
}

// A box may be named by the grid that a look at the photo draws.
func TestBoxesByTheGrid(t *testing.T) {
	for text, want := range map[string]Box{
		"A1": {0, 0, 5, 5}, "T20": {95, 95, 5, 5}, "c4-p19": {10, 15, 70, 80}, "P19-C4": {10, 15, 70, 80}, "C19-P4": {10, 15, 70, 80}, "A1-T20": {0, 0, 100, 100},
		" F6 - H7 ": {25, 25, 15, 10},
	} {
		var b Box
		require.NoError(t, b.Set(text), text)
		assert.Equal(t, want, b, text)
		var back Box
		require.NoError(t, back.Set(b.String()))
		assert.Equal(t, b, back)
		f, err := readFocus(text + ",5")
		require.NoError(t, err, text)
		assert.Equal(t, Focus{want, 5}, f)
		f, err = readFocus(text)
		require.NoError(t, err, text)
		assert.Equal(t, Focus{want, FocusWeight}, f)
	}
	for _, text := range []string{"U1", "A0", "A21", "A", "A1-", "A1-B2-C3", "1A", "A-1", "A+1", "A1.5"} {
		assert.Error(t, new(Box).Set(text), text)
		_, err := readFocus(text)
		assert.Error(t, err, text)
	}
	_, err := readFocus("A1-B2,3,4")
	assert.Error(t, err)
}

// The ellipse of a box lies where the photo lies on the canvas.
func TestEllipseOnACanvasWithABorder(t *testing.T) {
	l := Layout{Cols: 54, Rows: 50, Picture: chart.Box{X: 2, Y: 3, W: 50, H: 40}, Crop: photo.Crop{W: 100, H: 80}}
	cx, cy, rx, ry := l.Ellipse(Box{10, 10, 20, 20}, 100, 80)
	assert.Equal(t, []float64{12, 11, 5, 4}, []float64{cx, cy, rx, ry})
	l.Crop.X, l.Crop.Y = 10, 8
	cx, cy, _, _ = l.Ellipse(Box{10, 10, 20, 20}, 100, 80)
	assert.Equal(t, []float64{7, 7}, []float64{cx, cy})
}
