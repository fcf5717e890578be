package kit

import (
	"bytes"
	"context"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
	"kitwright/palettes"
	"kitwright/photo"
)

// leftovers are drills of some colors of a card, together share of so many.
func leftovers(card *palettes.Card, colors, drills int, share float64, seed uint64) (lots []Lot) {
	rng := rand.New(rand.NewPCG(12, seed))
	size, sum := make([]float64, colors), 0.0
	for i := range size {
		size[i] = .1 + rng.Float64()
		sum += size[i]
	}
	for i, j := range rng.Perm(len(card.Drills))[:colors] {
		lots = append(lots, Lot{card.Drills[j].Address(), int(size[i] / sum * share * float64(drills))})
	}
	return lots
}

func munsellCard(t testing.TB) *palettes.Card {
	card, err := palettes.Named("munsell")
	require.NoError(t, err)
	return card
}

func ownOrder(t testing.TB, share float64) Order {
	o := DefaultOrder()
	o.Grid, o.Turn, o.Colors, o.Effort = Cells{60, 45}, TurnAsked, 30, EffortQuick
	o.Own, o.Stock = true, leftovers(munsellCard(t), 40, 60*45, share, 1)
	return o
}

func makeOwn(t testing.TB, o Order) (*Kit, error) {
	return Make(context.Background(), bytes.NewReader(smallCat(t)), photo.DemoName, o)
}

// Only what is owned, never more of it than there is, extra included.
func TestOwn(t *testing.T) {
	checker.Slow(t)
	plenty := ownOrder(t, 4)
	plenty.Stock = append(plenty.Stock, Lot{"N 1", 1500}, Lot{"N 9", 1600}, Lot{"10YR 5/2", 900})
	framed := plenty
	framed.Border, framed.Caption = Border{Drills: 1}, "Mog"
	focused := plenty
	focused.Focus, focused.Calm = []Focus{{Box{40, 30, 20, 20}, 5}}, 0
	behind := plenty
	behind.Subject, behind.Background, behind.Calm = Box{30, 20, 40, 60}, Background{Colors: 2}, 1
	bought := ownOrder(t, 1.2)
	bought.Buy = 3
	bags := ownOrder(t, 1.2)
	bags.BuyBags = 4
	for name, o := range map[string]Order{"plenty": plenty, "framed": framed, "focused": focused, "behind": behind, "bought": bought, "bags": bags} {
		t.Run(name, func(t *testing.T) {
			k, err := makeOwn(t, o)
			require.NoError(t, err)
			owned := map[string]int{}
			for _, l := range o.Stock {
				owned[l.Address] += l.Drills
			}
			fresh, bagsBought := 0, 0
			for _, b := range k.Own.Bought {
				bagsBought += b.Bags
				if b.Bags == 0 {
					fresh++
					assert.Zero(t, b.Owned)
					owned[b.Address] = 1 << 30
				}
				owned[b.Address] += b.Bags * o.BagSize
			}
			for _, e := range k.Chart.Legend {
				assert.LessOrEqual(t, e.Count+max(20, (e.Count+9)/10), owned[e.Drill.Address()], e.Drill.Address())
			}
			assert.LessOrEqual(t, fresh, o.Buy)
			assert.LessOrEqual(t, bagsBought, o.BuyBags)
			assert.LessOrEqual(t, len(k.Chart.Legend), o.Colors)
			assert.LessOrEqual(t, k.Own.Unlimited, k.Own.Within)
			assert.LessOrEqual(t, k.Own.Within, k.Quality.MeanMiss+.0001, "calm costs")
			assert.LessOrEqual(t, k.Quality.MeanBound, k.Own.Within)
			if assert.NotEmpty(t, k.Own.Helps) {
				assert.Less(t, k.Own.Helps[0].Within, k.Own.Within)
			}
			for _, l := range k.Words() {
				t.Log(l)
			}

			back, err := ReadJSON(strings.NewReader(kitJSON(t, k)))
			require.NoError(t, err)
			assert.Equal(t, k.Own, back.Own)
			assert.Equal(t, k.Order, back.Order)
		})
	}
}

func TestOwnTooFew(t *testing.T) {
	_, err := makeOwn(t, ownOrder(t, 0.4))
	require.ErrorContains(t, err, "short")
	t.Log(err, describe(err))
}

func describe(err error) string {
	what, try := err.(interface {
		Words(func(string) string) (string, string)
	}).Words(func(s string) string { return "--" + s })
	return what + "\n" + try
}
