package kit

import (
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/pflag"

	"kitwright/internal/measure"
	"kitwright/internal/say"
	"kitwright/internal/setting"
	"kitwright/palettes"
)

// Check says whether the order can be made at all: every setting as its flag
// would take it, then ranges. What needs the card is checked by CheckOn, what
// needs the photo when it is laid.
func (o Order) Check() error {
	if err := o.readsBack(); err != nil {
		return err
	}
	if o.Colors != AutoColors && (o.Colors < MinColors || o.Colors > MaxColors) {
		return say.Usage("20 to 40 colors suit most pets", "{colors} takes %d to %d, not %d", MinColors, MaxColors, o.Colors)
	}
	if o.Grid == (Cells{}) && (o.Size.W <= 0 || o.Size.H <= 0) {
		return say.Usage("give both sides, as in {size} 30x40cm", "{size} needs a width and a height above zero")
	}
	if o.CropTo != (Box{}) && o.Fit == FitWhole {
		return say.Usage("leave out one", "{crop-to} says where to crop, and {fit} whole crops nothing")
	}
	if o.NoSubject && len(o.Add)+len(o.Cut) > 0 {
		return say.Usage("leave out {subject} none, or the corrections", "{add} and {cut} correct an outline, and {subject} none asks for no outline")
	}
	if err := o.checkOwn(); err != nil {
		return err
	}
	if p := o.pitch(); p < MinPitch || p > MaxPitch {
		return say.Usage(pitchHint, "{pitch} takes %s to %s, not %s", MinPitch, MaxPitch, p)
	}
	return nil
}

// readsBack says whether each setting, written as text, is taken by its flag
// and gives the same setting: a literal or a form can hold no more than a flag
// can.
func (o Order) readsBack() (err error) {
	whole, back := plain(o), o
	again := flags(&back)
	flags(&o).VisitAll(func(f *pflag.Flag) {
		if err != nil || f.Name == "size" && o.Grid != (Cells{}) {
			return // a grid stands instead of the size
		}
		back = o
		text := f.Value.String()
		refused := again.Lookup(f.Name).Value.Set(text)
		if said, ok := refused.(*say.Error); ok {
			err = said.At("%s", say.Setting(f.Name)).OrTry("the help says what it takes")
		} else if refused != nil || plain(back) != whole {
			err = say.Usage("the help says what it takes", "%s: %q does not read back as what it stands for", say.Setting(f.Name), text)
		}
	})
	return err
}

// plain writes an order down whole, an empty list like none. (What is no number
// is not equal to itself, but written alike.)
func plain(o Order) string {
	if len(o.Keep) == 0 {
		o.Keep = nil
	}
	if len(o.Avoid) == 0 {
		o.Avoid = nil
	}
	if len(o.Focus) == 0 {
		o.Focus = nil
	}
	if len(o.Stock) == 0 {
		o.Stock = nil
	}
	if len(o.Add) == 0 {
		o.Add = nil
	}
	if len(o.Cut) == 0 {
		o.Cut = nil
	}
	return fmt.Sprintf("%#v", o)
}

// flags returns the settings of an order as flags.
func flags(o *Order) *pflag.FlagSet {
	fs := pflag.NewFlagSet("order", pflag.ContinueOnError)
	o.Bind(fs)
	return fs
}

// check is Check for the canvas alone.
func (c Canvas) check() error {
	o := DefaultOrder()
	o.Canvas = c
	return o.Check()
}

// check is Check for the light alone.
func (l Light) check() error {
	o := DefaultOrder()
	o.Light = l
	return o.Check()
}

// check is Check for the choice alone.
func (c Choice) check() error {
	o := DefaultOrder()
	o.Choice = c
	return o.Check()
}

