package kit

import (
	"bytes"
	"compress/zlib"
	"context"
	"errors"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/chart"
	"kitwright/internal/checker"
	"kitwright/internal/say"
	"kitwright/lab"
	"kitwright/palettes"
)

// richKit is a kit with border, caption, subject and focus.
func richKit(t testing.TB, change func(o *Order)) *Kit {
	o := DefaultOrder()
	o.Grid, o.Turn, o.Colors, o.Effort = Cells{44, 36}, TurnAsked, 10, EffortQuick
	o.Border, o.Caption, o.CaptionSize = Border{Drills: 1}, "Mog", CaptionSmall
	o.Subject, o.Focus = Box{30, 20, 40, 60}, []Focus{{Box{8, 40, 14, 14}, 3}}
	if change != nil {
		change(&o)
	}
	k, err := Make(context.Background(), bytes.NewReader(smallCat(t)), "cat.png", o)
	require.NoError(t, err)
	return k
}

// folderOf writes a kit's two files and reads them back, without the photo.
func folderOf(t testing.TB, k *Kit) *Kit {
	t.Helper()
	var b, target bytes.Buffer
	require.NoError(t, k.WriteJSON(&b))
	require.NoError(t, k.Target.Write(&target))
	back, err := ReadJSON(&b)
	require.NoError(t, err)
	require.NoError(t, back.ReadTarget(&target))
	return back
}

// A kit read back without its photo is judged as it was when it was made, to
// the last digit.
func TestJudgedWithoutThePhoto(t *testing.T) {
	k := richKit(t, nil)
	back := folderOf(t, k)
	assert.Equal(t, k, back)
	want := back.Quality
	back.Quality.MeanMiss, back.Quality.P95Miss, back.Quality.WorstMiss, back.Quality.Confetti, back.Quality.SubjectMiss = 0, 0, 0, 0, 0
	require.NoError(t, back.Judge())
	assert.Equal(t, want, back.Quality)
	assert.Positive(t, want.SubjectMiss)
}

// An edited chart is judged by what each of its drills shows: here by the
// plain formula, a cell at a time.
func TestJudgeOfAnEditedChart(t *testing.T) {
	back := folderOf(t, richKit(t, nil))
	before := back.Quality
	cells := append([]uint16(nil), back.Chart.Cells...)
	var drills []palettes.Drill
	for _, e := range back.Chart.Legend {
		drills = append(drills, e.Drill)
	}
	for i := 3; i < len(cells); i += 7 {
		cells[i] = (cells[i] + 1) % uint16(len(drills))
	}
	edited, err := chart.Recolor(back.Chart, drills, cells)
	require.NoError(t, err)
	back.Chart = edited
	require.NoError(t, back.Judge())

	var sum, subject, worst float64
	n, m, lone := 0, 0, 0
	for i, part := range back.Target.Shows {
		if part == OnFrame {
			continue
		}
		d := lab.DeltaE(back.Target.Grid.Cells[i], edited.At(i%44, i/44).Drill.Lab)
		sum, worst, n = sum+d, max(worst, d), n+1
		if part == OnSubject {
			subject, m = subject+d, m+1
		}
		if edited.Lone(i%44, i/44) {
			lone++
		}
	}
	assert.InDelta(t, sum/float64(n), back.Quality.MeanMiss, 1e-4)
	assert.InDelta(t, subject/float64(m), back.Quality.SubjectMiss, 1e-4)
	assert.InDelta(t, worst, back.Quality.WorstMiss, 1e-4)
	assert.InDelta(t, float64(lone)/float64(n), back.Quality.Confetti, 1e-4)
	assert.Greater(t, back.Quality.MeanMiss, before.MeanMiss)
	assert.Equal(t, before.Bound, back.Quality.Bound, "what was proven stays")
}

