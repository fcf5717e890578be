package render

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/kit"
)

// Every page of a kit that was changed by hand says so, and none of one whose
// changes were taken back.
func TestEditedIsStamped(t *testing.T) {
	made := testKit(t, 12, 10, 3, kit.Square)
	stamp := func(edits ...kit.Edit) string {
		k, err := made.Edit(edits...)
		require.NoError(t, err)
		return stampOf(k, DefaultPrint())
	}
	swap := kit.Edit{Act: kit.Swap, From: made.Chart.Legend[0].Drill.Address(), To: testCard(5).Drills[4]}
	assert.NotContains(t, stampOf(made, DefaultPrint()), "edited")
	assert.Contains(t, stamp(swap), " · edited")
	assert.Equal(t, stampOf(made, DefaultPrint()), stamp(swap, kit.Edit{Act: kit.Undo}))
}
