package kit

import (
	"bytes"
	"context"
	"fmt"
	"image"
	"image/png"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/chart"
	"kitwright/palettes"
	"kitwright/photo"
)

// A photo that is too tall loses as much above as below, one that is too wide
// as much at either side.
func TestCropKeepsTheMiddle(t *testing.T) {
	o := DefaultOrder()
	o.Grid, o.Turn = Cells{100, 100}, TurnAsked
	for _, c := range []struct {
		w, h int
		box  Box
		crop photo.Crop
		cut  float64
	}{
		{1000, 3000, Box{}, photo.Crop{X: 0, Y: 1000, W: 1000, H: 1000}, 2. / 3},
		{3000, 1000, Box{}, photo.Crop{X: 1000, Y: 0, W: 1000, H: 1000}, 2. / 3},
		{1000, 2000, Box{0, 50, 100, 50}, photo.Crop{X: 0, Y: 1000, W: 1000, H: 1000}, 0},
		{1000, 2000, Box{0, 0, 50, 100}, photo.Crop{X: 0, Y: 750, W: 500, H: 500}, 0.75},
	} {
		o.Crop = c.box
		l, err := o.Canvas.Lay(c.w, c.h)
		require.NoError(t, err)
		assert.Equal(t, c.crop, l.Crop, "%d x %d", c.w, c.h)
		assert.InDelta(t, c.cut, l.Cut, 1e-9, "%d x %d", c.w, c.h)
	}
}

// From the calm on that stands for drills easy to place, the picture is not
// sharpened: it would cost lone drills.
func TestEasyDrillsAreNotSharpened(t *testing.T) {
	p, _ := prepare(t, photo.Demo(), func(*Order) {})
	for calm, sharp := range map[float64]bool{0.5: true, 0.74: true, 0.75: false, 1: false} {
		o := DefaultOrder()
		o.Calm = calm
		assert.Equal(t, sharp, p.Prepared.Picture(o.Choice).Tone.Sharp, "calm %v", calm)
	}
}

// Runs of three drills and more are what a multi-placer sets at once.
func TestLadderCountsRunsOfThree(t *testing.T) {
	p, c := prepare(t, photo.Demo(), func(*Order) {})
	rungs, _, err := p.Ladder(context.Background(), c, []int{8, 12})
	require.NoError(t, err)
	for _, r := range rungs {
		want, twos := 0, 0
		for y := range r.Chart.Rows {
			for x := 0; x < r.Chart.Cols; {
				n := 1
				for x+n < r.Chart.Cols && r.Chart.At(x+n, y) == r.Chart.At(x, y) {
					n++
				}
				if n >= 3 {
					want++
				} else if n == 2 {
					twos++
				}
				x += n
			}
		}
		assert.Equal(t, want, r.Runs)
		assert.Positive(t, twos)
	}
}

// A gray coat on a card of reds and greens: no number of colors helps, and the
// sentence says which way it turns. On the built-in card the demo cat is well
// served.
func TestCardFarFromThePhoto(t *testing.T) {
	img := image.NewNRGBA(image.Rect(0, 0, 90, 60))
	for i := range img.Pix {
		img.Pix[i] = uint8(90 + i/4%90/2)
		if i%4 == 3 {
			img.Pix[i] = 255
		}
	}
	var file bytes.Buffer
	require.NoError(t, png.Encode(&file, img))
	for text, want := range map[string]string{
		"#a06060,#904848,#c08080": "redder", "#60a060,#489048,#80c080": "greener", "#606060,#707070,#808080": "",
		"#202020,#101010,#000000": "darker", "#f0f0f0,#ffffff": "lighter", "#3c3c3c,#a0a0a0": "otherwise",
	} {
		card := "code,hex\n"
		for i, hex := range strings.Split(text, ",") {
			card += fmt.Sprintf("SR-%03d,%s\n", i+1, hex)
		}
		own, err := palettes.Read("reds.csv", strings.NewReader(card))
		require.NoError(t, err)
		o := DefaultOrder()
		o.Grid, o.Colors, o.Tone, o.Card = Cells{60, 40}, 2, ToneNone, "reds.csv"
		s, err := Open(context.Background(), bytes.NewReader(file.Bytes()), "coat.png", own)
		require.NoError(t, err)
		p, err := s.Lay(context.Background(), o.Canvas, o.Light)
		require.NoError(t, err)
		o.Card = own.Name
		k, err := p.Kit(context.Background(), o.Choice)
		require.NoError(t, err)
		said := strings.Join(k.Advice, "\n")
		notes, err := p.LadderNotes(o.Choice, nil, []int{2, 3})
		require.NoError(t, err)
		for _, n := range notes {
			assert.Contains(t, said, n, "the ladder says the same")
		}
		assert.Equal(t, want != "", len(notes) > 0)
		if want == "" {
			assert.NotContains(t, said, "has nothing near", text)
			continue
		}
		assert.Contains(t, said, "comes out "+want+" there", text)
	}
	p, c := prepare(t, photo.Demo(), func(*Order) {})
	k, err := p.Kit(context.Background(), c)
	require.NoError(t, err)
	assert.NotContains(t, strings.Join(k.Advice, "\n"), "has nothing near")
}

func TestWayThatColorsTurn(t *testing.T) {
	for _, c := range []struct {
		l, a, b, chroma float64
		want            string
	}{
		{0, 3, 1, 3, "redder"}, {0, -3, 1, 3, "greener"}, {0, 1, 3, 3, "yellower"}, {1, 1, -3, 3, "bluer"},
		{4, 3, 1, 3, "lighter"}, {-4, 3, 1, 3, "darker"},
		{-1, -13, 1, -12, "duller"},                           // hot pink
		{1, 8, -12, -14, "duller"},                            // grass in neon
		{0, -2, -7, -13, "duller"},                            // half pink, half green
		{-9, 1, -5, -5, "darker"}, {0, -12, 3, -2, "greener"}, // another hue, hardly duller
		{.5, -.5, .2, .3, ""},
	} {
		assert.Equal(t, c.want, direction(c.l, c.a, c.b, c.chroma), "%v", c)
	}
}

// A color that was chosen and got no drill is not what the rest was given up
// for.
func TestOnlyWhatIsLaidWasBought(t *testing.T) {
	ctx := context.Background()
	p, c := prepare(t, dotOnStripes(t), func(o *Order) { o.Colors, o.Rare = 4, 1 })
	w, err := p.begin(ctx, ctx, c)
	require.NoError(t, err)
	d, err := p.choose(ctx, ctx, w, c.Colors, true)
	require.NoError(t, err)
	require.NoError(t, p.lay(ctx, c.Calm, w, d, nil))
	judged := func() (*chart.Chart, string) {
		made, err := chart.New(p.grid.Cols, p.grid.Rows, p.card, d.chosen, d.cells)
		require.NoError(t, err)
		return made, p.judge(p.target(), made, d).Bought
	}
	_, bought := judged()
	require.NotEmpty(t, bought)
	for i, at := range d.cells {
		if strings.HasSuffix(bought, "("+p.card.Drills[d.chosen[at]].Address()+")") {
			d.cells[i] = (at + 1) % uint16(len(d.chosen))
		}
	}
	made, now := judged()
	assert.NotEqual(t, bought, now)
	assert.True(t, now == "" || slices.ContainsFunc(made.Legend, func(e chart.Entry) bool { return strings.HasSuffix(now, "("+e.Drill.Address()+")") }))
}
