package kit

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"kitwright/chart"
	"kitwright/internal/say"
	"kitwright/lab"
	"kitwright/quantize"
)

// Rung is the photo at one color count. Differences are CIEDE2000, rounded to
// 4 decimals.
type Rung struct {
	Colors           int // as asked; the chart may need fewer
	Chart            *chart.Chart
	Mean, P95, Worst float64
	Bound            float64 // the plain mean that no as many colors of the card get below
	Gap              float64 // of the choice in force: how far above the least possible it may lie
	Proven           bool
	Stopped          bool    // the search was ended by hand: the best found by then
	Far              float64 // off from two meters: mean S-CIELAB with CIEDE2000
	Confetti         float64 // share of lone drills
	Lone             int     // lone drills
	Runs             int     // runs of three drills and more: what a multi-placer sets at once
}

// LadderCounts returns the color counts that a ladder shows unless others are
// asked for.
func LadderCounts() []int { return []int{8, 12, 18, 24, 30, 40, 60} }

// FarMeters is where a finished picture is looked at from.
const FarMeters = 2

// Ladder makes the photo at each of the color counts, whatever count the
// choice itself names.
func (p *Prepared) Ladder(ctx context.Context, c Choice, counts []int) ([]Rung, error) {
	c.Colors = slices.Min(counts) // --keep has to fit into the fewest
	t, err := p.task(c)
	if err != nil {
		return nil, err
	}
	far, target := t.FarView(t.grid), t.target()
	designs, err := t.designs(ctx, c, counts, func(ctx context.Context, opt quantize.Options) ([]*quantize.Selection, error) {
		return t.problem.Ladder(ctx, counts, opt)
	})
	if err != nil {
		return nil, err
	}
	rungs := make([]Rung, 0, len(designs))
	for i, d := range designs {
		n := counts[i]
		say.Step(ctx, "looking from two meters", i, len(designs))
		made, err := chart.New(t.grid.Cols, t.grid.Rows, t.card, d.chosen, d.cells)
		if err != nil {
			return nil, err
		}
		q := t.judge(target, made, d)
		r := Rung{
			Colors: n, Chart: made, Mean: q.MeanMiss, P95: q.P95Miss, Worst: q.WorstMiss,
			Bound: q.MeanBound, Gap: q.Gap, Proven: q.Proven, Stopped: d.stopped,
			Far: t.farMiss(far, made.Grid()), Confetti: q.Confetti, Lone: made.Confetti(),
		}
		for _, run := range made.Runs() {
			if run.Length >= 3 {
				r.Runs++
			}
		}
		rungs = append(rungs, r)
	}
	return rungs, nil
}

// FarView is the eye at two meters from the finished picture, comparing with
// the given one.
func (p *Prepared) FarView(with *lab.Grid) *lab.FarView {
	return lab.NewFarView(with, p.perDegree())
}

// perDegree is how many drills make up a degree of the view from two meters.
func (p *Prepared) perDegree() float64 {
	return lab.CellsPerDegree(p.Layout.Pitch.MM(), FarMeters*1000)
}

// farMiss is the mean difference of the subject as seen from two meters, or of
// the whole photo where no subject is known.
func (t *task) farMiss(far *lab.FarView, made *lab.Grid) float64 {
	var seen []float64
	for i, m := range far.Miss(made) {
		if t.onSubject(i) {
			seen = append(seen, m)
		}
	}
	return round4(lab.MeanMiss(seen))
}

// made returns a selection's picture, every cell in its nearest color.
func (t *task) made(sel *quantize.Selection) *lab.Grid {
	g := lab.NewGrid(t.grid.Cols, t.grid.Rows)
	for i, v := range sel.Cells {
		g.Cells[i] = t.card.Drills[sel.Chosen[v]].Lab.Round()
	}
	return g
}

// Pick is the recommended number of colors and the sentence that says why.
type Pick struct {
	Colors int
	Why    string
}

// The range that the recommendation is made over, whatever rungs are shown: it
// would move with the range.
const pickFrom, pickTo, pickStep = 8, 60, 2

// pickShare is the share, in percent, of the gain from the fewest to the most colors that
// "nearly as good" stands for. Chosen by eye on six photos, where it fell
// between 22 and 32; no source.
const pickShare = 80

// Pick recommends the fewest colors that look nearly as good: those that bring
// 80 percent of what 60 colors gain over 8, as seen from two meters.
func (p *Prepared) Pick(ctx context.Context, c Choice) (Pick, error) {
	c.Colors = AutoColors
	t, err := p.task(c)
	if err != nil {
		return Pick{}, err
	}
	return t.pick(ctx, c)
}

// pick is Pick on its task.
func (t *task) pick(ctx context.Context, c Choice) (Pick, error) {
	far := t.FarView(t.grid)
	opt, err := t.options(c)
	if err != nil {
		return Pick{}, err
	}
	opt.Effort = quantize.Sketch // a curve needs no proof
	var counts []int
	for k := pickFrom; k <= pickTo && k <= len(t.card.Drills)-len(opt.Avoid); k += pickStep {
		if k >= len(opt.Keep) {
			counts = append(counts, k)
		}
	}
	if n := len(opt.Keep); n > pickTo {
		return Pick{n, fmt.Sprintf("%d colors are to be kept, more than a recommendation is made over.", n)}, nil
	}
	if len(counts) == 0 {
		n := len(t.card.Drills) - len(opt.Avoid)
		return Pick{n, fmt.Sprintf("The card leaves no more than %d colors to choose from.", n)}, nil
	}
	search, done := say.Search(ctx)
	defer done()
	say.Step(ctx, "looking for the fewest colors that do", 0, 0)
	sels, err := t.problem.Ladder(search, counts, opt)
	if err != nil && (ctx.Err() != nil || !errors.Is(err, context.Canceled)) {
		return Pick{}, err
	}
	counts = counts[:len(sels)] // all of them, unless it was ended by hand
	miss := make([]float64, len(sels))
	for i, sel := range sels {
		miss[i] = t.farMiss(far, t.made(sel))
	}
	return recommend(counts, miss), nil
}

// recommend applies the rule to a curve of far differences over rising counts,
// in whole 1/10000 so that ties are ties.
func recommend(counts []int, miss []float64) Pick {
	least := make([]int64, len(miss)) // the running minimum: more colors never look worse
	for i, m := range miss {
		least[i] = int64(math.Round(m * 1e4))
		if i > 0 {
			least[i] = min(least[i], least[i-1])
		}
	}
	last := len(counts) - 1
	gain := least[0] - least[last]
	if gain == 0 {
		return Pick{counts[0], fmt.Sprintf("%d colors are enough: from two meters, %d come no closer to the photo.", counts[0], counts[last])}
	}
	i := slices.IndexFunc(least, func(m int64) bool { return (least[0]-m)*100 >= pickShare*gain })
	return Pick{counts[i], fmt.Sprintf("%d colors are the fewest that look nearly as good: from two meters they bring %d percent of what going from %d to %d colors brings.",
		counts[i], (least[0]-least[i])*100/gain, counts[0], counts[last])}
}
