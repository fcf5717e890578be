package kit

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"kitwright/chart"
	"kitwright/chart/symbols"
)

// A canvas to be turned has symbols that stay apart so, also for a color that
// is added by hand to the kit as it was read back.
func TestTurnedCanvas(t *testing.T) {
	at := map[rune]int{}
	for i, s := range symbols.First(symbols.Max) {
		at[s.Rune] = i
	}
	least := func(k *Kit) float64 {
		low := 2.0
		for i, a := range k.Chart.Legend {
			for _, b := range k.Chart.Legend[:i] {
				_, turn := symbols.Distance(at[a.Symbol.Rune], at[b.Symbol.Rune])
				low = min(low, turn)
			}
		}
		return low
	}
	usual, turned := richKit(t, nil), richKit(t, func(o *Order) { o.Turned = true })
	assert.Equal(t, usual.Chart.Cells, turned.Chart.Cells, "no drill changes")
	assert.Less(t, least(usual), 0.15)
	assert.Greater(t, least(turned), 0.2)
	back := throughFiles(t, edited(t, turned, Edit{Act: Set, Area: chart.Box{X: 3, Y: 3, W: 1, H: 1}, To: munsell(t, "5G 5/6")}))
	assert.True(t, back.Chart.Turned)
	more := edited(t, back, Edit{Act: Set, Area: chart.Box{X: 6, Y: 6, W: 1, H: 1}, To: munsell(t, "5R 4/14")})
	assert.Len(t, more.Chart.Legend, len(turned.Chart.Legend)+2)
	assert.Greater(t, least(more), 0.12)
}
