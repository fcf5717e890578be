package kit

import (
	"bytes"
	"context"
	"image"
	"image/color"
	"image/png"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
	"kitwright/lab"
	"kitwright/quantize"
)

// Eyes of 7 to 70 drills in the open photos of the folder that KITWRIGHT_ANIMALS
// names: among 18 colors for the whole picture there is one for the black of the
// pupil and one for the glint, and whatever the calm, a drill of each lies there.
func TestEyesStayDark(t *testing.T) {
	dir := checker.Folder(t, "KITWRIGHT_ANIMALS")
	around := func(w, h, x, y, r float64) Focus { // in pixels
		return Focus{Box{(x - r) / w * 100, (y - r) / h * 100, 2 * r / w * 100, 2 * r / h * 100}, 3}
	}
	for _, c := range []struct {
		photo string
		grid  Cells
		eyes  []Focus
	}{
		{"panda.webp", Cells{160, 120}, []Focus{{Box{24.6, 42.5, 4, 8.5}, 3}, {Box{32.5, 41, 4.8, 8.5}, 3}}},
		{"hedgehog.webp", Cells{160, 120}, []Focus{{Box{67.2, 48.6, 3.8, 5.4}, 3}}},
		{"lemur.webp", Cells{160, 120}, []Focus{{Box{42.9, 37.7, 2.6, 4.6}, 3}, {Box{47.1, 38, 2.6, 4.6}, 3}}},
		{"polar_bear.webp", Cells{160, 120}, []Focus{{Box{78, 45.6, 2, 2.4}, 3}}},
		{"koala.webp", Cells{120, 160}, []Focus{around(768, 1024, 373, 315, 9.5), around(768, 1024, 465, 343, 9.5)}},
		{"scarlet_macaw.webp", Cells{160, 124}, []Focus{around(1024, 793, 363, 151, 13)}},
	} {
		picture, err := os.ReadFile(filepath.Join(dir, c.photo))
		require.NoError(t, err)
		p, choice := prepare(t, picture, func(o *Order) {
			o.Grid, o.Turn, o.Colors, o.Focus, o.Effort = c.grid, TurnAsked, 18, c.eyes, EffortQuick
		})
		for _, choice.Calm = range []float64{0.5, 1} {
			k, err := p.Prepared.Kit(context.Background(), choice)
			require.NoError(t, err)
			for i, f := range choice.Focus {
				darkest, lightest, cells := 100.0, 0.0, 0
				from, to := 100.0, 0.0 // of the photo
				p.within(f, func(i int, _ float64) {
					l, want := k.Chart.Legend[k.Chart.Cells[i]].Drill.Lab.L, k.Target.Grid.Cells[i].L
					darkest, lightest, cells = min(darkest, l), max(lightest, l), cells+1
					from, to = min(from, want), max(to, want)
				})
				t.Logf("%s, calm %v, eye %d of %d drills: photo L* %.1f to %.1f, drills %.1f to %.1f", c.photo, choice.Calm, i+1, cells, from, to, darkest, lightest)
				// The card's darks are 5 L* apart, others 10.
				assert.LessOrEqual(t, darkest, max(12, from+4), "%s, eye %d", c.photo, i+1)
				assert.GreaterOrEqual(t, lightest, to-14, "%s, eye %d", c.photo, i+1)
			}
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

// A pupil of one drill in an owl's yellow eye, a glint of one drill in a dark eye
// at the very edge, and both again in circles that overlap: whatever the calm,
// they lie where the photo has them.
func TestPupilAndGlintAreLaid(t *testing.T) {
	const cols, rows = 60, 40
	img := image.NewNRGBA(image.Rect(0, 0, cols, rows))
	disc := func(cx, cy, r int, c color.NRGBA) {
		for y := range rows {
			for x := range cols {
				if (x-cx)*(x-cx)+(y-cy)*(y-cy) <= r*r {
					img.SetNRGBA(x, y, c)
				}
			}
		}
	}
	for y := range rows {
		for x := range cols {
			img.SetNRGBA(x, y, color.NRGBA{uint8(140 + x), uint8(110 + y), uint8(80 + x/2 + y/2), 255})
		}
	}
	yellow, black, brown, glint := color.NRGBA{92, 74, 44, 255}, color.NRGBA{56, 48, 42, 255}, color.NRGBA{84, 64, 50, 255}, color.NRGBA{122, 96, 78, 255}
	disc(15, 20, 2, yellow)
	disc(15, 20, 0, black)
	disc(58, 1, 2, brown)
	disc(59, 0, 0, glint)
	disc(40, 30, 3, brown)
	disc(39, 29, 0, glint)
	disc(42, 31, 0, black)
	var b bytes.Buffer
	require.NoError(t, png.Encode(&b, img))
	round := func(x, y, r float64) Focus {
		return Focus{Box{(x + .5 - r) / cols * 100, (y + .5 - r) / rows * 100, 2 * r / cols * 100, 2 * r / rows * 100}, 3}
	}
	for _, calm := range []float64{0, 0.5, 1} {
		p, choice := prepare(t, b.Bytes(), func(o *Order) {
			o.Grid, o.Turn, o.Tone, o.Colors, o.Calm, o.Effort = Cells{cols, rows}, TurnAsked, ToneNone, 16, calm, EffortQuick
			o.Focus = []Focus{round(15, 20, 2.5), {Box{95, 0, 5, 7.5}, 3}, round(39.7, 29.7, 2.4), round(40.5, 30.2, 2.4)}
		})
		k, err := p.Kit(context.Background(), choice)
		require.NoError(t, err)
		at := func(x, y int) float64 { return k.Chart.At(x, y).Drill.Lab.L }
		assert.Less(t, at(15, 20), 21.0, "calm %v: the owl's pupil", calm)
		assert.Greater(t, at(59, 0), 40.0, "calm %v: the glint at the edge", calm)
		assert.Greater(t, at(39, 29), 40.0, "calm %v: the glint", calm)
		assert.Less(t, at(42, 31), 21.0, "calm %v: the pupil", calm)
	}
}

func TestEndsTakeTheirPlace(t *testing.T) {
	p, c := prepare(t, dotOnStripes(t), func(o *Order) { o.Focus = []Focus{{Box{40, 30, 20, 40}, 3}} })
	black, white := lab.Color{L: 2}, lab.Color{L: 98}
	var middling []int
	for j, d := range p.card.Drills {
		if d.Lab.L > 40 && d.Lab.L < 60 && len(middling) < 8 {
			middling = append(middling, j)
		}
	}
	for _, c := range []struct {
		name  string
		opt   quantize.Options
		ends  []lab.Color
		added int
		says  string
	}{
		{"both", quantize.Options{K: 12}, []lab.Color{black, white}, 2, ""},
		{"two alike", quantize.Options{K: 12}, []lab.Color{black, {L: 3}, white}, 2, ""},
		{"one color in four", quantize.Options{K: 4}, []lab.Color{black, white}, 1, "Of 2 colors for the darkest and the lightest of what is circled, 1 has no room among 4: from 8 colors on all have."},
		{"two alike of one", quantize.Options{K: 4}, []lab.Color{black, white, {L: 97}, {L: 3}}, 1, "Of 2 colors for the darkest and the lightest of what is circled, 1 has no room among 4: from 8 colors on all have."},
		{"none in three", quantize.Options{K: 3}, []lab.Color{black, white}, 0, "Of 2 colors for the darkest and the lightest of what is circled, 2 have no room among 3: from 8 colors on all have."},
		{"no room", quantize.Options{K: 8, Keep: middling}, []lab.Color{black, white}, 0, "Of 2 colors for the darkest and the lightest of what is circled, 2 have no room among 8: from 10 colors on all have."},
		{"room for one", quantize.Options{K: 8, Keep: middling[:7]}, []lab.Color{black, white}, 1, "Of 2 colors for the darkest and the lightest of what is circled, 1 has no room among 8: from 9 colors on all have."},
	} {
		keep, ruled := p.keepEnds(c.opt, c.ends)
		assert.Equal(t, c.says, ruled.words(c.opt.K), c.name)
		what := p.objective(wanted{}, ruled)
		assert.Equal(t, c.added > 0, strings.Contains(what, "circled kept"), "%s: %s", c.name, what)
		assert.Equal(t, c.added > 0 && c.says != "", strings.Contains(what, "as far as there was room"), "%s: %s", c.name, what)
		if c.says != "" { // and so it is
			c.opt.K = ruled.from
			_, ruled = p.keepEnds(c.opt, c.ends)
			assert.Empty(t, ruled.words(c.opt.K), c.name)
		}
		assert.Len(t, keep, len(c.opt.Keep)+c.added, c.name)
		assert.Subset(t, keep, c.opt.Keep, c.name)
	}
	only, _ := p.keepEnds(quantize.Options{K: 12}, []lab.Color{black})
	require.Len(t, only, 1)
	assert.Less(t, p.card.Drills[only[0]].Lab.L, 8.0)
	other, _ := p.keepEnds(quantize.Options{K: 12, Avoid: only}, []lab.Color{black})
	assert.NotEqual(t, only, other, "what is avoided is not kept")

	dark, light := p.ends(c.Focus)
	require.Len(t, dark, 1)
	assert.Less(t, dark[0].L, light[0].L)
}
