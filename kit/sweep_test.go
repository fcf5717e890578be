package kit

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/chart"
)

// Every lone drill of the photo gets a proposal, and none else; done one after
// another as far as they still stand alone, they leave fewer lone drills.
func TestSweep(t *testing.T) {
	k := richKit(t, nil)
	sweep := k.Sweep()
	lone := 0
	for i := range k.Chart.Cells {
		if k.Target.Shows[i] != OnFrame && k.Chart.Lone(i%k.Chart.Cols, i/k.Chart.Cols) {
			lone++
		}
	}
	require.Len(t, sweep, lone)
	require.NotEmpty(t, sweep)
	for _, p := range sweep {
		at := p.Area
		assert.True(t, k.Chart.Lone(at.X, at.Y))
		assert.Equal(t, k.Chart.At(at.X, at.Y).Drill, k.Chart.Legend[p.From].Drill)
		beside := false
		for _, n := range [4][2]int{{0, -1}, {-1, 0}, {1, 0}, {0, 1}} {
			x, y := at.X+n[0], at.Y+n[1]
			if x >= 0 && y >= 0 && x < k.Chart.Cols && y < k.Chart.Rows && k.Chart.At(x, y).Drill == p.Edit.To {
				beside = true
			}
		}
		assert.True(t, beside, "the color of a neighbor")
	}
	after := edited(t, k, sweep[0].Edit)
	assert.Less(t, after.Chart.Confetti(), k.Chart.Confetti())
	k.Target = nil
	assert.Empty(t, k.Sweep())
	assert.Empty(t, k.Off())
}

// A stroke of several runs is undone and redone as one, also from its files.
func TestAStrokeIsUndoneAsOne(t *testing.T) {
	made := richKit(t, nil)
	run := func(x, y int, with bool) Edit {
		return Edit{Act: Set, Area: chart.Box{X: x, Y: y, W: 2, H: 1}, To: munsell(t, "5G 5/6"), With: with}
	}
	k := edited(t, made, run(3, 3, false))
	k = edited(t, k, run(10, 10, false), run(11, 11, true), run(12, 12, true))
	before := kitJSON(t, k)
	one := edited(t, k, Edit{Act: Undo})
	assert.Len(t, one.Edits.InForce(), 1)
	assert.Equal(t, before, kitJSON(t, edited(t, throughFiles(t, one), Edit{Act: Redo})))
	none := edited(t, one, Edit{Act: Undo})
	assert.Empty(t, none.Edits.InForce())
	assert.Len(t, edited(t, none, Edit{Act: Redo}).Edits.InForce(), 1)
	assert.Len(t, edited(t, none, Edit{Act: Redo}, Edit{Act: Redo}).Edits.InForce(), 4)

	// Played step by step or all at once: the same.
	all := edited(t, made, run(3, 3, false), run(10, 10, false), run(11, 11, true), run(12, 12, true))
	assert.Equal(t, before, kitJSON(t, all))
	assert.Equal(t, before, kitJSON(t, edited(t, all, Edit{Act: Undo}, Edit{Act: Redo})))
}

// What a drill is off adds up to the mean that the quality tells.
func TestOff(t *testing.T) {
	k := richKit(t, nil)
	var sum float64
	n := 0
	for i, v := range k.Off() {
		if k.Target.Shows[i] != OnFrame {
			sum, n = sum+v, n+1
		}
	}
	assert.InDelta(t, k.Quality.MeanMiss, sum/float64(n), 1e-4)
}
