package kit

import (
	"math"
	"slices"

	"kitwright/chart"
	"kitwright/internal/par"
	"kitwright/lab"
	"kitwright/quantize"
)

// judge says how close a chart is to its target and how good its colors are.
func (t *task) judge(target *Target, c *chart.Chart, d *design) Quality {
	var q Quality
	q.judge(target, c)

	q.Objective = d.what
	q.Cost, q.Bound = perWeight(d.sel.Cost, d.sel.Weight), perWeightDown(d.sel.Bound, d.sel.Weight)
	q.Gap = math.Round(d.sel.Gap()*1e6) / 1e6
	q.Proven = d.sel.Cost == d.sel.Bound

	near := misses(t.grid, t.colors(d.sel.Chosen), t.problem.Nearest(d.sel.Chosen))
	q.MeanNearest = meanOf(target.of(near, OnBackground, OnSubject))
	with := func(chosen []int) float64 {
		return meanOf(target.of(misses(t.grid, t.colors(chosen), t.problem.Nearest(chosen)), OnBackground, OnSubject))
	}
	laid := q.MeanNearest
	if d.full != nil {
		laid = with(d.full)
		q.MeanLeftOut = round4(q.MeanNearest - laid)
	}
	if d.found != nil {
		q.MeanExchanged = round4(laid - with(d.found))
	}
	if n := len(d.plain.Chosen); n != len(c.Legend) {
		q.BestColors = n
	}
	q.MeanBest, q.MeanBound = perWeight(d.plain.Cost, d.plain.Weight), perWeightDown(d.plain.Bound, d.plain.Weight)
	q.MeanProven = d.plain.Cost == d.plain.Bound
	q.Bought = t.bought(d, near, c)
	return q
}

// judge fills in what depends on where each drill lies. Border and caption are
// left out: they are as they were asked for.
func (q *Quality) judge(t *Target, c *chart.Chart) {
	all := misses(t.Grid, c.Labs(), c.Cells)
	m := t.of(all, OnBackground, OnSubject)
	n := len(m)
	lone := 0
	for i, part := range t.Shows {
		if part != OnFrame && c.Lone(i%c.Cols, i/c.Cols) {
			lone++
		}
	}
	q.MeanMiss, q.Confetti, q.SubjectMiss = meanOf(m), round4(float64(lone)/float64(n)), 0
	if subject := t.of(all, OnSubject); len(subject) > 0 {
		q.SubjectMiss = meanOf(subject)
	}
	slices.Sort(m)
	q.P95Miss, q.WorstMiss = float64(m[(95*n+99)/100-1])/1e4, float64(m[n-1])/1e4
}

// of returns the misses of the cells that show one of the parts.
func (t *Target) of(misses []int32, parts ...Part) []int32 {
	out := make([]int32, 0, len(misses))
	for i, v := range misses {
		if slices.Contains(parts, t.Shows[i]) {
			out = append(out, v)
		}
	}
	return out
}

// misses returns the difference of every cell to its target in whole 1/10000
// of a CIEDE2000 unit, so that sums do not depend on the order of the work.
func misses(target *lab.Grid, colors []lab.Color, cells []uint16) []int32 {
	points := make([]lab.Point, len(colors))
	for i, c := range colors {
		points[i] = lab.PointOf(c)
	}
	out := make([]int32, len(cells))
	const piece = 4096 // cells that one core does at a time
	par.Rows((len(cells)+piece-1)/piece, func(k int) {
		for i := k * piece; i < min(len(cells), (k+1)*piece); i++ {
			out[i] = int32(math.Round(lab.PointOf(target.Cells[i]).DeltaE(points[cells[i]]) * 1e4))
		}
	})
	return out
}

// Off returns, for every drill, how far it is off what it should show, in
// CIEDE2000; nil where the kit has no target.
func (k *Kit) Off() []float64 {
	if k.Target == nil {
		return nil
	}
	all := misses(k.Target.Grid, k.Chart.Labs(), k.Chart.Cells)
	out := make([]float64, len(all))
	for i, m := range all {
		out[i] = float64(m) / 1e4
	}
	return out
}

// misses1 is misses of one cell.
func misses1(target, color lab.Color) int32 {
	return int32(math.Round(lab.PointOf(target).DeltaE(lab.PointOf(color)) * 1e4))
}

func meanOf(misses []int32) float64 {
	var sum int64
	for _, m := range misses {
		sum += int64(m)
	}
	return round4(float64(sum) / float64(len(misses)) / 1e4)
}

// perWeight returns a cost of the choice of colors as a mean.
func perWeight(cost, weight int64) float64 { return round4(meanCost(cost, weight)) }

// perWeightDown is perWeight rounded down, as a lower limit has to be.
func perWeightDown(cost, weight int64) float64 { return math.Floor(meanCost(cost, weight)*1e4) / 1e4 }

func meanCost(cost, weight int64) float64 {
	return float64(cost) / quantize.Unit / float64(max(1, weight))
}

func round4(v float64) float64 { return math.Round(v*1e4) / 1e4 }
