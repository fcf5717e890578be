package kit

import (
	"bytes"
	"context"
	"reflect"
	"strings"
	"testing"

	"github.com/spf13/pflag"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
	"kitwright/lab"
	"kitwright/palettes"
	"kitwright/photo"
)

// other is another value for every setting, so that each can be changed alone.
var other = map[string]string{
	"size": "17x14cm", "grid": "44x36", "turn": "photo", "fit": "whole", "crop": "0,0,90,90", "crop-to": "80,80,20,20", "title": "Another",
	"caption": "Cat", "caption-size": "large", "border": "2", "drill": "round", "pitch": "2.6mm",
	"colors": "auto", "card": "seaside.csv", "keep": "5G 5/6", "avoid": "N 1,N 2,N 3,N 4,N 7,N 8,N 9",
	"subject": "12,8,70,80", "add": "5,5,10,10", "cut": "60,60,10,10", "background": "2", "tone": "none",
	"own": "true", "buy": "2", "buy-bags": "60", "bag-size": "300", "stock": "N 1=9000,N 2=9000,N 3=9000,N 4=9000,N 7=9000,N 8=9000,N 9=9000,5G 5/6=5000", "own-extra": "5%,1,50",
	"focus": "30,30,20,20,5", "rare": "0.2", "calm": "0.9", "least": "40", "effort": "normal", "turned": "true",
}

// bases are two orders to begin from: a plain one, and one in which the parts
// lean on each other.
func bases(t *testing.T) map[string]Order {
	plain := DefaultOrder()
	plain.Grid, plain.Turn, plain.Colors, plain.Effort = Cells{40, 30}, TurnAsked, 10, EffortQuick
	rich := plain
	rich.Border, rich.Caption, rich.CaptionSize = Border{Drills: 1}, "Mog", CaptionFit
	rich.Subject, rich.Background = Box{30, 20, 40, 60}, Background{Colors: 1}
	rich.Focus, rich.Avoid = []Focus{{Box{8, 40, 14, 14}, 3}}, []string{"N 5"}
	rich.Grid = Cells{70, 60}
	return map[string]Order{"plain": plain, "rich": rich}
}

// seaside is a card of our own.
func seaside() *palettes.Card {
	card := &palettes.Card{Name: "seaside.csv"}
	names := strings.Fields("sand shell foam kelp slate coral dune brick moss fog night rust honey cream ink pine")
	for i, name := range names {
		at := float64(i)
		card.Drills = append(card.Drills, palettes.NewDrill("SR-"+string(rune('A'+i)), name, lab.Color{L: 8 + 5.5*at, A: 12 - 1.4*at, B: 30 - 2*at}))
	}
	// Codes that the settings of this file name.
	for _, code := range []string{"5G 5/6", "N 1", "N 2", "N 3", "N 4", "N 5", "N 7", "N 8", "N 9"} {
		card.Drills = append(card.Drills, palettes.NewDrill(code, code, lab.Color{L: 10 * float64(len(card.Drills)%9), A: -10, B: 5}))
	}
	return card
}

// smallCat is the demo photo, small enough to be read dozens of times.
func smallCat(t testing.TB) []byte {
	return readFile(t, "..", "testdata", "photos", "cat-240.png")
}

func kitJSON(t *testing.T, k *Kit) string {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, k.WriteJSON(&b))
	return b.String()
}

// Any one setting changed on the road that is open already gives what making
// the kit from the photo gives, byte for byte. Choices are answered by one
// Prepared whose photo has no pixels any more: decoding or sampling once would
// end the test.
func TestAnyOneSettingChangedOnTheRoad(t *testing.T) {
	checker.Slow(t)
	ctx, picture := context.Background(), smallCat(t)
	for name, base := range bases(t) {
		if testing.Short() && name == "rich" {
			continue // minutes under the race detector; the plain one goes the same road
		}
		source, err := Open(ctx, bytes.NewReader(picture), photo.DemoName, seaside())
		require.NoError(t, err)
		prepared, err := source.Lay(ctx, base.Canvas, base.Light)
		require.NoError(t, err)
		prepared.Photo = &photo.Photo{Width: source.Photo.Width, Height: source.Photo.Height}

		fromScratch := func(o Order) string {
			k, err := Make(ctx, bytes.NewReader(picture), photo.DemoName, o, seaside())
			require.NoError(t, err)
			return kitJSON(t, k)
		}
		first := fromScratch(base)
		k, err := prepared.Kit(ctx, base.Choice)
		require.NoError(t, err)
		require.Equal(t, first, kitJSON(t, k), name)

		choices, changed := 0, 0
		flags(&base).VisitAll(func(f *pflag.Flag) {
			value, ok := other[f.Name]
			require.True(t, ok, "there is no other value for --%s in this test", f.Name)
			o := base
			require.NoError(t, flags(&o).Set(f.Name, value))
			require.False(t, reflect.DeepEqual(o, base), "--%s %s changes nothing", f.Name, value)
			if (f.Name == "background" || f.Name == "add" || f.Name == "cut") && o.Subject == (Box{}) || f.Name == "size" && o.Grid != (Cells{}) {
				o.Subject, o.Grid = Box{20, 10, 60, 80}, Cells{} // a second one, without which the first is refused or idle
			}
			if f.Name == "own" || f.Name == "buy" || f.Name == "buy-bags" {
				o.Own = true
				require.NoError(t, flags(&o).Set("stock", other["stock"]))
			}
			p := prepared
			if reflect.DeepEqual(o.Canvas, base.Canvas) && reflect.DeepEqual(o.Light, base.Light) {
				choices++
			} else {
				var err error
				p, err = source.Lay(ctx, o.Canvas, o.Light)
				require.NoError(t, err)
			}
			k, err := p.Kit(ctx, o.Choice)
			require.NoError(t, err, "--%s", f.Name)
			want := fromScratch(o)
			if want != first {
				changed++
			}
			require.Equal(t, want, kitJSON(t, k), "%s: --%s %s", name, f.Name, value)
			back, err := p.Kit(ctx, o.Choice) // and again, from what is remembered
			require.NoError(t, err)
			require.Equal(t, want, kitJSON(t, back), "%s: --%s %s, again", name, f.Name, value)
		})
		assert.Equal(t, reflect.TypeOf(base.Choice).NumField(), choices, "every field of the choice was changed alone")
		assert.Equal(t, len(other), changed, "every setting shows in the kit, if only in its order")
	}
}

// A kit says what it was made of: the canvas, the light and the choice it was
// asked for, and nothing of another order.
func TestKitSaysItsOwnOrder(t *testing.T) {
	ctx, picture := context.Background(), smallCat(t)
	o := bases(t)["rich"]
	source, err := Open(ctx, bytes.NewReader(picture), photo.DemoName)
	require.NoError(t, err)
	p, err := source.Lay(ctx, o.Canvas, o.Light)
	require.NoError(t, err)
	c := o.Choice
	c.Card, c.Avoid = "nbs", nil
	k, err := p.Kit(ctx, c)
	require.NoError(t, err)
	assert.Equal(t, Order{o.Canvas, o.Light, c}.Settings(), k.Order)
	assert.Equal(t, "nbs", k.Card.Name)
	assert.Equal(t, []int{70, 60}, []int{k.Chart.Cols, k.Chart.Rows})

	c.Card = "no-such"
	_, err = p.Kit(ctx, c)
	assert.ErrorContains(t, err, "no-such")
}
