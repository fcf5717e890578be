package kit

import (
	"bytes"
	"context"
	"image"
	"image/color"
	"image/png"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
	"kitwright/lab"
	"kitwright/quantize"
)

// Eyes of 6 to 60 drills in the open photos of the folder that
// KITWRIGHT_ANIMALS names: among 18 colors for the whole picture there is one
// for the black of the pupil, and a drill of it lies there.
func TestEyesStayDark(t *testing.T) {
	dir := checker.Folder(t, "KITWRIGHT_ANIMALS")
	for _, c := range []struct {
		photo string
		eyes  []Focus
	}{
		{"panda.webp", []Focus{{Box{24.6, 42.5, 4, 8.5}, 3}, {Box{32.5, 41, 4.8, 8.5}, 3}}},
		{"hedgehog.webp", []Focus{{Box{67.2, 48.6, 3.8, 5.4}, 3}}},
		{"lemur.webp", []Focus{{Box{42.9, 37.7, 2.6, 4.6}, 3}, {Box{47.1, 38, 2.6, 4.6}, 3}}},
		{"polar_bear.webp", []Focus{{Box{78, 45.6, 2, 2.4}, 3}}},
	} {
		picture, err := os.ReadFile(filepath.Join(dir, c.photo))
		require.NoError(t, err)
		p, choice := prepare(t, picture, func(o *Order) {
			o.Grid, o.Colors, o.Focus = Cells{160, 120}, 18, c.eyes
		})
		k, err := p.Kit(context.Background(), choice)
		require.NoError(t, err)
		dark, light := p.ends(choice.Focus)
		for i, f := range choice.Focus {
			darkest, lightest, cells := 100.0, 0.0, 0
			p.within(f, func(i int, _ float64) {
				l := k.Chart.Legend[k.Chart.Cells[i]].Drill.Lab.L
				darkest, lightest, cells = min(darkest, l), max(lightest, l), cells+1
			})
			t.Logf("%s, eye %d of %d drills: photo L* %.1f to %.1f, drills %.1f to %.1f; %d colors", c.photo, i+1, cells, dark[i].L, light[i].L, darkest, lightest, len(k.Chart.Legend))
			// The card's darks are 5 L* apart, and one that is kept already does if it is hardly farther.
			assert.LessOrEqual(t, darkest, max(12, dark[i].L+5.5), "%s, eye %d", c.photo, i+1)
			assert.GreaterOrEqual(t, lightest, light[i].L-14, "%s, eye %d", c.photo, i+1)
		}
	}
}

// An eye of a few dark drills in a wide soft ground: what the mean of all drills
// would spend on the ground goes to the pupil's and the glint's color first, and
// no later exchange takes it away.
func TestPupilAndGlintAreKept(t *testing.T) {
	img := image.NewNRGBA(image.Rect(0, 0, 300, 200))
	for y := range 200 {
		for x := range 300 {
			c := color.NRGBA{uint8(140 + x/3), uint8(110 + y/3), uint8(80 + (x+y)/6), 255} // fur in many shades
			switch cx, cy := x/5, y/5; {
			case cx >= 30 && cx <= 31 && cy == 20:
				c = color.NRGBA{250, 252, 255, 255}
			case cx >= 29 && cx <= 31 && cy >= 19 && cy <= 21:
				c = color.NRGBA{8, 8, 10, 255}
			case cx >= 27 && cx <= 33 && cy >= 17 && cy <= 23:
				c = color.NRGBA{96, 66, 40, 255}
			}
			img.SetNRGBA(x, y, c)
		}
	}
	var b bytes.Buffer
	require.NoError(t, png.Encode(&b, img))
	p, choice := prepare(t, b.Bytes(), func(o *Order) {
		o.Colors, o.Rare, o.Tone, o.Turn = 8, 0, ToneNone, TurnAsked
		o.Focus = []Focus{{Box{45, 42.5, 11.7, 17.5}, 1}}
	})
	k, err := p.Kit(context.Background(), choice)
	require.NoError(t, err)
	at := func(x, y int) lab.Color { return k.Chart.At(x, y).Drill.Lab }
	assert.Less(t, at(29, 20).L, 8.0, "the pupil")
	assert.Greater(t, at(30, 20).L, 90.0, "the glint")
}

func TestEndsTakeTheirPlace(t *testing.T) {
	p, c := prepare(t, dotOnStripes(t), func(o *Order) { o.Focus = []Focus{{Box{40, 30, 20, 40}, 3}} })
	black, white := lab.Color{L: 2}, lab.Color{L: 98}
	for _, c := range []struct {
		name  string
		opt   quantize.Options
		ends  []lab.Color
		added int
	}{
		{"both", quantize.Options{K: 12}, []lab.Color{black, white}, 2},
		{"two alike", quantize.Options{K: 12}, []lab.Color{black, {L: 3}, white}, 2},
		{"one color in four", quantize.Options{K: 4}, []lab.Color{black, white}, 1},
		{"none in three", quantize.Options{K: 3}, []lab.Color{black, white}, 0},
		{"no room", quantize.Options{K: 8, Keep: []int{20, 30, 40, 50, 60, 70, 80, 90}}, []lab.Color{black, white}, 0},
		{"room for one", quantize.Options{K: 8, Keep: []int{20, 30, 40, 50, 60, 70, 80}}, []lab.Color{black, white}, 1},
	} {
		keep := p.keepEnds(c.opt, c.ends)
		assert.Len(t, keep, len(c.opt.Keep)+c.added, c.name)
		assert.Subset(t, keep, c.opt.Keep, c.name)
	}
	only := p.keepEnds(quantize.Options{K: 12}, []lab.Color{black})
	require.Len(t, only, 1)
	assert.Less(t, p.card.Drills[only[0]].Lab.L, 8.0)
	other := p.keepEnds(quantize.Options{K: 12, Avoid: only}, []lab.Color{black})
	assert.NotEqual(t, only, other, "what is avoided is not kept")

	dark, light := p.ends(c.Focus)
	require.Len(t, dark, 1)
	assert.Less(t, dark[0].L, light[0].L)
}
