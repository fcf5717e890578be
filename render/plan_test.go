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
