package kit

import (
	"bytes"
	"errors"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/chart"
	"kitwright/internal/checker"
	"kitwright/internal/say"
	"kitwright/palettes"
)

// munsell returns a drill of the munsell card.
func munsell(t testing.TB, code string) palettes.Drill {
	card, err := palettes.Named("munsell")
	require.NoError(t, err)
	i, ok := card.Index(code)
	require.True(t, ok, code)
	return card.Drills[i]
}

// edited returns a kit after edits; they have to fit.
func edited(t testing.TB, k *Kit, more ...Edit) *Kit {
	t.Helper()
	out, err := k.Edit(more...)
	require.NoError(t, err)
	return out
}

// throughFiles writes all of a kit and reads it back.
func throughFiles(t testing.TB, k *Kit) *Kit {
	t.Helper()
	var log, made bytes.Buffer
	back := folderOf(t, k)
	require.NoError(t, k.Edits.Write(&log))
	require.NoError(t, k.Edits.Made.WriteJSON(&made))
	require.NoError(t, back.ReadEdits(&log, &made))
	return back
}

func TestEditUndoRedo(t *testing.T) {
	made := richKit(t, nil)
	before := kitJSON(t, made)
	first, second := made.Chart.Legend[1].Drill, made.Chart.Legend[2].Drill
	swap := Edit{Act: Swap, From: first.Address(), To: munsell(t, "5R 4/14")}
	merge := Edit{Act: Swap, From: second.Address(), To: made.Chart.Legend[3].Drill}
	set := Edit{Act: Set, Area: chart.Box{X: 43, Y: 35, W: 1, H: 1}, To: munsell(t, "5G 5/6")}

	a := edited(t, made, swap)
	assert.Equal(t, before, kitJSON(t, made), "the kit itself stays as it is")
	assert.Equal(t, "5R 4/14", a.Chart.Legend[1].Drill.Code)
	assert.Equal(t, made.Chart.Legend[1].Symbol.Rune, a.Chart.Legend[1].Symbol.Rune)
	assert.Greater(t, a.Quality.MeanMiss, made.Quality.MeanMiss)
	b := edited(t, a, merge, set)
	assert.Equal(t, "5G 5/6", b.Chart.At(43, 35).Drill.Code)
	assert.Len(t, b.Edits.InForce(), 3)

	back := edited(t, b, Edit{Act: Undo}, Edit{Act: Undo})
	assert.Equal(t, kitJSON(t, a), kitJSON(t, back), "byte for byte")
	again := edited(t, back, Edit{Act: Redo}, Edit{Act: Redo})
	assert.Equal(t, kitJSON(t, b), kitJSON(t, again))
	none := edited(t, again, Edit{Act: Undo}, Edit{Act: Undo}, Edit{Act: Undo})
	assert.Equal(t, before, kitJSON(t, none), "as it was made, byte for byte")
	assert.Len(t, none.Edits.Log, 10, "nothing is ever taken out of the log")

	_, err := none.Edit(Edit{Act: Undo})
	assert.ErrorContains(t, err, "no edit to undo")
	_, err = made.Edit(Edit{Act: Redo})
	assert.ErrorContains(t, err, "no edit to redo")
	other := edited(t, none, set) // what was undone is past redoing once something else was done
	_, err = other.Edit(Edit{Act: Redo})
	assert.ErrorContains(t, err, "no edit to redo")

	assert.Equal(t, []string{swap.String(), "set 44,36=5G 5/6"}, []string{"swap " + first.Address() + "=5R 4/14", set.String()})
	assert.Equal(t, b.Edits.Log, throughFiles(t, b).Edits.Log)
	assert.Equal(t, kitJSON(t, b), kitJSON(t, edited(t, throughFiles(t, back), Edit{Act: Redo}, Edit{Act: Redo})), "also from its files")
}

func TestEditsThatCannotBe(t *testing.T) {
	k := richKit(t, nil)
	for _, e := range []Edit{
		{Act: Swap, From: "SR-999", To: munsell(t, "5R 4/14")},
		{Act: Set, Area: chart.Box{X: 44, Y: 0, W: 1, H: 1}, To: munsell(t, "5R 4/14")},
		{Act: Set, Area: chart.Box{X: 0, Y: 30, W: 2, H: 7}, To: munsell(t, "5R 4/14")},
	} {
		_, err := k.Edit(e)
		var said *say.Error
		require.True(t, errors.As(err, &said), "%v", err)
		assert.True(t, said.Usage)
	}
	_, err := k.Find("SR-999", nil)
	assert.ErrorContains(t, err, "SR-999")
	d, err := k.Find(strings.ToLower(k.Chart.Legend[0].Drill.Code), nil)
	require.NoError(t, err)
	assert.Equal(t, k.Chart.Legend[0].Drill, d)
}

