package kit

import (
	"bytes"
	"context"
	"image"
	"image/color"
	"image/png"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/chart"
	"kitwright/internal/checker"
	"kitwright/internal/say"
	"kitwright/lab"
	"kitwright/photo"
	"kitwright/photo/tone"
)

// prepare makes a picture ready for the default order as changed.
func prepare(t testing.TB, picture []byte, change func(o *Order)) (*task, Choice) {
	t.Helper()
	o := DefaultOrder()
	o.Grid, o.Colors = Cells{60, 40}, 12
	change(&o)
	s, err := Open(context.Background(), bytes.NewReader(picture), "ginger.png")
	require.NoError(t, err)
	p, err := s.Lay(context.Background(), o.Canvas, o.Light)
	require.NoError(t, err)
	made, err := p.task(o.Choice)
	require.NoError(t, err)
	return made, o.Choice
}

// dotOnStripes is a red disc on gray stripes of ten pixels.
func dotOnStripes(t testing.TB) []byte {
	img := image.NewNRGBA(image.Rect(0, 0, 300, 200))
	for y := range 200 {
		for x := range 300 {
			v := uint8(120 + 50*(x/10%2))
			c := color.NRGBA{v, v, v, 255}
			if dx, dy := x-150, y-100; dx*dx+dy*dy < 60*60 {
				c = color.NRGBA{190, uint8(40 + y/4), 40, 255}
			}
			img.SetNRGBA(x, y, c)
		}
	}
	var b bytes.Buffer
	require.NoError(t, png.Encode(&b, img))
	return b.Bytes()
}

func TestFrameIsAsAskedFor(t *testing.T) {
	p, o := prepare(t, photo.Demo(), func(o *Order) { o.Border, o.Caption = Border{2, "5R 4/14"}, "Ginger" })
	k, err := p.Kit(context.Background(), o)
	require.NoError(t, err)
	c := k.Chart
	require.Equal(t, 2400, c.Drills())

	code := c.At(0, 0).Drill.Code
	assert.Equal(t, "5R 4/14", code)
	inks := map[string]int{}
	at := p.Layout.Picture
	for y := range c.Rows {
		for x := range c.Cols {
			edge := x < 2 || y < 2 || x >= c.Cols-2 || y >= c.Rows-2
			below := !edge && y >= at.Y+at.H
			if edge {
				assert.Equal(t, code, c.At(x, y).Drill.Code, "border at %d, %d", x, y)
			} else if below {
				inks[c.At(x, y).Drill.Code]++
			}
		}
	}
	require.Len(t, inks, 2, "the caption has a ground and an ink, and nothing was mixed in")
	var labs []lab.Color
	for _, e := range c.Legend {
		if inks[e.Drill.Code] > 0 {
			labs = append(labs, e.Drill.Lab)
		}
	}
	assert.GreaterOrEqual(t, chart.Contrast(labs[0], labs[1]), 4.5, "WCAG 2.2, 1.4.3")

	// The quality is that of the photo alone: the same photo on a canvas of
	// just its own cells is judged the same way.
	var sum float64
	n := 0
	for y := at.Y; y < at.Y+at.H; y++ {
		for x := at.X; x < at.X+at.W; x++ {
			sum += lab.DeltaE(p.grid.At(x, y), c.At(x, y).Drill.Lab)
			n++
		}
	}
	assert.InDelta(t, sum/float64(n), k.Quality.MeanMiss, 1e-3)
}

func TestBackgroundOfFewColors(t *testing.T) {
	checker.Slow(t)
	for _, colors := range []int{1, 2, 4} {
		p, o := prepare(t, dotOnStripes(t), func(o *Order) {
			o.Subject, o.Background, o.Tone = Box{28, 18, 44, 64}, Background{Colors: colors}, ToneNone
		})
		require.NotNil(t, p.Subject)
		k, err := p.Kit(context.Background(), o)
		require.NoError(t, err)
		used := map[string]bool{}
		for i := range k.Chart.Cells {
			if p.onSubject(i) {
				continue
			}
			x, y := i%60, i/60
			used[k.Chart.At(x, y).Drill.Code] = true
			assert.False(t, k.Chart.Lone(x, y) && !p.onlySubjectAround(i), "a lone drill in the background at %d, %d", x, y)
		}
		assert.LessOrEqual(t, len(used), colors)
		assert.NotEmpty(t, used)
		assert.True(t, k.Quality.Bound <= k.Quality.Cost)
	}
}

// onlySubjectAround says whether a cell has no background beside it, so that
// nothing of its own kind could be.
func (p *task) onlySubjectAround(i int) bool {
	x, y := i%p.Layout.Cols, i/p.Layout.Cols
	for _, d := range [4][2]int{{1, 0}, {-1, 0}, {0, 1}, {0, -1}} {
		nx, ny := x+d[0], y+d[1]
		if nx >= 0 && ny >= 0 && nx < p.Layout.Cols && ny < p.Layout.Rows && !p.onSubject(ny*p.Layout.Cols+nx) {
			return false
		}
	}
	return true
}

