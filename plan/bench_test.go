package plan_test

import (
	"context"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"kitwright/chart"
	"kitwright/internal/checker"
	"kitwright/kit"
	"kitwright/plan"
)

// BenchmarkOf plans charts of photos, 160x200 drills in 30 colors, and reports
// what the plan saves: presses a drill with multi-placers of 3, 4, 6 and 9 when
// every color is set along rows, along rows or columns by color and section, and
// patch by patch; and containers taken up, against one for each color of each
// section.
func BenchmarkOf(b *testing.B) {
	dir := checker.Folder(b, "KITWRIGHT_PHOTOS")
	for _, name := range []string{"chelsea.png", "astronaut.png", "coffee.png", "rocket.jpg"} {
		b.Run(name, func(b *testing.B) {
			f, err := os.Open(filepath.Join(dir, name))
			require.NoError(b, err)
			defer f.Close()
			o := kit.DefaultOrder()
			o.Grid, o.Colors = kit.Cells{Cols: 160, Rows: 200}, 30
			k, err := kit.Make(context.Background(), f, name, o)
			require.NoError(b, err)
			opt := plan.DefaultOptions()
			opt.Pitch = k.Pitch
			var p *plan.Plan
			for b.Loop() {
				p = plan.Of(k.Chart, opt)
			}
			rows, best := alongRows(p)
			n := float64(p.Drills())
			b.ReportMetric(float64(rows)/n, "rows/drill")
			b.ReportMetric(float64(best)/n, "rows-or-columns/drill")
			b.ReportMetric(float64(p.Presses())/n, "patches/drill")
			colors := 0
			for _, s := range p.Sections {
				colors += len(s.Work)
			}
			b.ReportMetric(float64(p.Fetches), "containers")
			b.ReportMetric(float64(colors), "colors")
		})
	}
}

// alongRows returns the presses when every color of a section is set along its
// rows, and along its rows or its columns.
func alongRows(p *plan.Plan) (rows, best int) {
	few := func(n int) int { // 3, 4, 6 and 9
		out := make([]int, n+1)
		for m := 1; m <= n; m++ {
			out[m] = out[m-1] + 1
			for _, tip := range []int{3, 4, 6, 9} {
				if tip <= m {
					out[m] = min(out[m], out[m-tip]+1)
				}
			}
		}
		return out[n]
	}
	for _, s := range p.Sections {
		across, down := make([]int, len(p.Chart.Legend)), make([]int, len(p.Chart.Legend))
		for _, turned := range []bool{false, true} {
			cols, lines, sum := s.Box.W, s.Box.H, across
			if turned {
				cols, lines, sum = lines, cols, down
			}
			cut := &chart.Chart{Cols: cols, Rows: lines}
			for y := range lines {
				for x := range cols {
					cx, cy := s.Box.X+x, s.Box.Y+y
					if turned {
						cx, cy = s.Box.X+y, s.Box.Y+x
					}
					cut.Cells = append(cut.Cells, p.Chart.Cells[cy*p.Chart.Cols+cx])
				}
			}
			for _, r := range cut.Runs() {
				sum[r.Color] += few(r.Length)
			}
		}
		for i := range across {
			rows += across[i]
			best += min(across[i], down[i])
		}
	}
	return rows, best
}

// BenchmarkLarge plans the largest usual canvas, 100 x 140 cm.
func BenchmarkLarge(b *testing.B) {
	cells := make([]uint16, 400*560)
	for i := range cells {
		x, y := i%400, i/400
		cells[i] = uint16((x/7 + y/5 + x*y/900) % 60)
	}
	c := &chart.Chart{Cols: 400, Rows: 560, Cells: cells, Legend: make([]chart.Entry, 60)}
	opt := plan.DefaultOptions()
	opt.Pitch = 2500
	for b.Loop() {
		plan.Of(c, opt)
	}
}