// A kit made anew gets the edits again that fit it; the others are named and
// stay in the log.
func TestReplay(t *testing.T) {
	checker.Slow(t)
	card, err := palettes.Named("munsell")
	require.NoError(t, err)
	made := richKit(t, nil)
	gone := munsell(t, "5R 4/14")
	gone.Code = "SR-999" // no longer on the card
	old := edited(t, made,
		Edit{Act: Swap, From: made.Chart.Legend[0].Drill.Address(), To: munsell(t, "5R 4/14")},
		Edit{Act: Set, Area: chart.Box{X: 20, Y: 15, W: 2, H: 2}, To: munsell(t, "5G 5/6")},
		Edit{Act: Set, Area: chart.Box{W: 1, H: 1}, To: gone},
		Edit{Act: Set, Area: chart.Box{X: 5, Y: 5, W: 1, H: 1}, To: munsell(t, "N 9")},
		Edit{Act: Undo},
	)
	same, left, err := richKit(t, nil).Replay(old.Edits, card)
	require.NoError(t, err)
	require.Len(t, left, 1)
	assert.Equal(t, "set 1,1=SR-999", left[0].String())
	assert.Len(t, same.Edits.InForce(), 2)
	assert.Equal(t, "5G 5/6", same.Chart.At(21, 16).Drill.Code)
	assert.Len(t, throughFiles(t, same).Edits.Log, 3, "what was left out is in the log")

	other, left, err := richKit(t, func(o *Order) { o.Grid = Cells{50, 40}; o.Card = "nbs" }).Replay(old.Edits, card)
	require.NoError(t, err)
	assert.Len(t, left, 3, "neither the place nor the color is there")
	assert.Empty(t, other.Edits.InForce())
}

// A kit.json that was changed by hand is not what its edits make of it, and a
// broken line is named.
func TestEditsFilesThatDoNotAddUp(t *testing.T) {
	made := richKit(t, nil)
	k := edited(t, made, Edit{Act: Set, Area: chart.Box{X: 5, Y: 5, W: 3, H: 1}, To: munsell(t, "5G 5/6")})
	var log, first bytes.Buffer
	require.NoError(t, k.Edits.Write(&log))
	require.NoError(t, made.WriteJSON(&first))

	back := folderOf(t, made) // without the edit
	assert.ErrorContains(t, back.ReadEdits(strings.NewReader(log.String()), strings.NewReader(first.String())), "changed by hand")
	for old, new := range map[string]string{
		"set,": "sit,", ",6,6,8,6,": ",6,6,x,6,", ",6,6,8,": ",9,6,8,", "#3b8767": "green", "5G 5/6": "5G\x1b5/6", "moderate green": strings.Repeat("g", 200),
		",#3b8767,51.101": ",#3b8767,1e9", ",,#3b8767": "#3b8767", ",6,6,": ",6,-6,",
	} {
		broken := strings.Replace(log.String(), old, new, 1)
		require.NotEqual(t, log.String(), broken, old)
		err := folderOf(t, k).ReadEdits(strings.NewReader(broken), strings.NewReader(first.String()))
		var said *say.Error
		if assert.True(t, errors.As(err, &said), "%s: %v", new, err) {
			assert.Contains(t, said.What, "edits.csv, line 2", new)
		}
	}
}

// What is proven was proven of as many colors as the kit was made of. A color
// that comes in by hand does not make it a proof for one more.
func TestProofOfAnEditedKit(t *testing.T) {
	made := richKit(t, nil)
	n := len(made.Chart.Legend)
	require.True(t, made.Quality.MeanProven)
	require.Contains(t, joined(made.Words()), fmt.Sprintf("no %d colors of this card get below", n))
	require.NotContains(t, joined(made.Words()), "by hand")

	more := edited(t, made, Edit{Act: Set, Area: chart.Box{X: 5, Y: 5, W: 20, H: 20}, To: munsell(t, "5G 5/6")})
	require.Len(t, more.Chart.Legend, n+1)
	assert.Contains(t, joined(more.Words()), fmt.Sprintf("no %d colors of this card get below", n))
	assert.Contains(t, joined(more.Words()), "and what was changed by hand.")

	fewer := edited(t, made, Edit{Act: Swap, From: made.Chart.Legend[2].Drill.Address(), To: made.Chart.Legend[3].Drill})
	require.Len(t, fewer.Chart.Legend, n-1)
	assert.Contains(t, joined(fewer.Words()), fmt.Sprintf("no %d colors of this card get below", n-1))
}
