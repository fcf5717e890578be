package roll

import (
	"context"
	"fmt"
	"math/rand"
	"testing"
)

// BenchmarkPack lays mixes of canvases, picture sizes of 20 x 20 to 50 x 70 cm
// with margins and a legend, on rolls as they are sold: which share of mixes is
// proven shortest, how far the others may be from it, and how much is wasted.
func BenchmarkPack(b *testing.B) {
	pictures := [][2]int64{{200, 200}, {200, 250}, {300, 300}, {300, 400}, {400, 500}, {400, 600}, {500, 700}}
	for _, width := range []int64{610, 914, 1067, 1372, 1626} {
		for _, n := range []int{6, 12, 20, 40} {
			for _, turn := range []bool{false, true} {
				b.Run(fmt.Sprintf("%dmm/%d/turn=%v", width, n, turn), func(b *testing.B) {
					const mixes = 10
					proven, gap, worst, waste := 0, 0.0, 0.0, 0.0
					for b.Loop() {
						proven, gap, worst, waste = 0, 0, 0, 0
						r := rand.New(rand.NewSource(int64(n)*width + 5))
						for range mixes {
							var items []Item
							var area int64
							for len(items) < n {
								s := pictures[r.Intn(len(pictures))]
								w, h := s[0]+60+75*(1+r.Int63n(2))+10, s[1]+95+r.Int63n(8)+10
								it := Item{W: w * 1000, H: h * 1000, Turn: turn}
								if it.Fits((width-2)*1000, 5_000_000) {
									items = append(items, it)
									area += it.W * it.H
								}
							}
							p, _ := Pack(context.Background(), (width-2)*1000, 5_000_000, items, Effort{})
							g := 100 * float64(p.Length-p.Bound) / float64(p.Length)
							gap, worst = gap+g/mixes, max(worst, g)
							waste += (1 - float64(area)/float64(width*1000)/float64(p.Length)) * 100 / mixes
							if p.Proven() {
								proven++
							}
						}
					}
					b.ReportMetric(100*float64(proven)/mixes, "%proven")
					b.ReportMetric(gap, "%gap")
					b.ReportMetric(worst, "%worst-gap")
					b.ReportMetric(waste, "%waste")
				})
			}
		}
	}
}
