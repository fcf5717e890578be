package render

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/measure"
	"kitwright/kit"
	"kitwright/plan"
	"kitwright/render/letters"
	"kitwright/render/pdf"
)

// decided returns the pages of every print of a kit.
func decided(t *testing.T, k *kit.Kit, p Print) map[string][]*pdf.Page {
	t.Helper()
	require.NoError(t, p.Check(k))
	pages := map[string][]*pdf.Page{
		"canvas": {newCanvas(k, p).page()},
		"ticket": {ticketPage(k, p)},
		"test":   testPages(k, p),
		"labels": newLabels(k, p).pages(),
		"legend": newLegendCard(k, p).pages(),
		"plan":   newPlanPages(k, p).pages(),
	}
	for _, kind := range []SheetKind{SheetsRead, SheetsBuild} {
		q := p
		q.Sheets = kind
		s, err := newSheets(k, q)
		require.NoError(t, err, kind)
		pages[string(kind)] = s.pages()
	}
	return pages
}

// faults returns what is wrong with a page: marks beyond the paper, text too
// small, words over words or over the chart.
func faults(pg *pdf.Page, overChart bool) []string {
	var out []string
	type box struct {
		s              string
		x0, y0, x1, y1 float64
	}
	var texts, areas []box
	m := pg.Margin()
	for _, o := range pg.Ops {
		x0, y0, x1, y1 := pdf.Bounds(o)
		b := box{fmt.Sprintf("%T", o), x0, y0, x1, y1}
		if tx, ok := o.(pdf.Text); ok {
			b.s = tx.S
			if tx.Size < small {
				out = append(out, fmt.Sprintf("%q is %g points", tx.S, tx.Size))
			}
			if letters.Clean(tx.S) != tx.S {
				out = append(out, fmt.Sprintf("%q is not clean", tx.S))
			}
			// Letters without ascenders and descenders leave this much air.
			air := 0.12 * tx.Size * letters.PointMM
			b.x0, b.y0, b.x1, b.y1 = x0+air, y0+air, x1-air, y1-air
			if b.x1 > b.x0 {
				texts = append(texts, b)
			}
		}
		if a, ok := o.(pdf.Area); ok && a.Lattice.Clip == nil {
			areas = append(areas, b)
		} else if ok {
			continue // cut off at the wrap
		}
		if x0 < -m-0.01 || y0 < -m-0.01 || x1 > pg.W+m+0.01 || y1 > pg.H+m+0.01 {
			out = append(out, fmt.Sprintf("%s at %.1f, %.1f to %.1f, %.1f leaves a page of %.1f x %.1f", b.s, x0, y0, x1, y1, pg.W, pg.H))
		}
	}
	meet := func(a, b box) bool { return a.x0 < b.x1 && b.x0 < a.x1 && a.y0 < b.y1 && b.y0 < a.y1 }
	for i, a := range texts {
		for _, b := range texts[:i] {
			if meet(a, b) {
				out = append(out, fmt.Sprintf("%q lies over %q at %.1f, %.1f", a.s, b.s, a.x0, a.y0))
			}
		}
		for _, b := range areas {
			if !overChart && meet(a, b) {
				out = append(out, fmt.Sprintf("%q lies over the chart at %.1f, %.1f", a.s, a.x0, a.y0))
			}
		}
	}
	return out
}

func TestPagesAreInOrder(t *testing.T) {
	letter, a4 := DefaultPrint().In("en_US"), DefaultPrint()
	full := a4
	full.Legend, full.Wrap, full.FrameLip, full.Large, full.LabelFor = LegendBoth, 40000, 6000, true, ForBag
	full.FilmWidth = measure.Auto{Length: 200000, Given: true}
	full.Measured = Bars{99200, 100400}
	full.Plan.Work, full.Plan.Hand, full.Plan.Tips, full.Plan.Sitting = plan.Checkerboard, plan.LeftHand, 0, 90
	lids := letter
	lids.LabelRound = measure.Auto{Length: 45000, Given: true}
	lids.Legend = LegendBelow
	tiny := a4
	tiny.Paper, tiny.PaperMargin = Paper{Size: measure.Size{W: 148000, H: 210000}}, 5000
	stickers := a4
	require.NoError(t, stickers.LabelSheet.Set("38.1x21.2mm,5x13,4.7x10.7mm,2.5x0mm"))
	tabloid := letter
	tabloid.Paper = paperNamed("tabloid")

	long := strings.Repeat("Marmalade and the very long afternoon ", 9)
	for _, c := range []struct {
		name               string
		cols, rows, colors int
		shape              kit.Shape
		print              Print
		title              string
	}{
		{"a4, square", 120, 160, 30, kit.Square, a4, "Marmalade"},
		{"letter, round", 100, 100, 12, kit.Round, letter, ""},
		{"all marks, 60 colors", 90, 140, 60, kit.Square, full, long},
		{"lids, 100 colors", 110, 70, 100, kit.Round, lids, "\U0001F431 猫 \u0301"},
		{"small paper", 60, 50, 60, kit.Square, tiny, long},
		{"sticker sheets", 60, 80, 40, kit.Square, stickers, strings.Repeat("W", 200)},
		{"tabloid, wide", 200, 40, 24, kit.Square, tabloid, "Marmalade"},
		{"a picture of few drills", 8, 5, 3, kit.Round, full, "x"},
	} {
		if c.name == "a picture of few drills" {
			c.print.Wrap, c.print.WrapFill, c.print.Measured = 10000, WrapEdge, Bars{}
		}
		k := testKit(t, c.cols, c.rows, c.colors, c.shape)
		k.Title = c.title
		for i := range k.Chart.Legend {
			if i%7 == 3 {
				k.Chart.Legend[i].Drill.Name = "a name of a color that nobody would want to write on a label 色"
				k.Chart.Legend[i].Drill.Code = "SR-041-extra-long-code"
				k.Chart.Legend[i].Drill.Finish = "AB"
			}
		}
		for kind, pages := range decided(t, k, c.print) {
			for i, pg := range pages {
				isMap := i == 0 && (kind == "read" || kind == "build" || kind == "plan")
				assert.Empty(t, faults(pg, isMap), "%s: %s, page %d of %d", c.name, kind, i+1, len(pages))
			}
		}
	}
}
