package kit

import (
	"bytes"
	"context"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"math"
	"math/bits"
	"math/rand/v2"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/lab"
	"kitwright/palettes"
	"kitwright/photo"
	"kitwright/quantize"
)

// What no choice of so many colors gets below is said of the photo's drills.
// A border or a caption, whatever its color, takes nothing away from it.
func TestBorderDoesNotRaiseTheLimit(t *testing.T) {
	if testing.Short() {
		t.Skip("skipped: -short")
	}
	ctx := context.Background()
	var want Quality
	var rungs []Rung
	for i, border := range []Border{{}, {3, "5PB 4/10"}, {1, "5R 4/14"}} {
		p, c := prepare(t, photo.Demo(), func(o *Order) {
			o.Grid = Cells{60 + 2*border.Drills, 40 + 2*border.Drills}
			o.Border, o.Colors, o.Background, o.Subject, o.Effort = border, 8, Background{Colors: 2}, Box{15, 5, 70, 90}, EffortQuick
		})
		k, err := p.Kit(ctx, c)
		require.NoError(t, err)
		r, _, err := p.Ladder(ctx, c, []int{8, 12})
		require.NoError(t, err)
		require.True(t, k.Quality.MeanProven)
		if i == 0 {
			want, rungs = k.Quality, r
			continue
		}
		assert.Equal(t, want.MeanBound, k.Quality.MeanBound, "%s", &border)
		assert.Equal(t, want.MeanBest, k.Quality.MeanBest, "%s", &border)
		for j := range r {
			assert.Equal(t, rungs[j].Bound, r[j].Bound, "%s, %d colors", &border, r[j].Colors)
		}
	}
	// Nothing else asked for: the border alone, too, leaves the limit as it is.
	plain, c := prepare(t, photo.Demo(), func(o *Order) { o.Colors, o.Rare = 8, 0 })
	bare, err := plain.Kit(ctx, c)
	require.NoError(t, err)
	framed, c := prepare(t, photo.Demo(), func(o *Order) {
		o.Colors, o.Rare, o.Grid, o.Border = 8, 0, Cells{66, 46}, Border{3, "5PB 4/10"}
	})
	with, err := framed.Kit(ctx, c)
	require.NoError(t, err)
	assert.Equal(t, bare.Quality.MeanBound, with.Quality.MeanBound)
	assert.Greater(t, with.Quality.MeanNearest, bare.Quality.MeanNearest, "a color of the eight went to the border")
}

// What the exchange of colors took from the plain mean is told apart from what
// was asked for: without it, the same colors are chosen.
func TestExchangeIsToldApart(t *testing.T) {
	exchanged := 0
	for _, colors := range []int{3, 6, 9} {
		p, c := prepare(t, photo.Demo(), func(o *Order) { o.Colors = colors })
		k, err := p.Kit(context.Background(), c)
		require.NoError(t, err)
		if !strings.Contains(k.Quality.Objective, "exchanged") {
			assert.Zero(t, k.Quality.MeanExchanged)
			continue
		}
		exchanged++
		c.Effort = EffortQuick // exchanges nothing
		quick, err := p.Kit(context.Background(), c)
		require.NoError(t, err)
		assert.InDelta(t, quick.Quality.MeanNearest, k.Quality.MeanNearest-k.Quality.MeanExchanged, 1e-9, "%d colors", colors)
		assert.NotZero(t, k.Quality.MeanExchanged, "%d colors", colors)
	}
	assert.Positive(t, exchanged)
}

// A limit never says more than was proven: it is rounded down, and the cost to
// the nearest.
func TestLimitIsRoundedDown(t *testing.T) {
	const weight = 3
	cost := int64(quantize.Unit) * 2 // two thirds of a unit each
	assert.Equal(t, 0.6667, perWeight(cost, weight))
	assert.Equal(t, 0.6666, perWeightDown(cost, weight))
	assert.Equal(t, 2.0, perWeightDown(quantize.Unit*6, weight))
}

