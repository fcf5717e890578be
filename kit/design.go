package kit

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"kitwright/internal/say"
	"kitwright/lab"
	"kitwright/quantize"
)

// design is a choice of colors laid into cells, with the plain mean's best
// choice of as many colors beside it.
type design struct {
	sel     *quantize.Selection
	chosen  []int    // indices of the card that the cells use
	cells   []uint16 // index chosen
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
	d := &design{}
	search, done := say.Search(ctx)
	defer done()

	var ground *backdrop
	if o.Background != (Background{}) {
		say.Step(ctx, "calming the background", 0, 0)
		ground, err = p.backdrop(search, o, opt)
		if err := d.ended(ctx, err); err != nil {
			return nil, err
		}
		opt.Fixed = ground.fix(opt.Fixed)
	}
	d.weight, d.what = opt.Weight, objective(o, opt)

	say.Step(ctx, "choosing the colors", 0, 0)
	d.sel, err = p.problem.Select(search, opt)
	if err := d.ended(ctx, err); err != nil {
		return nil, err
	}
	d.plain = d.sel
	if opt.Rare != 0 || opt.Weight != nil || opt.Keep != nil || opt.Avoid != nil || ground != nil {
		say.Step(ctx, "proving how close any colors can get", 0, 0)
		d.plain, err = p.problem.Select(search, quantize.Options{K: opt.K, Fixed: p.fixed, Effort: opt.Effort})
		if err := d.ended(ctx, err); err != nil {
			return nil, err
		}
	}
	done()

	d.chosen, d.cells = d.sel.Chosen, d.sel.Cells
	if o.Calm > 0 {
		say.Step(ctx, "setting the drills", 0, 0)
		fixed := make([]int32, len(d.cells))
		for i := range fixed {
			fixed[i] = -1
			if opt.Fixed != nil && opt.Fixed[i] >= 0 {
				fixed[i] = int32(d.cells[i])
			}
		}
		d.cells, err = quantize.Place(ctx, p.Target, p.colors(d.chosen), d.cells, quantize.PlaceOptions{Calm: o.Calm, Weight: opt.Weight, Fixed: fixed})
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
func objective(o Order, opt quantize.Options) string {
	what := "plain mean"
	if opt.Rare > 0 {
		what = fmt.Sprintf("mean with rare colors counted more (rare %s)", formatNumber(opt.Rare))
	}
	if opt.Weight != nil {
		what += ", weighted by subject and focus"
	}
	if opt.Keep != nil || opt.Avoid != nil {
		what += ", some colors kept or avoided"
	}
	if o.Background != (Background{}) {
		what += ", the background settled before (" + o.Background.String() + ")"
	}
	return what
}

// colors returns the colors of the card at the given places.
func (p *Prepared) colors(chosen []int) []lab.Color {
	out := make([]lab.Color, len(chosen))
	for i, j := range chosen {
		out[i] = p.card.Drills[j].Lab
	}
	return out
}

// bought names the color whose cells gain most over the plain mean's choice:
// the name and code, or "" if no color gains.
func (p *Prepared) bought(d *design, near []int32) string {
	if d.plain == d.sel {
		return ""
	}
	plain := misses(p.Target, p.colors(d.plain.Chosen), d.plain.Cells)
	gain := make([]int64, len(d.sel.Chosen))
	for i, at := range p.problem.Nearest(d.sel.Chosen) {
		if p.onPhoto(i) {
			gain[at] += int64(plain[i] - near[i])
		}
	}
	best := -1
	for i, j := range d.sel.Chosen {
		if !slices.Contains(d.plain.Chosen, j) && gain[i] > 0 && (best < 0 || gain[i] > gain[best]) {
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
