package kit

import (
	"context"
	"errors"
	"fmt"
	"math"

	"kitwright/chart"
	"kitwright/internal/say"
	"kitwright/lab"
	"kitwright/quantize"
)

// design is a choice of colors laid into cells, with the plain mean's best
// choice of as many colors beside it.
type design struct {
	sel     *quantize.Selection
	cells   []uint16 // index sel.Chosen
	plain   *quantize.Selection
	weight  []uint16 // what a difference counts in each cell; nil: all alike
	what    string   // the objective, in words
	stopped bool
}

// design chooses and lays the colors. A search that is ended by hand gives the
// best it found.
func (p *Prepared) design(ctx context.Context, o Order) (*design, error) {
	opt, err := p.options(o)
	if err != nil {
		return nil, err
	}
	d := &design{what: objective(opt), weight: opt.Weight}
	say.Step(ctx, "choosing the colors", 0, 0)
	search, done := say.Search(ctx)
	defer done()
	d.sel, err = p.problem.Select(search, opt)
	if err := d.ended(ctx, err); err != nil {
		return nil, err
	}

	plain := quantize.Options{K: opt.K, Effort: opt.Effort}
	d.plain = d.sel
	if opt.Rare != 0 || opt.Weight != nil || opt.Keep != nil || opt.Avoid != nil {
		say.Step(ctx, "proving how close any colors can get", 0, 0)
		d.plain, err = p.problem.Select(search, plain)
		if err := d.ended(ctx, err); err != nil {
			return nil, err
		}
	}
	done()

	d.cells = d.sel.Cells
	if o.Calm > 0 {
		say.Step(ctx, "setting the drills", 0, 0)
		d.cells, err = quantize.Place(ctx, p.Target, p.chosen(d.sel), d.sel.Cells, quantize.PlaceOptions{Calm: o.Calm, Weight: opt.Weight})
	}
	return d, err
}

// ended tells a search that was ended by hand, whose best is good enough, from
// one that failed or has to stop altogether.
func (d *design) ended(ctx context.Context, err error) error {
	if errors.Is(err, context.Canceled) && ctx.Err() == nil {
		d.stopped = true
		return nil
	}
	return err
}

// objective says in words what a choice of colors makes least.
func objective(opt quantize.Options) string {
	what := "plain mean"
	if opt.Rare > 0 {
		what = fmt.Sprintf("mean with large misses counted more (rare %s)", formatNumber(opt.Rare))
	}
	if opt.Weight != nil {
		what += ", focus weighted"
	}
	if opt.Keep != nil || opt.Avoid != nil {
		what += ", some colors kept or avoided"
	}
	return what
}

// chosen returns the colors of a selection.
func (p *Prepared) chosen(s *quantize.Selection) []lab.Color {
	out := make([]lab.Color, len(s.Chosen))
	for i, j := range s.Chosen {
		out[i] = p.card.Drills[j].Lab
	}
	return out
}

// judge says how close a chart is to the photo and how good its colors are.
func (p *Prepared) judge(c *chart.Chart, d *design) Quality {
	q := compare(c, p.Target)
	n := float64(len(c.Cells))
	weight := n
	if d.weight != nil {
		weight = 0
		for _, w := range d.weight {
			weight += float64(w)
		}
	}
	q.Objective = d.what
	q.Cost, q.Bound = perCell(d.sel.Cost, weight), perCellDown(d.sel.Bound, weight)
	q.Gap = round6(d.sel.Gap())
	q.Proven = d.sel.Cost == d.sel.Bound

	near := misses(p.Target, p.chosen(d.sel), p.problem.Nearest(d.sel.Chosen))
	q.MeanNearest = meanOf(near)
	q.MeanBest, q.MeanBound = perCell(d.plain.Cost, n), perCellDown(d.plain.Bound, n)
	q.MeanProven = d.plain.Cost == d.plain.Bound
	q.Bought = p.bought(d, near)
	return q
}

// bought names the color whose cells gain most over the plain mean's choice:
// the code and name, or "" if no color gains.
func (p *Prepared) bought(d *design, near []int32) string {
	if d.plain == d.sel {
		return ""
	}
	plain := misses(p.Target, p.chosen(d.plain), d.plain.Cells)
	cells := p.problem.Nearest(d.sel.Chosen)
	gain := make([]int64, len(d.sel.Chosen))
	for i, at := range cells {
		gain[at] += int64(plain[i] - near[i])
	}
	inPlain := map[int]bool{}
	for _, j := range d.plain.Chosen {
		inPlain[j] = true
	}
	best := -1
	for i, j := range d.sel.Chosen {
		if !inPlain[j] && gain[i] > 0 && (best < 0 || gain[i] > gain[best]) {
			best = i
		}
	}
	if best < 0 {
		return ""
	}
	drill := p.card.Drills[d.sel.Chosen[best]]
	if drill.Name == "" {
		return drill.Code
	}
	return drill.Name + " (" + drill.Code + ")"
}

func perCell(cost int64, n float64) float64 { return round4(float64(cost) / quantize.Unit / n) }

func perCellDown(cost int64, n float64) float64 {
	return math.Floor(float64(cost)/quantize.Unit/n*1e4) / 1e4
}

func round6(v float64) float64 { return math.Round(v*1e6) / 1e6 }