// Against every choice there is of a small card, whatever else is asked for: no
// choice of as many colors as the sentence names is below its limit, and where
// it says proven, one of as many as were asked for reaches it.
func TestLimitAgainstEveryChoice(t *testing.T) {
	rng := rand.New(rand.NewPCG(6, 9))
	card := "code,L,a,b\n"
	var colors []lab.Color
	var stock []Lot
	for i := range 9 {
		c := lab.Color{L: math.Round(15 + 75*rng.Float64()), A: math.Round(50*rng.Float64() - 25), B: math.Round(60*rng.Float64() - 20)}
		card += fmt.Sprintf("SR-%d,%v,%v,%v\n", i, c.L, c.A, c.B)
		colors = append(colors, c)
		stock = append(stock, Lot{fmt.Sprintf("SR-%d", i), 900})
	}
	small, err := palettes.Read("small.csv", strings.NewReader(card))
	require.NoError(t, err)
	img := image.NewNRGBA(image.Rect(0, 0, 90, 66))
	for y := range 66 {
		for x := range 90 {
			dx, dy := float64(x-40)/30, float64(y-30)/20
			v := 90 + 60*math.Sin(float64(x)/9) + 30*rng.Float64()
			c := color.NRGBA{uint8(v), uint8(v * .8), uint8(40 + y), 255}
			if dx*dx+dy*dy < 1 {
				c = color.NRGBA{uint8(220 - v/2), uint8(v / 3), uint8(v / 4), 255}
			}
			img.SetNRGBA(x, y, c)
		}
	}
	var file bytes.Buffer
	require.NoError(t, png.Encode(&file, img))
	s, err := Open(context.Background(), bytes.NewReader(file.Bytes()), "stripes.png", small)
	require.NoError(t, err)
	for name, change := range map[string]func(o *Order){
		"plain":      func(o *Order) { o.Rare = 0 },
		"rare":       func(o *Order) { o.Rare = 1 },
		"border":     func(o *Order) { o.Border = Border{2, "SR-7"} },
		"caption":    func(o *Order) { o.Caption, o.CaptionSize, o.Rare = "M", CaptionSmall, 0 },
		"keep":       func(o *Order) { o.Keep, o.Rare = []string{"SR-2", "SR-5"}, 0 },
		"avoid":      func(o *Order) { o.Avoid, o.Rare = []string{"SR-0", "SR-3", "SR-6"}, 0 },
		"focus":      func(o *Order) { o.Focus = []Focus{{Box{30, 30, 15, 20}, 20}, {Box{0, 0, 10, 10}, 3}} },
		"subject":    func(o *Order) { o.Subject = Box{10, 10, 70, 75} },
		"background": func(o *Order) { o.Subject, o.Background = Box{10, 10, 70, 75}, Background{Plain: "SR-8"} },
		"two behind": func(o *Order) { o.Subject, o.Background, o.Colors = Box{10, 10, 70, 75}, Background{Colors: 2}, 5 },
		"framed behind": func(o *Order) {
			o.Subject, o.Background, o.Border, o.Colors = Box{10, 10, 70, 75}, Background{Colors: 2}, Border{1, "SR-7"}, 6
		},
		"own":       func(o *Order) { o.Own, o.Stock = true, stock },
		"least":     func(o *Order) { o.Least, o.Colors = 200, 6 },
		"exchanged": func(o *Order) { o.Effort, o.Calm, o.Colors = EffortNormal, 0, 5 },
		"all": func(o *Order) {
			o.Border, o.Focus, o.Avoid, o.Keep, o.Colors = Border{1, "SR-7"}, []Focus{{Box{30, 30, 15, 20}, 3}}, []string{"SR-1"}, []string{"SR-4"}, 6
		},
	} {
		o := DefaultOrder()
		o.Grid, o.Turn, o.Tone, o.Colors, o.Effort, o.Card = Cells{30, 22}, TurnAsked, ToneNone, 4, EffortQuick, small.Name
		o.NoSubject = true
		change(&o)
		o.NoSubject = o.Subject == (Box{})
		p, err := s.Lay(context.Background(), o.Canvas, o.Light)
		require.NoError(t, err, name)
		k, err := p.Kit(context.Background(), o.Choice)
		require.NoError(t, err, name)

		var miss [9][]float64 // of the photo's cells
		for i, part := range k.Target.Shows {
			for j, c := range colors {
				if part != OnFrame {
					miss[j] = append(miss[j], lab.DeltaE(k.Target.Grid.Cells[i], c))
				}
			}
		}
		least := map[int]float64{} // by how many colors
		for set := 1; set < 1<<len(colors); set++ {
			sum := 0.
			for i := range miss[0] {
				best := math.Inf(1)
				for j := range colors {
					if set>>j&1 == 1 {
						best = min(best, miss[j][i])
					}
				}
				sum += best
			}
			n := bits.OnesCount(uint(set))
			if mean := sum / float64(len(miss[0])); least[n] == 0 || mean < least[n] {
				least[n] = mean
			}
		}
		said := regexp.MustCompile(`no (\d+) colors of this card get below ([\d.]+) \(proven\)`).FindStringSubmatch(joined(k.Words()))
		require.NotNil(t, said, name)
		n, err := strconv.Atoi(said[1])
		require.NoError(t, err)
		limit, err := strconv.ParseFloat(said[2], 64)
		require.NoError(t, err)
		assert.LessOrEqual(t, limit, least[n], "%s: %s", name, said[0])
		assert.LessOrEqual(t, k.Quality.MeanBound, least[o.Colors]+1e-4, name)
		assert.True(t, k.Quality.MeanProven, name)
		assert.InDelta(t, least[o.Colors], k.Quality.MeanBest, 2e-4, "%s: %s", name, said[0])
	}
}