// p95 is the least miss that 95 of 100 drills are not above.
func TestP95(t *testing.T) {
	g := lab.NewGrid(20, 5)
	c := &chart.Chart{Cols: 20, Rows: 5, Cells: make([]uint16, 100), Legend: []chart.Entry{{Drill: palettes.Drill{Lab: lab.Color{L: 50}}}}}
	shows := make([]Part, 100)
	for i := range g.Cells { // misses that rise from cell to cell
		g.Cells[i], shows[i] = lab.Color{L: 50, A: float64(i) / 4}, OnBackground
	}
	var q Quality
	q.judge(&Target{g, shows}, c)
	assert.InDelta(t, lab.DeltaE(g.Cells[94], c.Legend[0].Drill.Lab), q.P95Miss, 1e-4)
	assert.InDelta(t, lab.DeltaE(g.Cells[99], c.Legend[0].Drill.Lab), q.WorstMiss, 1e-4)
}

func TestTargetOfAnotherKit(t *testing.T) {
	checker.Slow(t)
	k, other := richKit(t, nil), richKit(t, func(o *Order) { o.Tone = ToneNone })
	var b, target bytes.Buffer
	require.NoError(t, k.WriteJSON(&b))
	require.NoError(t, other.Target.Write(&target))
	back, err := ReadJSON(&b)
	require.NoError(t, err)
	assert.ErrorContains(t, back.Judge(), "no target")
	assert.ErrorContains(t, back.ReadTarget(&target), "another kit")
	assert.Nil(t, back.Target)
}

// Damaged files are refused with a sentence, and none makes more than a
// chart's worth of memory.
func TestDamagedTargets(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, richKit(t, nil).Target.Write(&b))
	good := b.Bytes()
	packed := func(numbers ...byte) []byte {
		var b bytes.Buffer
		b.WriteString(targetLine)
		z := zlib.NewWriter(&b)
		z.Write(numbers)
		require.NoError(t, z.Close())
		return b.Bytes()
	}
	for name, data := range map[string][]byte{
		"nothing":             nil,
		"another file":        []byte(strings.Repeat("kit", 100)),
		"a newer one":         bytes.Replace(good, []byte("target 1"), []byte("target 2"), 1),
		"cut off":             good[:len(good)-5],
		"cut in the middle":   good[:len(good)/2],
		"a bit turned":        append(append(append([]byte(nil), good[:900]...), good[900]^4), good[901:]...),
		"no cells":            packed(0, 0),
		"two million columns": packed(0xff, 0xff, 0xff, 0xff, 0x7f, 1),
		"a part of its own":   packed(2, 1, 7, 2, 0, 0, 0, 0, 0, 0),
		"too long a run":      packed(2, 1, 1, 3, 0, 0, 0, 0, 0, 0),
		"a run of nothing":    packed(2, 1, 1, 0, 0, 0, 0, 0, 0, 0),
		"too few numbers":     packed(2, 1, 1, 2, 0, 0, 0, 0, 0),
		"too many":            packed(2, 1, 1, 2, 0, 0, 0, 0, 0, 0, 0),
		"far from any color":  packed(2, 1, 1, 2, 0xff, 0xff, 0x7f, 0xff, 0xff, 0x7f, 0, 0, 0, 0),
	} {
		_, err := ReadTarget(bytes.NewReader(data))
		var said *say.Error
		if assert.True(t, errors.As(err, &said), "%s: %v", name, err) {
			assert.NotEmpty(t, said.Try)
		}
	}
	_, err := ReadTarget(bytes.NewReader(packed(2, 1, 1, 2, 0, 0, 0, 0, 0, 0)))
	require.NoError(t, err, "what the others are made of")
}

// What follows a target is not passed over in silence.
func TestTargetEndsWhereItEnds(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, richKit(t, nil).Target.Write(&b))
	_, err := ReadTarget(bytes.NewReader(b.Bytes()))
	require.NoError(t, err)
	b.WriteString("x")
	_, err = ReadTarget(&b)
	require.ErrorContains(t, err, "follows its end")
}

func FuzzReadTarget(f *testing.F) {
	var b bytes.Buffer
	require.NoError(f, richKit(f, nil).Target.Write(&b))
	f.Add(b.Bytes())
	f.Add([]byte(targetLine))
	f.Fuzz(func(t *testing.T, data []byte) {
		target, err := ReadTarget(bytes.NewReader(data))
		if err != nil {
			return
		}
		var again bytes.Buffer
		require.NoError(t, target.Write(&again))
		back, err := ReadTarget(&again)
		require.NoError(t, err)
		require.Equal(t, target, back)
	})
}
