//go:build unix

package quantize

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"syscall"
	"testing"

	"github.com/stretchr/testify/require"
)

// processor is the time that this process has used of all cores, in seconds:
// what else runs on the machine does not count.
func processor() float64 {
	var u syscall.Rusage
	_ = syscall.Getrusage(syscall.RUSAGE_SELF, &u)
	return float64(u.Utime.Sec+u.Stime.Sec) + float64(u.Utime.Usec+u.Stime.Usec)/1e6
}

// stashes makes made-up stashes of 60 codes for the four photos, counts
// log-uniform 1:45 and scaled so that together they come to share of the cells:
// matched (the photo's own 60 colors), leftover (60 of the other photos' 30 each)
// and random.
func stashes(b testing.TB, problems []*Problem, kind string, photo int, share float64) []int64 {
	rng := rand.New(rand.NewPCG(uint64(photo), 60))
	p := problems[photo]
	chosen := func(p *Problem, k int) []int {
		s, err := p.Select(context.Background(), Options{K: k, Effort: Sketch})
		require.NoError(b, err)
		return s.Chosen
	}
	var codes []int
	switch kind {
	case "matched":
		codes = chosen(p, 60)
	case "leftover":
		for at, other := range problems {
			if at != photo {
				codes = append(codes, chosen(other, 30)...)
			}
		}
		rng.Shuffle(len(codes), func(i, j int) { codes[i], codes[j] = codes[j], codes[i] })
	case "random":
		codes = rng.Perm(len(p.from))
	}
	seen := map[int]bool{}
	var own []int
	for _, j := range codes {
		if !seen[j] && len(own) < 60 {
			seen[j] = true
			own = append(own, j)
		}
	}
	size, sum := make([]float64, len(own)), 0.0
	for i := range size {
		size[i] = math.Exp(rng.Float64() * math.Log(45))
		sum += size[i]
	}
	room := make([]int64, len(p.from))
	total := int64(0)
	for i, j := range own {
		room[j] = int64(math.Ceil(size[i] / sum * share * float64(len(p.cell))))
		total += room[j]
	}
	return room
}

// BenchmarkSupply serves the four open photos (KITWRIGHT_PHOTOS) from made-up
// stashes: fixed colors, new colors, bags, and the five bags that help most. It
// reports processor time, gaps to what is proven, and logs every case.
func BenchmarkSupply(b *testing.B) {
	card := munsell(b)
	for _, c := range []struct {
		name       string
		cols, rows int
		only       string // "" = all
	}{{"160x200", 160, 200, ""}, {"400x560", 400, 560, "fixed"}} {
		var problems []*Problem
		for _, name := range photoNames {
			p, err := Prepare(loadPhoto(b, name, c.cols, c.rows), card)
			require.NoError(b, err)
			problems = append(problems, p)
		}
		for _, what := range []string{"fixed", "buy3", "buy10", "bags5", "bags20", "bags60", "helps", "few"} {
			if c.only != "" && what != c.only {
				continue
			}
			for photo := range problems {
				b.Run(c.name+"/"+what+"/"+photoNames[photo], func(b *testing.B) {
					for b.Loop() {
						benchSupply(b, problems, photo, what)
					}
				})
			}
		}
	}
}

func benchSupply(b *testing.B, problems []*Problem, photo int, what string) {
	ctx := context.Background()
	var times, gaps []float64
	var log strings.Builder
	shares := []float64{3, 1.3, 1.02}
	switch {
	case strings.HasPrefix(what, "buy"):
		shares = []float64{1.3, 1.02, 0.5}
	case strings.HasPrefix(what, "bags"):
		shares = []float64{1.3}
	}
	p := problems[photo]
	for _, kind := range []string{"matched", "leftover", "random"} {
		for _, share := range shares {
			room := stashes(b, problems, kind, photo, share)
			want := Supply{Options: Options{K: 100}, Room: room, Bagged: func(j, bags int) int64 { return room[j] + 200*int64(bags) }}
			var count int
			if _, err := fmt.Sscanf(what, "buy%d", &count); err == nil {
				want.Buy = count
			} else if _, err := fmt.Sscanf(what, "bags%d", &count); err == nil {
				want.Bags = count
			} else if what == "few" {
				want.K = 30
				if share < 2 {
					continue
				}
			}
			start := processor()
			if what == "helps" {
				var chosen []int
				var rooms []int64
				for j, r := range room {
					if r > 0 {
						chosen, rooms = append(chosen, j), append(rooms, r)
					}
				}
				helps, base, err := p.Helps(ctx, chosen, rooms, func(j int) int64 { return room[j] + 200 }, 5, Options{})
				require.NoError(b, err)
				times = append(times, processor()-start)
				fmt.Fprintf(&log, "\n%s %s %.2f: best bag saves %.2f %%, %.3f s", photoNames[photo], kind, share, 100*float64(base-helps[0].Cost)/float64(base), times[len(times)-1])
				continue
			}
			s, err := p.Supplied(ctx, want)
			require.NoError(b, err)
			require.Equal(b, s.Cost, s.Dual)
			times, gaps = append(times, processor()-start), append(gaps, 100*s.BinGap())
			fmt.Fprintf(&log, "\n%s %s %.2f: mean %.3f, gap on bins %.3f %%, %d colors, %.3f s", photoNames[photo], kind, share, float64(s.Cost)/Unit/float64(s.Weight), 100*s.BinGap(), len(s.Chosen), times[len(times)-1])
		}
	}
	b.Log(log.String())
	slices.Sort(times)
	b.ReportMetric(times[len(times)/2], "median-cpu-s")
	b.ReportMetric(times[len(times)*9/10], "p90-cpu-s")
	b.ReportMetric(times[len(times)-1], "longest-cpu-s")
	b.ReportMetric(float64(len(times)), "cases")
	if len(gaps) > 0 {
		slices.Sort(gaps)
		proven := 0
		for _, g := range gaps {
			if g == 0 {
				proven++
			}
		}
		b.ReportMetric(float64(proven), "proven")
		b.ReportMetric(gaps[len(gaps)/2], "median-gap-%")
		b.ReportMetric(gaps[len(gaps)-1], "worst-gap-%")
	}
}
