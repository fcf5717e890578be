package render

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/measure"
	"kitwright/kit"
	"kitwright/render/pdf"
)

// With bags of many sizes, weights, copies and her own codes, short ones and the
// longest there may be, pages stay in order, and no label loses its count.
func TestPagesThatTellWhatToBuyAreInOrder(t *testing.T) {
	k := testKit(t, 200, 150, 40, kit.Square)
	k.YourCodes = map[string]string{}
	for i, e := range k.Chart.Legend {
		switch i % 4 {
		case 0:
			k.YourCodes[e.Drill.Address()] = "SR-7"
		case 1:
			k.YourCodes[e.Drill.Address()] = strings.Repeat("W", 40)
		case 2:
			k.YourCodes[e.Drill.Address()] = "猫 7" // letters that no face here has
		}
	}
	a4, letter := DefaultPrint(), DefaultPrint().In("en_US")
	for _, p := range []*Print{&a4, &letter} {
		require.NoError(t, p.Bags.Set("3:0.05,7:0.09,50:0.4,200:1.10,1000:4.125,5000:19"))
		require.NoError(t, p.Weighed.Set("500=4.2g"))
	}
	letter.LabelFor, letter.BagFill = ForBag, 95
	class := a4
	class.Copies = 200
	tiny := a4
	tiny.Paper, tiny.PaperMargin = Paper{Size: measure.Size{W: 148000, H: 210000}}, 5000
	stickers := a4
	require.NoError(t, stickers.LabelSheet.Set("38.1x21.2mm,5x13,4.7x10.7mm,2.5x0mm"))
	for name, p := range map[string]Print{"a4": a4, "letter": letter, "a class": class, "small paper": tiny, "stickers": stickers} {
		all := decided(t, k, p)
		for _, kind := range []string{"canvas", "labels", "legend", "build", "plan"} {
			found := false
			for _, pg := range all[kind] {
				for _, o := range pg.Ops {
					tx, ok := o.(pdf.Text)
					found = found || ok && tx.S == "SR-7"
				}
			}
			assert.True(t, found, "%s: %s tells her code", name, kind)
		}
		for kind, pages := range all {
			for i, pg := range pages {
				isMap := i == 0 && (kind == "read" || kind == "build" || kind == "plan")
				assert.Empty(t, faults(pg, isMap), "%s: %s, page %d of %d", name, kind, i+1, len(pages))
			}
		}
	}
}
