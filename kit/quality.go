package kit

import (
	"math"
	"slices"

	"kitwright/chart"
	"kitwright/lab"
)

// compare says how far a chart is from its target.
func compare(c *chart.Chart, target *lab.Grid) Quality {
	m := misses(target, c.Labs(), c.Cells)
	q := Quality{MeanMiss: meanOf(m), Confetti: round4(float64(c.Confetti()) / float64(len(m)))}
	slices.Sort(m)
	n := len(m)
	q.P95Miss, q.WorstMiss = float64(m[(95*n+99)/100-1])/1e4, float64(m[n-1])/1e4
	return q
}

// misses returns the difference of every cell to its target in whole 1/10000
// of a CIEDE2000 unit, so that sums do not depend on the order of the work.
func misses(target *lab.Grid, colors []lab.Color, cells []uint16) []int32 {
	points := make([]lab.Point, len(colors))
	for i, c := range colors {
		points[i] = lab.PointOf(c)
	}
	out := make([]int32, len(cells))
	for i, v := range cells {
		out[i] = int32(math.Round(lab.PointOf(target.Cells[i]).DeltaE(points[v]) * 1e4))
	}
	return out
}

func meanOf(misses []int32) float64 {
	var sum int64
	for _, m := range misses {
		sum += int64(m)
	}
	return round4(float64(sum) / float64(len(misses)) / 1e4)
}

func round4(v float64) float64 { return math.Round(v*1e4) / 1e4 }
