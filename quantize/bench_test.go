package quantize

import (
	"context"
	"fmt"
	"runtime"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"kitwright/lab"
)

var rungCounts = []int{8, 12, 18, 24, 30, 40, 60}

// BenchmarkSelect asks for 8 to 60 colors of the munsell card for each of the
// four open photos (KITWRIGHT_PHOTOS), each time from the grid on, nothing
// shared. It logs every case and reports, for each photo, how many cases were
// proven or lie within 0.1 percent, the worst gap, the median and the longest
// time, and the most memory that the Go heap held at a time.
func BenchmarkSelect(b *testing.B) {
	for _, c := range []struct {
		name       string
		cols, rows int
		opt        Options
	}{
		{"160x200", 160, 200, Options{}},
		{"160x200-quick", 160, 200, Options{Effort: Quick}},
		{"160x200-prove", 160, 200, Options{Effort: Prove}},
		{"160x200-rare", 160, 200, Options{Rare: 0.7}},
		{"400x560", 400, 560, Options{}},
	} {
		for _, photo := range photoNames {
			b.Run(c.name+"/"+photo, func(b *testing.B) {
				g, card := loadPhoto(b, photo, c.cols, c.rows), munsell(b)
				for b.Loop() {
					benchSelect(b, g, card, c.opt)
				}
			})
		}
	}
}

func benchSelect(b *testing.B, g *lab.Grid, card []lab.Color, opt Options) {
	var times []float64
	var log strings.Builder
	worst, proven, close := 0.0, 0, 0
	heap := watchHeap()
	for _, k := range rungCounts {
		opt.K = k
		start := time.Now()
		s, err := Select(context.Background(), g, card, opt)
		took := time.Since(start).Seconds()
		require.NoError(b, err)
		p, err := Prepare(g, card)
		require.NoError(b, err)
		gap := s.Gap()
		times, worst = append(times, took), max(worst, gap)
		if gap == 0 {
			proven++
		}
		if gap <= 0.001 {
			close++
		}
		fmt.Fprintf(&log, "\nk %2d: mean %.4f, gap %.4f %%, %.3f s", k, float64(p.Miss(s.Chosen))/Unit/float64(len(g.Cells)), 100*gap, took)
	}
	b.Log(log.String())
	slices.Sort(times)
	b.ReportMetric(float64(proven), "proven")
	b.ReportMetric(float64(close), "within-0.1%")
	b.ReportMetric(float64(len(times)), "cases")
	b.ReportMetric(100*worst, "worst-gap-%")
	b.ReportMetric(times[len(times)/2], "median-s")
	b.ReportMetric(times[len(times)-1], "longest-s")
	b.ReportMetric(heap()/1e6, "heap-MB")
}

// watchHeap looks at the heap every few milliseconds; the returned function
// ends that and tells the most that was in use.
func watchHeap() func() float64 {
	runtime.GC()
	done := make(chan struct{})
	var wg sync.WaitGroup
	most := uint64(0)
	wg.Go(func() {
		for {
			var m runtime.MemStats
			runtime.ReadMemStats(&m)
			most = max(most, m.HeapInuse)
			select {
			case <-done:
				return
			case <-time.After(20 * time.Millisecond):
			}
		}
	})
	return func() float64 {
		close(done)
		wg.Wait()
		return float64(most)
	}
}

// BenchmarkRungs chooses the seven rungs of a ladder on one preparation, the
// colors in force and the plain mean beside them, one after another.
func BenchmarkRungs(b *testing.B) {
	card := munsell(b)
	for _, name := range photoNames {
		b.Run(name, func(b *testing.B) {
			g := loadPhoto(b, name, 160, 200)
			for b.Loop() {
				p, err := Prepare(g, card)
				require.NoError(b, err)
				for _, rare := range []float64{0.7, 0} {
					for _, k := range rungCounts {
						_, err := p.Select(context.Background(), Options{K: k, Rare: rare, Effort: Quick})
						require.NoError(b, err)
					}
				}
			}
		})
	}
}
