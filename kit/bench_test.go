package kit

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
	"kitwright/photo"
)

// prepared returns the demo photo ready for a canvas of cols x rows drills.
func prepared(t testing.TB, cols, rows int) (*Prepared, Choice) {
	o := DefaultOrder()
	o.Grid, o.Turn = Cells{cols, rows}, TurnAsked
	s, err := Open(context.Background(), bytes.NewReader(photo.Demo()), photo.DemoName)
	require.NoError(t, err)
	p, err := s.Lay(context.Background(), o.Canvas, o.Light)
	require.NoError(t, err)
	return p, o.Choice
}

func BenchmarkKit(b *testing.B) {
	for range b.N {
		p, o := prepared(b, 160, 200)
		_, err := p.Kit(context.Background(), o)
		require.NoError(b, err)
	}
}

func BenchmarkLadder(b *testing.B) {
	for range b.N {
		p, o := prepared(b, 160, 200)
		_, _, err := p.Ladder(context.Background(), o, []int{8, 12, 18, 24, 30, 40, 60})
		require.NoError(b, err)
	}
}

// BenchmarkProven chooses the colors of every open photo (KITWRIGHT_PHOTOS,
// KITWRIGHT_ANIMALS) for the ladder's counts with default settings, as they are
// in force and for the plain limit beside them, on two canvases. It reports how
// many of the choices are proven to be the best, and the worst gap.
func BenchmarkProven(b *testing.B) {
	files, err := filepath.Glob(filepath.Join(checker.Folder(b, "KITWRIGHT_ANIMALS"), "*.webp"))
	require.NoError(b, err)
	for _, name := range []string{"chelsea.png", "astronaut.png", "coffee.png", "rocket.jpg"} {
		files = append(files, filepath.Join(checker.Folder(b, "KITWRIGHT_PHOTOS"), name))
	}
	for _, size := range []string{"30x40cm", "100x120cm"} {
		b.Run(size, func(b *testing.B) {
			for range b.N {
				proven, n, worst, longest := 0, 0, 0.0, 0.0
				for _, name := range files {
					data, err := os.ReadFile(name)
					require.NoError(b, err)
					o := DefaultOrder()
					require.NoError(b, o.Size.Set(size))
					s, err := Open(context.Background(), bytes.NewReader(data), filepath.Base(name))
					require.NoError(b, err)
					p, err := s.Lay(context.Background(), o.Canvas, o.Light)
					require.NoError(b, err)
					for _, o.Choice.Colors = range LadderCounts() {
						t, err := p.task(o.Choice)
						require.NoError(b, err)
						w, err := t.begin(context.Background(), context.Background(), o.Choice)
						require.NoError(b, err)
						start := time.Now()
						d, err := t.choose(context.Background(), context.Background(), w, o.Choice.Colors, true)
						require.NoError(b, err)
						longest = max(longest, time.Since(start).Seconds())
						for _, gap := range []float64{d.sel.Gap(), d.plain.Gap()} {
							n, worst = n+1, max(worst, gap)
							if gap == 0 {
								proven++
							}
						}
						if gap := max(d.sel.Gap(), d.plain.Gap()); gap > 0 {
							b.Logf("%s, %d colors: gap %.4f percent", filepath.Base(name), o.Choice.Colors, 100*gap)
						}
					}
				}
				b.ReportMetric(float64(n), "choices")
				b.ReportMetric(float64(proven), "proven")
				b.ReportMetric(100*worst, "worst-gap-%")
				b.ReportMetric(longest, "longest-s")
			}
		})
	}
}