// CheckOn says whether the order can be made in the colors of a card: whether
// there are enough, and whether the codes it names are there and do not
// contradict each other.
func (o Order) CheckOn(card *palettes.Card) error {
	n := len(card.Drills)
	if n < MinColors {
		return say.Usage("use a larger card", "the card %q has %s, and a kit takes %d or more", card.Name, say.Count(n, "color"), MinColors)
	}
	if o.Colors > n {
		return say.Usage(say.Hint("ask for {colors} %d or fewer, or use a larger card", n),
			"the card %q has %d colors, fewer than the %d asked for", card.Name, n, o.Colors)
	}
	keep, err := indices(card, o.Keep, "keep")
	if err != nil {
		return err
	}
	avoid, err := indices(card, o.Avoid, "avoid")
	if err != nil {
		return err
	}
	for _, j := range keep {
		if slices.Contains(avoid, j) {
			return bothNamed("keep", card, j)
		}
	}
	if n := len(keep); o.Colors != AutoColors && n > o.Colors {
		return say.Usage("keep fewer, or ask for more {colors}", "{keep} names %d colors, more than the %d asked for", n, o.Colors)
	}
	if left, want := n-len(avoid), max(o.Colors, MinColors); left < want {
		return say.Usage("avoid fewer, or ask for fewer {colors}", "{avoid} leaves %d colors of the card %q, fewer than the %d asked for", left, card.Name, want)
	}
	owned, err := o.owned(card)
	if err != nil {
		return err
	}
	for _, named := range []struct{ flag, code string }{{"border", o.Border.Code}, {"background", o.Background.Plain}} {
		if named.code == "" {
			continue
		}
		j, err := indices(card, []string{named.code}, named.flag)
		if err != nil {
			return err
		}
		if slices.Contains(avoid, j[0]) {
			return bothNamed(named.flag, card, j[0])
		}
		if o.Own && owned[j[0]] == 0 {
			return notOwned(named.flag, card, j[0])
		}
	}
	return o.keepOwned(card, keep, owned)
}

// indices finds codes on the card.
func indices(card *palettes.Card, codes []string, flag string) ([]int, error) {
	var out []int
	for _, code := range codes {
		j, ok := card.Index(code)
		if several := card.Finishes(code); !ok && len(several) > 1 {
			return nil, say.Usage(say.Hint("say which: %s", strings.Join(several, " or ")), "%s: the card %q has %d drills with the code %q", say.Setting(flag), card.Name, len(several), code)
		}
		if !ok {
			try := say.Hint("kitwright card show %s lists its codes", card.Name)
			if d, ok := meant(card, code); ok {
				try = say.Hint("%s (%s); kitwright card show %s lists the codes", setting.Quote(d.Address()), d.Name, card.Name)
			}
			return nil, say.Usage(try, "%s: the card %q has no color %q", say.Setting(flag), card.Name, code)
		}
		if !slices.Contains(out, j) { // named twice is named
			out = append(out, j)
		}
	}
	return out, nil
}

// meant returns the drill that a code was probably meant for: the same but for
// blanks, a name, or a slip of the fingers.
func meant(card *palettes.Card, code string) (palettes.Drill, bool) {
	bare := func(s string) string { return strings.ToLower(strings.Join(strings.Fields(s), "")) }
	var codes []string
	for _, d := range card.Drills {
		if bare(d.Code) == bare(code) || strings.EqualFold(d.Name, code) {
			return d, true
		}
		codes = append(codes, d.Code)
	}
	for _, d := range card.Drills {
		if word := strings.ToLower(code); len(word) > 2 && slices.Contains(strings.Fields(strings.ToLower(d.Name)), word) {
			return d, true
		}
	}
	if near := setting.Near(code, codes); near != "" {
		if j, ok := card.Index(near); ok {
			return card.Drills[j], true
		}
	}
	return palettes.Drill{}, false
}

// bothNamed says that a flag asks for a color that is to be avoided.
func bothNamed(flag string, card *palettes.Card, j int) error {
	return say.Usage("take it off one of the two", "%s and {avoid} both name %s", say.Setting(flag), card.Drills[j].Address())
}

// Limits of the distance from drill to drill.
const (
	MinPitch = measure.Millimeter / 2
	MaxPitch = 50 * measure.Millimeter
)

const pitchHint = "square drills are usually 2.5mm apart, round ones 2.8mm"

// usual returns the size in which drills of a shape are sold, which is also
// how far apart they are set: common practice, no source.
func usual(s Shape) measure.Length {
	if s == Round {
		return 2800 * measure.Micrometer
	}
	return 2500 * measure.Micrometer
}

// pitch returns the distance from drill to drill.
func (c Canvas) pitch() measure.Length { return c.Pitch.Or(usual(c.Drill)) }

// drill returns the drills of a canvas, never larger than the pitch leaves
// room for.
func (c Canvas) drill() Drill {
	return Drill{Shape: c.Drill, Size: min(usual(c.Drill), c.pitch())}
}

// Bare returns a kit without a chart: only the drills that a canvas asks for.
func (c Canvas) Bare() *Kit { return &Kit{Drill: c.drill(), Pitch: c.pitch()} }