func TestCircledEyeIsSubject(t *testing.T) {
	p, _ := prepare(t, dotOnStripes(t), func(o *Order) {
		o.Subject, o.Focus = Box{28, 18, 44, 64}, []Focus{{Box{2, 2, 10, 15}, 3}}
	})
	assert.True(t, p.onSubject(4*60+4), "the middle of the circle")
	assert.False(t, p.onSubject(4*60+55), "the other corner")
	times, err := p.times([]Focus{{Box{2, 2, 10, 15}, 3}})
	require.NoError(t, err)
	w := both(p.weights(), times)
	assert.EqualValues(t, 48, w[3*60+4])
	assert.EqualValues(t, 4, w[4*60+55])
	assert.EqualValues(t, 16, w[20*60+30])
}

func TestToneIsKeptInTheKit(t *testing.T) {
	p, o := prepare(t, photo.Demo(), func(o *Order) { o.Effort = EffortQuick })
	k, err := p.Kit(context.Background(), o)
	require.NoError(t, err)
	assert.True(t, k.Tone.Local && k.Tone.Sharp)
	assert.NotEqual(t, p.Before.Cells, p.After.Cells)
	assert.Equal(t, p.After.Cells, p.grid.Cells)

	p, o = prepare(t, photo.Demo(), func(o *Order) { o.Tone, o.Effort = ToneNone, EffortQuick })
	k, err = p.Kit(context.Background(), o)
	require.NoError(t, err)
	assert.Equal(t, tone.Changes{}, k.Tone)
	assert.Equal(t, p.Before.Cells, p.grid.Cells)
}

func TestPickIsTheFewestThatLookNearlyAsGood(t *testing.T) {
	for _, c := range []struct {
		counts []int
		far    []float64
		want   int
		says   string
	}{
		{[]int{8, 20, 40, 60}, []float64{5, 3.5, 3.2, 3}, 40, "bring 90 percent of what going from 8 to 60 colors"},
		{[]int{8, 20, 40, 60}, []float64{5, 3.4, 3.2, 3}, 20, "bring 80 percent"},
		{[]int{8, 20, 40, 60}, []float64{5, 3.2, 4, 3}, 20, "bring 90 percent"},
		{[]int{8, 20, 40, 60}, []float64{5, 3.1, 3, 3.2}, 20, "bring 95 percent"}, // the best lies in between
		{[]int{8, 20, 40, 60}, []float64{3, 3, 3, 3}, 8, "come no closer"},
		{[]int{8, 20, 40, 60}, []float64{5, 4.99, 4.98, 3}, 60, "bring 100 percent"},
		{[]int{8, 20, 40, 60}, []float64{0.63, 0.5, 0.4, 0.3}, 8, "nothing more to see"},
		{[]int{8, 20, 40, 60}, []float64{4, 0.99, 0.4, 0.3}, 20, "nothing more to see"},
		{[]int{8}, []float64{5}, 0, "two rungs"},
	} {
		var rungs []Rung
		for i, n := range c.counts {
			rungs = append(rungs, Rung{Colors: n, Asked: n, Far: c.far[i]})
		}
		i, got := recommend(rungs, len(rungs))
		assert.Equal(t, c.want, got.Colors, "%v", c.far)
		assert.Contains(t, got.Why, c.says)
		if c.want > 0 {
			assert.Equal(t, c.want, rungs[i].Colors)
		}
	}
}

// What the ladder recommends is what the chart makes, drill for drill, and
// what "auto" takes.
func TestRecommendedRungIsTheChart(t *testing.T) {
	checker.Slow(t)
	ctx := context.Background()
	p, c := prepare(t, photo.Demo(), func(o *Order) { o.Colors = AutoColors })
	rungs, pick, err := p.Ladder(ctx, c, LadderCounts())
	require.NoError(t, err)
	k, err := p.Kit(ctx, c)
	require.NoError(t, err)
	assert.Len(t, k.Chart.Legend, pick.Colors)
	assert.Equal(t, pick.Colors, pick.Asked)
	assert.Equal(t, "auto", k.Order["colors"])
	found := false
	for _, r := range rungs {
		assert.Len(t, r.Chart.Legend, r.Colors)
		if r.Asked == pick.Asked {
			found = true
			assert.Equal(t, k.Chart, r.Chart)
			assert.Equal(t, k.Quality.MeanMiss, r.Mean)
			assert.Equal(t, k.Quality.MeanBound, r.Bound)
		}
	}
	assert.True(t, found)
}

