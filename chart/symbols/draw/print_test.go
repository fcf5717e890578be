package draw

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"kitwright/chart/symbols"
)

// Half the box is 0.9 mm: a stroke of 40 hundredths is 0.36 mm wide.
func TestPrintsMeasuresStrokesAndGaps(t *testing.T) {
	kept, filled := Prints(fit(paths{rect(-90, -20, 90, 20)}), .30, .25)
	assert.Greater(t, kept, .95, "a nib of .30 mm draws a stroke of .36 mm but for its corners")
	assert.Zero(t, filled)
	kept, _ = Prints(fit(paths{rect(-90, -20, 90, 20)}), .42, .25)
	assert.Zero(t, kept, "one of .42 mm does not")

	_, filled = Prints(paths{rect(-90, -60, 90, -14), rect(-90, 14, 90, 60)}, .30, .21)
	assert.Zero(t, filled, "a gap of .25 mm stays open under .21 mm")
	_, filled = Prints(paths{rect(-90, -60, 90, -10), rect(-90, 10, 90, 60)}, .30, .21)
	assert.InDelta(t, .2, filled, .05, "one of .18 mm closes: 20 of 100 in height")
}

// Every symbol keeps its strokes where ink spreads by a tenth of a millimeter
// from either side, and its gaps where as much runs into them. 0.21 mm is a
// stroke of two minutes of arc, what an eye of 6/12 resolves, at 35 cm.
func TestSymbolsSurviveThePrinter(t *testing.T) {
	for i, s := range symbols.First(symbols.Max) {
		if testing.Short() && i%4 > 0 {
			continue
		}
		kept, filled := Prints(s.Paths, .21, .21)
		assert.GreaterOrEqual(t, kept, .75, "%s: strokes", s.Name)
		assert.LessOrEqual(t, filled, .12, "%s: gaps", s.Name)
		ink := 0
		for _, c := range s.Coverage(fineness, symbols.Box) {
			ink += int(c)
		}
		share := float64(ink) / (255 * fineness * fineness * symbols.Box * symbols.Box)
		assert.Greater(t, share, .13, "%s is hardly there", s.Name)
		assert.Less(t, share, .75, "%s hides the color", s.Name)
	}
}
