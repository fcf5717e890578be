package kit

import (
	"math"
	"slices"

	"kitwright/chart"
	"kitwright/lab"
)

// judge says how close a chart is to its target. Differences are counted in
// whole 1/10000 of a CIEDE2000 unit, so that their sum does not depend on the
// order of the work.
func judge(c *chart.Chart, target *lab.Grid) Quality {
	labs := c.Labs()
	misses := make([]int32, len(c.Cells))
	var sum int64
	for i, v := range c.Cells {
		misses[i] = int32(math.Round(lab.DeltaE(target.Cells[i], labs[v]) * 1e4))
		sum += int64(misses[i])
	}
	slices.Sort(misses)
	n := len(misses)
	return Quality{
		MeanMiss:  round4(float64(sum) / float64(n) / 1e4),
		P95Miss:   float64(misses[(95*n+99)/100-1]) / 1e4,
		WorstMiss: float64(misses[n-1]) / 1e4,
		Confetti:  round4(float64(c.Confetti()) / float64(n)),
	}
}

func round4(v float64) float64 { return math.Round(v*1e4) / 1e4 }