// A picture of few colors: rungs that would use no more are left out.
func TestLadderOfFewColors(t *testing.T) {
	img := image.NewNRGBA(image.Rect(0, 0, 90, 60))
	for i := range img.Pix {
		img.Pix[i] = 255
		if i%4 < 3 && i/4%90 < 45 {
			img.Pix[i] = 40
		}
	}
	var file bytes.Buffer
	require.NoError(t, png.Encode(&file, img))
	p, c := prepare(t, file.Bytes(), func(o *Order) {})
	rungs, pick, err := p.Ladder(context.Background(), c, []int{8, 12, 18})
	require.NoError(t, err)
	require.Len(t, rungs, 1)
	assert.Equal(t, rungs[0].Colors, pick.Colors)
	assert.Less(t, pick.Colors, 8)
	assert.Contains(t, pick.Why, "more serve no drill")
}

// Ended by hand, nothing is recommended; auto falls back and says so.
func TestStoppedLadderRecommendsNothing(t *testing.T) {
	p, c := prepare(t, photo.Demo(), func(o *Order) { o.Colors = AutoColors })
	ctx, stopper := say.WithStopper(context.Background())
	ctx = say.WithProgress(ctx, func(stage string, _, _ int) {
		if stage == "making the rungs" {
			stopper.Stop()
		}
	})
	rungs, pick, err := p.Ladder(ctx, c, LadderCounts())
	require.NoError(t, err)
	require.NotEmpty(t, rungs)
	assert.Less(t, len(rungs), 4, "rungs not begun are not made")
	assert.Zero(t, pick.Colors)
	assert.Contains(t, pick.Why, "stopped before")

	k, err := p.Kit(ctx, c)
	require.NoError(t, err)
	assert.Equal(t, autoColors, len(k.Chart.Legend))
	assert.Contains(t, strings.Join(k.Advice, "\n"), "30 are taken")
}

// A search ended by hand gives the best so far and says so.
func TestStoppedSearch(t *testing.T) {
	p, o := prepare(t, photo.Demo(), func(o *Order) { o.Grid = Cells{120, 80} })
	ctx, stopper := withStop()
	k, err := p.Kit(ctx, o)
	require.NoError(t, err)
	assert.True(t, stopper(), "the search was under way")
	assert.True(t, k.Stopped)
	assert.LessOrEqual(t, k.Quality.Bound, k.Quality.Cost)
	assert.Equal(t, 9600, k.Chart.Drills())
}

// So does one that is ended while colors are exchanged for how they lay, or
// while the rung to recommend is looked at harder: no rung gets worse by it.
func TestStoppedLate(t *testing.T) {
	p, c := prepare(t, photo.Demo(), func(o *Order) {})
	at := func(want string) context.Context {
		ctx, stopper := say.WithStopper(context.Background())
		return say.WithProgress(ctx, func(stage string, _, _ int) {
			if stage == want {
				assert.True(t, stopper.Stop(), "there is something to end")
			}
		})
	}
	k, err := p.Kit(at("looking for colors that lay better"), c)
	require.NoError(t, err)
	assert.True(t, k.Stopped)
	assert.NotContains(t, k.Quality.Objective, "exchanged")

	counts := []int{8, 12, 18}
	rungs, pick, err := p.Ladder(at("looking harder at the one to recommend"), c, counts)
	require.NoError(t, err)
	c.Effort = EffortQuick
	quick, want, err := p.Ladder(context.Background(), c, counts)
	require.NoError(t, err)
	assert.Equal(t, quick, rungs)
	assert.Equal(t, want.Asked, pick.Asked)
	assert.Contains(t, pick.Why, want.Why+" The search was stopped before")
}

// withStop returns a context whose first search is ended as soon as it
// begins, and a func that says whether that happened.
func withStop() (context.Context, func() bool) {
	ctx, s := say.WithStopper(context.Background())
	stopped := false
	ctx = say.WithProgress(ctx, func(string, int, int) {
		if s.Stop() {
			stopped = true
		}
	})
	return ctx, func() bool { return stopped }
}

