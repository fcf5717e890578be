package kit

import (
	"errors"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/measure"
	"kitwright/internal/say"
)

// What no flag would take, no literal may hold: each is refused as a usage
// error that names its setting.
func TestCheckRefusesBadLiterals(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	box := Box{10, 10, 20, 20}
	for _, c := range []struct {
		name, setting string
		change        func(o *Order)
	}{
		{"a share that is no number", "rare", func(o *Order) { o.Rare = nan }},
		{"a share without end", "rare", func(o *Order) { o.Rare = inf }},
		{"a share above one", "rare", func(o *Order) { o.Rare = 1.01 }},
		{"a calm that is no number", "calm", func(o *Order) { o.Calm = nan }},
		{"a calm below nothing", "calm", func(o *Order) { o.Calm = -0.5 }},
		{"a border of less than nothing", "border", func(o *Order) { o.Border.Drills = -4 }},
		{"a border wider than any", "border", func(o *Order) { o.Border.Drills = 5000 }},
		{"a border's code with a line break", "border", func(o *Order) { o.Border = Border{2, "N\n2"} }},
		{"a focus that is no number", "focus", func(o *Order) { o.Focus = []Focus{{Box{nan, 1, 1, 1}, 3}} }},
		{"a focus of weight no number", "focus", func(o *Order) { o.Focus = []Focus{{box, nan}} }},
		{"a focus of no weight", "focus", func(o *Order) { o.Focus = []Focus{{box, 0}} }},
		{"a focus without an area", "focus", func(o *Order) { o.Focus = []Focus{{Box{}, 3}} }},
		{"a second focus outside", "focus", func(o *Order) { o.Focus = []Focus{{box, 3}, {Box{90, 0, 20, 10}, 3}} }},
		{"an effort there is not", "effort", func(o *Order) { o.Effort = "x" }},
		{"no effort", "effort", func(o *Order) { o.Effort = "" }},
		{"an effort in capitals", "effort", func(o *Order) { o.Effort = "Quick" }},
		{"a drill there is not", "drill", func(o *Order) { o.Drill = "hexagon" }},
		{"no drill", "drill", func(o *Order) { o.Drill = "" }},
		{"a turn there is not", "turn", func(o *Order) { o.Turn = "maybe" }},
		{"a fit there is not", "fit", func(o *Order) { o.Fit = "stretch" }},
		{"a tone there is not", "tone", func(o *Order) { o.Tone = "loud" }},
		{"a caption size there is not", "caption-size", func(o *Order) { o.CaptionSize = "huge" }},
		{"a background of three", "background", func(o *Order) { o.Background.Colors = 3 }},
		{"a background of less than nothing", "background", func(o *Order) { o.Background.Colors = -1 }},
		{"a background of two kinds", "background", func(o *Order) { o.Background = Background{2, "N 5"} }},
		{"a background's code of blanks", "background", func(o *Order) { o.Background.Plain = " " }},
		{"a crop that is no number", "crop", func(o *Order) { o.Crop = Box{0, 0, nan, 10} }},
		{"a crop outside", "crop", func(o *Order) { o.Crop = Box{50, 50, 60, 10} }},
		{"a subject without height", "subject", func(o *Order) { o.Subject = Box{10, 10, 20, 0} }},
		{"a subject without end", "subject", func(o *Order) { o.Subject = Box{0, 0, inf, 20} }},
		{"a title of two lines", "title", func(o *Order) { o.Title = "Mog\nand Co" }},
		{"a title of control characters", "title", func(o *Order) { o.Title = string(make([]byte, 3)) }},
		{"a caption with an escape", "caption", func(o *Order) { o.Caption = "\x1b[31m" }},
		{"one color", "colors", func(o *Order) { o.Colors = 1 }},
		{"less than no colors", "colors", func(o *Order) { o.Colors = -5 }},
		{"too many colors", "colors", func(o *Order) { o.Colors = 101 }},
		{"no size", "size", func(o *Order) { o.Size = measure.Size{} }},
		{"a size below nothing", "size", func(o *Order) { o.Size.W = -1 }},
		{"a grid of one side", "grid", func(o *Order) { o.Grid = Cells{0, 40} }},
		{"a grid below nothing", "grid", func(o *Order) { o.Grid = Cells{-3, 40} }},
		{"a pitch of nothing", "pitch", func(o *Order) { o.Pitch = measure.Auto{Given: true} }},
		{"a pitch of a hand", "pitch", func(o *Order) { o.Pitch = measure.Auto{Given: true, Length: 60_000} }},
		{"a pitch below nothing", "pitch", func(o *Order) { o.Pitch = measure.Auto{Given: true, Length: -2500} }},
		{"an empty code to keep", "keep", func(o *Order) { o.Keep = []string{""} }},
		{"a code of blanks to avoid", "avoid", func(o *Order) { o.Avoid = []string{"N 5", " "} }},
		{"no card", "card", func(o *Order) { o.Card = "" }},
		{"a card with a line break", "card", func(o *Order) { o.Card = "mine\n.csv" }},
	} {
		o := DefaultOrder()
		c.change(&o)
		err := o.Check()
		var said *say.Error
		if assert.True(t, errors.As(err, &said), "%s: %v", c.name, err) {
			assert.True(t, said.Usage, c.name)
			assert.Equal(t, c.setting, said.Setting, "%s: %s", c.name, said.What)
			assert.NotEmpty(t, said.Try, c.name)
		}
	}
	require.NoError(t, DefaultOrder().Check())
	o := DefaultOrder()
	o.Grid, o.Size = Cells{40, 30}, measure.Size{} // a grid needs no size
	require.NoError(t, o.Check())
	o.Focus, o.Keep, o.Avoid = []Focus{}, []string{}, []string{} // none and empty are one
	require.NoError(t, o.Check())
}
