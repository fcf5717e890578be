package plan

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/chart"
	"kitwright/palettes"
)

func TestProgress(t *testing.T) {
	p := Of(picture(t, 6, 80, 80, 6), usual(2500))
	a1, _ := p.Find("A1")
	first := p.Sections[a1].Work[0]
	text := ticked(t, p, "", 0, "A1", first.Color)
	g := logOf(t, text).On(p)
	assert.Equal(t, first.Drills, g.Set())
	assert.Equal(t, p.Drills()-first.Drills, g.Left())
	assert.Zero(t, g.LeftOf(a1, first.Color))
	assert.Len(t, g.Tasks(a1), len(p.Sections[a1].Work)-1)
	assert.Equal(t, p.Order, g.Next(), "none is done")
	_, err := g.Mark(Done, a1, first.Color)
	assert.ErrorContains(t, err, "is ticked already in A1")
	_, err = g.Mark(Open, a1, p.Sections[a1].Work[1].Color)
	assert.ErrorContains(t, err, "nothing of that is ticked")

	text = ticked(t, p, text, 0, "A1")
	g = logOf(t, text).On(p)
	assert.Zero(t, g.LeftIn(a1))
	assert.Len(t, g.Next(), 3)
	_, err = g.Mark(Done, a1)
	assert.ErrorContains(t, err, "all of A1 is ticked already")
	last, ok := logOf(t, text).Last()
	require.True(t, ok)
	assert.Len(t, last.Marks, len(p.Sections[a1].Work)-1)
}

// A run is ticked alone, by any drill in it, and taken back.
func TestProgressOfOneRun(t *testing.T) {
	p := Of(picture(t, 6, 80, 80, 6), usual(2500))
	b1, _ := p.Find("B1")
	var run Run
	for _, r := range p.Runs(b1) {
		if r.Length > run.Length {
			run = r
		}
	}
	require.Greater(t, run.Length, 2)
	x, y := run.X+1, run.Y
	if run.Down {
		x, y = run.X, run.Y+1
	}
	g := (&Log{}).On(p)
	tick, err := g.MarkRun(Done, b1, x, y)
	require.NoError(t, err)
	assert.Equal(t, run.Length, tick.Drills())
	assert.Equal(t, len(run.Tips), tick.Marks[0].Presses)
	tick.Number = 1
	g = (&Log{Ticks: []Tick{tick}}).On(p)
	assert.Equal(t, run.Length, g.Set())
	assert.True(t, g.IsSet(run.X, run.Y) && g.IsSet(x, y))
	_, err = g.MarkRun(Done, b1, x, y)
	assert.ErrorContains(t, err, "ticked already in B1")
	back, err := g.MarkRun(Open, b1, x, y)
	require.NoError(t, err)
	back.Number = 2
	assert.Zero(t, (&Log{Ticks: []Tick{tick, back}}).On(p).Set())
	_, err = g.MarkRun(Done, b1, 0, 0)
	assert.Error(t, err, "another section's")
}

// What was ticked stays true when the canvas is divided in another way.
func TestProgressOutlivesItsSections(t *testing.T) {
	c := picture(t, 6, 80, 80, 6)
	p := Of(c, usual(2500))
	text := ticked(t, p, "", 30, "B1")
	o := usual(2500)
	require.NoError(t, o.Section.Set("20x16"))
	g := logOf(t, text).On(Of(c, o))
	assert.Equal(t, 1600, g.Set())
	for x := range 80 {
		for y := range 80 {
			if g.IsSet(x, y) != (x >= 40 && y < 40) {
				t.Fatal(x, y)
			}
		}
	}
}

// After an edit, what still fits counts, and what does not is named.
func TestProgressAfterAnEdit(t *testing.T) {
	c := picture(t, 6, 80, 80, 6)
	p := Of(c, usual(2500))
	text := ticked(t, p, "", 0, "A1")
	drills := make([]palettes.Drill, len(c.Legend))
	for i, e := range c.Legend {
		drills[i] = e.Drill
	}
	was := drills[2].Address()
	drills[2].Code = "SR-New"
	edited, err := chart.Recolor(c, drills, c.Cells)
	require.NoError(t, err)
	q := Of(edited, usual(2500))
	g := logOf(t, text).On(q)
	lost := 0
	for _, task := range p.Sections[0].Work {
		if task.Color == 2 {
			lost = task.Drills
		}
	}
	require.Positive(t, lost)
	assert.Equal(t, 1600-lost, g.Set())
	strays := g.Strays()
	require.Len(t, strays, 1)
	assert.Equal(t, was, strays[0].Code)
	assert.Equal(t, "SR-New", edited.Legend[strays[0].Color].Drill.Code)
	assert.Equal(t, lost, strays[0].Drills)
	assert.Equal(t, 0, strays[0].Section)

	// Ticked again, they are set in the new color.
	g = logOf(t, ticked(t, q, text, 0, "A1")).On(q)
	assert.Empty(t, g.Strays())
	assert.Equal(t, 1600, g.Set())

	small := Of(picture(t, 6, 30, 30, 6), usual(2500))
	g = logOf(t, text).On(small)
	assert.Len(t, g.Unfit, 1, "a place that another chart does not have")
	assert.Zero(t, g.Set())
}

func TestFinishDates(t *testing.T) {
	from := time.Date(2026, 11, 26, 0, 0, 0, 0, time.UTC)
	first, last := Estimate{Left: Range{12 * 60, 30 * 60}}.Finish(from, 6*60)
	assert.Equal(t, "2026-12-10", first.Format(time.DateOnly))
	assert.Equal(t, "2026-12-31", last.Format(time.DateOnly))
}