// At 18 colors the plain mean paints the demo cat's green irises tan; as seen
// from two meters.
func TestCatKeepsHerGreenEyes(t *testing.T) {
	if testing.Short() {
		t.Skip("skipped: makes eight kits")
	}
	hue := func(c lab.Color) float64 { return math.Atan2(c.B, c.A) * 180 / math.Pi }
	share := func(grid Cells, eyes [][3]float64, rare float64) float64 {
		p, o := prepare(t, photo.Demo(), func(o *Order) {
			o.Grid, o.Turn, o.Colors, o.Rare = grid, TurnAsked, 18, rare
		})
		k, err := p.Kit(context.Background(), o)
		require.NoError(t, err)
		seen := lab.FarPicture(k.Chart.Grid(), p.perDegree()) // a soft ground may be mixed of two colors
		iris, kept := 0, 0
		for i, c := range p.grid.Cells {
			for _, e := range eyes { // column, row and radius
				dx, dy := float64(i%grid.Cols)-e[0], float64(i/grid.Cols)-e[1]
				if math.Hypot(dx, dy) < e[2] && hue(c) > 80 && math.Hypot(c.A, c.B) > 18 && c.L > 30 {
					iris++
					if hue(seen.Cells[i]) > 76 {
						kept++
					}
				}
			}
		}
		require.Greater(t, iris, 60)
		return float64(kept) / float64(iris)
	}
	for _, c := range []struct {
		grid Cells
		eyes [][3]float64
	}{
		{Cells{160, 120}, [][3]float64{{60, 46, 9}, {115, 55, 8}}},
		{Cells{200, 160}, [][3]float64{{77, 61, 11}, {145, 74, 10}}},
		{Cells{120, 160}, [][3]float64{{36, 61, 13}}},
		{Cells{160, 200}, [][3]float64{{45, 76, 17}}},
	} {
		plain, kept := share(c.grid, c.eyes, 0), share(c.grid, c.eyes, rareDefault)
		t.Logf("%d x %d: %.0f %% of the green stays green, %.0f %% with the plain mean", c.grid.Cols, c.grid.Rows, 100*kept, 100*plain)
		assert.GreaterOrEqual(t, kept, 0.88)
		assert.Less(t, plain, kept)
	}
}

// A code named twice is one color: it neither fills the count nor empties the
// card.
func TestCodesNamedTwice(t *testing.T) {
	p, o := prepare(t, photo.Demo(), func(o *Order) { o.Colors = 2 })
	o.Keep = []string{"N 5", "n 5", "N 5"}
	opt, err := p.options(o)
	require.NoError(t, err)
	assert.Len(t, opt.Keep, 1)
}

// Colors that an order avoids are in neither border nor caption, and what it
// asks for and avoids at once is named.
func TestAvoidedColorsAroundThePhoto(t *testing.T) {
	around := func(o *Order) { o.Border, o.Caption, o.Effort = Border{Drills: 2}, "Ginger", EffortQuick }
	p, o := prepare(t, photo.Demo(), around)
	avoid := map[string]bool{}
	for _, j := range p.fixed {
		if j >= 0 {
			avoid[p.card.Drills[j].Code] = true
		}
	}
	require.Len(t, avoid, 2)
	p, o = prepare(t, photo.Demo(), func(o *Order) {
		around(o)
		for code := range avoid {
			o.Avoid = append(o.Avoid, code)
		}
	})
	k, err := p.Kit(context.Background(), o)
	require.NoError(t, err)
	for _, e := range k.Chart.Legend {
		assert.False(t, avoid[e.Drill.Code], e.Drill.Code)
	}
}

func TestOrdersThatContradictThemselves(t *testing.T) {
	subject := Box{28, 18, 44, 64}
	for what, change := range map[string]func(o *Order){
		"border and avoid both name 5R 4/14": func(o *Order) {
			o.Border, o.Avoid = Border{2, "5r 4/14"}, []string{"5R 4/14"}
		},
		"background and avoid both name 5R 4/14": func(o *Order) {
			o.Subject, o.Background, o.Avoid = subject, Background{Plain: "5R 4/14"}, []string{"5R 4/14"}
		},
		"background, border, caption and keep take 4 colors, more than the 3 asked for": func(o *Order) {
			o.Subject, o.Background, o.Caption, o.Keep, o.Colors = subject, Background{Plain: "5R 4/14"}, "A", []string{"5G 5/6"}, 3
		},
		"no subject could be found by subject 1,1,10,10": func(o *Order) {
			o.Subject, o.Crop = Box{1, 1, 10, 10}, Box{50, 50, 50, 50}
		},
	} {
		o := DefaultOrder()
		o.Grid, o.Colors, o.Effort = Cells{60, 40}, 12, EffortQuick
		change(&o)
		_, err := Make(context.Background(), bytes.NewReader(dotOnStripes(t)), "a.png", o)
		var said *say.Error
		require.ErrorAs(t, err, &said, what)
		assert.Equal(t, what, said.What)
		assert.NotEmpty(t, said.Try)
		assert.True(t, said.Usage)
	}
}

// A focus counts in full in its inner three quarters and fades from there.
func TestFocusFadesAtItsEdge(t *testing.T) {
	p, _ := prepare(t, dotOnStripes(t), func(o *Order) {})
	w, err := p.times([]Focus{{Box{40, 40, 20, 20}, 3}}) // middle at 30, 20; half axes 6 and 4
	require.NoError(t, err)
	assert.EqualValues(t, 48, w[20*60+33], "at .60 of the way to the edge")
	assert.EqualValues(t, 26, w[20*60+35], "at .925: 16 + 32 x .3")
	assert.Equal(t, w[0], w[20*60+36], "outside")
}
