package render

import (
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/kit"
	"kitwright/plan"
	"kitwright/render/pdf"
)

// listed reads the list pages of a plan back: drills by number, tick boxes of
// sections, and rows.
func listed(t *testing.T, pages []*pdf.Page) (drills map[int]int, sections []string, rows int) {
	t.Helper()
	drills = map[int]int{}
	for _, pg := range pages {
		if !strings.HasPrefix(pg.Label, "Section") {
			continue
		}
		words := 0 // texts since the last symbol: number, code, drills, presses
		number := 0
		for _, o := range pg.Ops {
			switch o := o.(type) {
			case pdf.Glyph:
				words = 1
				rows++
			case pdf.Text:
				switch {
				case o.Size == 14 && !strings.HasPrefix(o.S, "Section"):
					if n := len(sections); n > 0 && sections[n-1] == o.S { // continued
						continue
					}
					sections = append(sections, o.S)
					words = 0
				case words == 1:
					n, err := strconv.Atoi(o.S)
					require.NoError(t, err)
					number, words = n, 2
				case words == 2:
					words = 3
				case words == 3:
					n, err := strconv.Atoi(strings.ReplaceAll(o.S, ",", ""))
					require.NoError(t, err)
					drills[number] += n
					words = 0
				}
			}
		}
	}
	return drills, sections, rows
}

// What is printed to pour adds up to the chart, each section comes once, in
// its order, however the work is planned.
func TestPlanListsAddUp(t *testing.T) {
	k := testKit(t, 100, 90, 60, kit.Square)
	for i, change := range []func(*Print){
		func(*Print) {},
		func(p *Print) { p.Plan.Work, p.Plan.Tips = plan.Far, 0 },
		func(p *Print) { p.Large, p.Plan.Section = true, plan.SectionSize{Cols: 90, Rows: 90} }, // longer than a list
		func(p *Print) { p.Plan.Section = plan.SectionSize{Cols: 7, Rows: 13} },
	} {
		p := DefaultPrint()
		change(&p)
		l := newPlanPages(k, p)
		pages := l.pages()
		drills, sections, rows := listed(t, pages)
		for _, e := range k.Chart.Legend {
			assert.Equal(t, e.Count, drills[e.Number], "plan %d", i)
		}
		var want []string
		tasks := 0
		for _, s := range l.plan.Order {
			want = append(want, l.plan.Sections[s].Name)
			tasks += len(l.plan.Sections[s].Work)
		}
		assert.Equal(t, want, sections)
		assert.Equal(t, tasks, rows)
		for _, pg := range pages {
			assert.Empty(t, faults(pg, pg.Label == "Plan"), "plan %d: %s", i, pg.Label)
		}
		assert.Equal(t, "Finishing", pages[len(pages)-1].Label)
	}
}

// The words that keep people safe stand on paper.
func TestPlanTellsTheCautions(t *testing.T) {
	p := DefaultPrint()
	p.Paper = paperNamed("letter")
	for _, way := range []plan.Way{plan.Near, plan.Far, plan.Checkerboard} {
		p.Plan.Work = way
		var all strings.Builder
		for _, pg := range newPlanPages(testKit(t, 40, 30, 5, kit.Round), p).pages() {
			for _, o := range pg.Ops {
				if tx, ok := o.(pdf.Text); ok {
					all.WriteString(tx.S + " ")
				}
			}
		}
		for _, want := range []string{"ask a doctor, or the vet", "nose or an ear", "Sweep the floor", "Never cut on the canvas", "Small parts", "Blades", "give off fumes", "You sit here"} {
			assert.Contains(t, all.String(), want)
		}
	}
}

// A kit that was edited has gaps in its numbers: every legend and list shows
// the numbers themselves, not their places.
func TestNumbersWithGaps(t *testing.T) {
	k := testKit(t, 40, 30, 5, kit.Square)
	want := []string{}
	for i := range k.Chart.Legend {
		k.Chart.Legend[i].Number = 3*i + 2
		want = append(want, strconv.Itoa(3*i+2))
	}
	var got []string
	for _, r := range newLegend(k, newSkin(k, DefaultPrint()), allEntries(k), nil, 9, 30).rows {
		got = append(got, r.number)
	}
	assert.Equal(t, want, got)
	drills, _, _ := listed(t, newPlanPages(k, DefaultPrint()).pages())
	for _, e := range k.Chart.Legend {
		assert.Equal(t, e.Count, drills[e.Number])
	}
}

// Every color of every section stands on a list once, in order; the lists of
// the last page are about as long as each other, and one that must be broken
// wastes no list before it.
func TestPlanListsAreSpread(t *testing.T) {
	for _, c := range []struct{ cols, rows, colors int }{{80, 80, 8}, {80, 80, 30}, {160, 200, 100}} {
		l := newPlanPages(testKit(t, c.cols, c.rows, c.colors, kit.Square), DefaultPrint())
		all := l.spread()
		got := map[int]int{}
		ends := map[int]float64{}
		last := all[len(all)-1].page
		for _, p := range all {
			assert.Equal(t, got[p.section], p.from)
			got[p.section] += p.n
			assert.LessOrEqual(t, p.y+l.blockHeight(p.n), l.h-l.m+1e-6)
			if p.page == last {
				ends[p.list] = p.y + l.blockHeight(p.n)
			}
		}
		for i, s := range l.plan.Sections {
			assert.Equal(t, len(s.Work), got[i])
		}
		if c.colors == 8 {
			assert.Equal(t, 0, last)
			assert.Len(t, ends, 2, "four sections stand two by two, not all in one list")
			assert.InDelta(t, ends[0], ends[1], 0.01)
		}
		if c.colors == 100 { // each longer than a list
			sum := 0.0
			for _, p := range all {
				sum += l.blockHeight(p.n) + planAfter
			}
			lists := sum / (l.h - l.m - l.m - planHead + planAfter)
			assert.LessOrEqual(t, float64((last+1)*l.cols.lists), 1.1*lists+float64(l.cols.lists), "a tenth is wasted at most, and the end of the last page")
		}
	}
}
