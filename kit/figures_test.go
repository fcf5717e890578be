package kit

import (
	"context"
	"encoding/json"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
)

// Every figure that a kit and a rung of the ladder tell is what another program
// reckons from the files of the kit's folder alone (testdata/figures.py, with
// numpy, SciPy and scikit-image of Debian): with border, caption and subject,
// and without.
func TestFiguresAgainstAnotherProgram(t *testing.T) {
	if testing.Short() {
		t.Skip("skipped: -short")
	}
	const python = "/usr/bin/python3"
	checker.Need(t, python)
	for _, change := range []func(o *Order){
		func(o *Order) {
			o.Border, o.Caption, o.CaptionSize, o.Subject = Border{Drills: 2, Code: "5R 4/14"}, "Mog", CaptionSmall, Box{30, 20, 40, 60}
		},
		func(o *Order) { o.Calm, o.Drill = 0, Round },
	} {
		p, c := prepare(t, smallCat(t), func(o *Order) {
			o.Grid, o.Turn, o.Effort = Cells{60, 50}, TurnAsked, EffortQuick
			change(o)
		})
		k, err := p.Kit(context.Background(), c)
		require.NoError(t, err)
		rungs, _, err := p.Ladder(context.Background(), c, []int{c.Colors})
		require.NoError(t, err)
		r := rungs[0]
		require.Equal(t, k.Chart, r.Chart)

		folder := t.TempDir()
		for name, write := range map[string]func(io.Writer) error{"kit.json": k.WriteJSON, "chart.csv": k.WriteChartCSV, "target.bin": k.Target.Write} {
			f, err := os.Create(filepath.Join(folder, name))
			require.NoError(t, err)
			require.NoError(t, write(f))
			require.NoError(t, f.Close())
		}
		out, err := exec.Command(python, filepath.Join("testdata", "figures.py"), folder).Output()
		if err != nil {
			checker.Missing(t, "scikit-image and SciPy for "+python)
		}
		var theirs map[string]float64
		require.NoError(t, json.Unmarshal(out, &theirs))
		q := k.Quality
		for name, ours := range map[string][]float64{
			"mean": {q.MeanMiss, r.Mean}, "p95": {q.P95Miss, r.P95}, "worst": {q.WorstMiss, r.Worst}, "subject": {q.SubjectMiss, r.Subject},
			"nearest": {q.MeanNearest}, "confetti": {q.Confetti, r.Confetti}, "lone": {float64(r.Lone)}, "far": {r.Far},
		} {
			for _, v := range ours {
				assert.InDelta(t, theirs[name], v, 2e-4, name)
			}
		}
		assert.Positive(t, theirs["far"])
	}
}
