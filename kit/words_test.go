package kit

import (
	"context"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/chart"
	"kitwright/internal/say"
	"kitwright/photo"
	"kitwright/photo/tone"
)

// What is said of the quality is true in every case.
func TestQualityLines(t *testing.T) {
	background, rare, keep, calm, stops := "soft", "0", "", "1", 0.0
	of := func(q Quality, stopped bool) string {
		k := &Kit{Chart: &chart.Chart{Legend: make([]chart.Entry, 30)}, Quality: q, Stopped: stopped, Order: map[string]string{"background": background, "rare": rare, "keep": keep, "avoid": "", "calm": calm}, Tone: tone.Changes{Stops: stops}}
		return joined(k.Words())
	}
	best := Quality{MeanMiss: 3.271, MeanNearest: 3.271, MeanBest: 3.271, MeanBound: 3.2709, MeanProven: true, Cost: 3.271, Bound: 3.2709, Proven: true}
	assert.Contains(t, of(best, false), "3.27 off the photo on average; no 30 colors of this card get below 3.27 (proven).")

	bought := best
	bought.MeanMiss, bought.MeanNearest, bought.Bought = 3.34, 3.31, "moderate olive (7.5Y 5/4)"
	assert.Contains(t, of(bought, false), "; the difference bought moderate olive (7.5Y 5/4) and calm areas with few lone drills.")

	behind := bought
	behind.SubjectMiss, behind.Bought = 3.02, ""
	assert.Contains(t, of(behind, false), "3.34 off the photo on average, 3.02 on the subject; no 30")

	background = "4"
	assert.Contains(t, of(bought, false), "bought moderate olive (7.5Y 5/4), a background as asked for (4) and calm areas")
	unnamed := bought
	rare = "0.7"
	unnamed.Bought = ""
	assert.Contains(t, of(unnamed, false), "bought what --rare asked for, a background as asked for (4) and calm areas", "the background once")
	rare = "0"
	assert.Contains(t, of(unnamed, false), "bought a background as asked for (4) and calm areas", "and not what else was asked for")
	unnamed.MeanMiss = unnamed.MeanNearest
	assert.Contains(t, of(unnamed, false), "bought what --background asked for.", "where its colors alone cost something")
	background = "soft"
	unnamed = bought
	unnamed.Bought = ""
	rare = "0.7"
	assert.Contains(t, of(unnamed, false), "bought what --rare asked for and calm", "only what was given")
	keep = "SR-041"
	assert.Contains(t, of(unnamed, false), "bought what --rare and --keep asked for and calm")
	stops = 1.5
	assert.Contains(t, of(best, false), "3.27 off the photo, made 2.8 times as bright, on average")
	stops = 0
	calm = "0.5"
	assert.Contains(t, of(bought, false), "; the difference bought moderate olive (7.5Y 5/4) and a closer look from across the room.")
	calm = "1"
	laid := unnamed
	laid.MeanExchanged, laid.MeanLeftOut, laid.MeanMiss = 0.03, 0.01, laid.MeanNearest
	assert.Contains(t, of(laid, false), "; the difference bought colors that lay better and fewer colors, as --least asked for.", "and nothing else")
	injected := bought
	injected.Bought = "red {colors}"
	assert.Contains(t, of(injected, false), "bought red {colors} and calm")

	open := best
	open.MeanBound, open.MeanProven, open.Proven = 3.2599, false, false
	assert.Contains(t, of(open, false), "below 3.25 (proven), and the best found reach 3.27")

	open.BestColors = 33
	assert.Contains(t, of(open, false), "no 30 colors of this card get below 3.25 (proven), and the best 33 found reach 3.27")

	exact := Quality{MeanProven: true, Proven: true}
	assert.Contains(t, of(exact, false), "no 30 colors of this card get below 0.00 (proven).", "a bound of zero is a proof where nothing is missed")
	assert.NotContains(t, of(exact, true), "not known")

	one := &Kit{Chart: &chart.Chart{Legend: make([]chart.Entry, 1)}, Quality: best}
	assert.Contains(t, joined(one.Words()), "no single color of this card gets below 3.27 (proven).")

	stopped := open
	stopped.Gap = 0.0123
	assert.Contains(t, of(stopped, true), "at most 1.23 percent from the best")
	stopped.MeanBound, stopped.Bound, stopped.Gap = 0, 0, 1
	assert.Contains(t, of(stopped, true), "nothing is proven")
	assert.Contains(t, of(stopped, true), "is not known")
	assert.NotContains(t, of(stopped, true), "(proven)")
}

func joined(words []say.Text) string {
	var out []string
	for _, w := range words {
		out = append(out, w.Words(func(s string) string { return "--" + s }))
	}
	return strings.Join(out, " ")
}

func TestCroppedIsNeverAll(t *testing.T) {
	assert.Equal(t, "99 % of the photo was cropped to fill the picture (--fit whole keeps all of it).", joined(Layout{Cut: 0.9976}.Words()))
	assert.Empty(t, Layout{Cut: 0.004}.Words())
}

func TestHours(t *testing.T) {
	pace := Pace{Slow: 400, Fast: 1000}
	assert.Equal(t, "20 to 48", pace.Hours(19_200))
	assert.Equal(t, "1", pace.Hours(400))
	assert.Equal(t, "2,000 to 5,000", Pace{Slow: 400, Fast: 1000}.Hours(2_000_000))
}

// A share that is told is the nearest whole percent; what is not all is not
// called 100.
func TestPercentOf(t *testing.T) {
	for _, c := range []struct{ part, of, want int64 }{{0, 7, 0}, {21891, 26401, 83}, {1, 200, 1}, {1, 201, 0}, {999, 1000, 99}, {7, 7, 100}} {
		assert.Equal(t, c.want, percentOf(c.part, c.of), "%d of %d", c.part, c.of)
	}
}

// A part of a photo is told to a hundredth of a percent, however it was drawn.
func TestBoxWords(t *testing.T) {
	assert.Equal(t, "33.33,5,0.13,16.67", Box{100. / 3, 5, 0.125 + 1e-12, 50. / 3}.Words())
	p, c := prepare(t, photo.Demo(), func(o *Order) { o.Crop = Box{50, 50, 40, 40} })
	c.Focus = []Focus{{Box{100. / 3, 10, 100. / 9, 10}, 3}}
	_, err := p.Kit(context.Background(), c)
	require.ErrorContains(t, err, " 33.33,10,11.11,10 lies outside")
	_, err = readFocus("B2-ZZ9")
	require.ErrorContains(t, err, "such as C4-P19")
}
