package kit

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"kitwright/chart"
	"kitwright/internal/say"
	"kitwright/lab"
	"kitwright/place"
	"kitwright/quantize"
)

// design is a choice of colors laid into cells, with the plain mean's best
// choice of as many colors beside it.
type design struct {
	sel     *quantize.Selection
	chosen  []int    // indices of the card that the cells use
	cells   []uint16 // index chosen
	plain   *quantize.Selection
	what    string // the objective, in words
	stopped bool

	all      bool               // as many colors as serve any drill, fewer than were asked for
	kept     []int              // indices of the card that have to be in: as was asked for, and for the ends of circles
	ruled    rule               // what came of the latter
	found    []int              // indices of the card: chosen before some were exchanged; nil = none were
	full     []int              // indices of the card: chosen before some were left out; nil = none were
	left     []int              // indices of the card: chosen, and left out for having too few drills
	supplied *quantize.Supplied // what sel is part of where drills are limited
	fixed    []int32            // a cell's color that was settled before, -1 for none; nil = none is
}

// design chooses and lays the colors. A search that is ended by hand gives the
// best it found.
func (t *task) design(ctx context.Context, c Choice) (*design, error) {
	search, done := say.Search(ctx)
	defer done()
	w, err := t.begin(ctx, search, c)
	if err != nil {
		return nil, err
	}
	say.Step(ctx, "choosing the colors", 0, 0)
	d, err := t.choose(ctx, search, w, c.Colors, true)
	if err != nil {
		return nil, err
	}
	cells, err := t.exchange(ctx, search, c.Calm, w, d)
	if err != nil {
		return nil, err
	}
	done()
	say.Step(ctx, "setting the drills", 0, 0)
	if err := t.lay(ctx, c.Calm, w, d, cells); err != nil {
		return nil, err
	}
	return d, t.leave(ctx, c.Calm, w, d)
}

// wanted is what choices of any number of colors share.
type wanted struct {
	opt     quantize.Options
	ends    []lab.Color // colors to keep: the darkest and the lightest of what is circled
	spots   []int       // cells with those colors, to be laid as they are
	least   int         // drills of a color, below which it is left out
	supply  *supply     // what may be taken; nil = anything
	stopped bool        // settling it was ended by hand
}

// begin settles what choices of any number of colors share.
func (t *task) begin(ctx, search context.Context, c Choice) (w wanted, err error) {
	if w.opt, err = t.options(c); err != nil {
		return w, err
	}
	if w.supply, err = t.supply(c); err != nil {
		return w, err
	}
	w.least = c.Least
	dark, light := t.ends(c.Focus)
	w.ends, w.spots = append(dark, light...), t.settledEnds(c.Focus)
	if t.light.Background == (Background{}) {
		return w, nil
	}
	say.Step(ctx, "calming the background", 0, 0)
	behind, err := t.background(search, w)
	if w.stopped, err = ended(ctx, err); err != nil {
		return w, err
	}
	w.opt.Fixed = behind.fix(w.opt.Fixed)
	return w, nil
}

// choose chooses so many colors and, where it is asked for, finds what no as
// many colors get below.
func (t *task) choose(ctx, search context.Context, w wanted, colors int, prove bool) (*design, error) {
	opt := w.opt
	opt.K = colors
	if w.supply != nil {
		return t.chooseOwned(ctx, search, w, opt, prove)
	}
	var ruled rule
	opt.Keep, ruled = t.keepEnds(opt, w.ends)
	sel, err := t.problem.Select(search, opt)
	stopped, err := ended(ctx, err)
	if err != nil {
		return nil, err
	}
	d := &design{sel: sel, chosen: sel.Chosen, cells: sel.Cells, plain: sel, fixed: opt.Fixed, kept: opt.Keep, ruled: ruled, what: t.objective(w, ruled), stopped: w.stopped || stopped}
	d.all = len(sel.Chosen) < colors
	if prove && (opt.Rare != 0 || opt.Weight != nil || opt.Focus != nil || opt.Keep != nil || opt.Avoid != nil || opt.Fixed != nil) {
		d.plain, err = t.problem.Select(search, quantize.Options{K: opt.K, Weight: t.photoOnly(), Effort: opt.Effort})
		if stopped, err = ended(ctx, err); err != nil {
			return nil, err
		}
		d.stopped = d.stopped || stopped
	}
	return d, nil
}

// certain tells whether any search for what is wanted finds these colors: they
// are proven to be the best, and efforts differ only in when they give up.
func (d *design) certain(w wanted) bool {
	return d != nil && !d.stopped && d.supplied == nil && w.supply == nil &&
		d.sel.Gap() == 0 && d.plain.Gap() == 0 && slices.Equal(d.fixed, w.opt.Fixed)
}

// ended tells a search that was ended by hand, whose best is good enough, from
// an error and from work that is given up altogether.
func ended(ctx context.Context, err error) (stopped bool, _ error) {
	if errors.Is(err, context.Canceled) && ctx.Err() == nil {
		return true, nil
	}
	return false, err
}

// photoOnly are the weights of the plain mean: every cell of the photo alike,
// and nothing for border and caption. What is said of all choices of so many
// colors must not suppose that theirs are among them.
func (t *task) photoOnly() []uint16 {
	if t.fixed == nil {
		return nil
	}
	w := make([]uint16, len(t.fixed))
	for i := range w {
		if t.onPhoto(i) {
			w[i] = 1
		}
	}
	return w
}

// lay gives the drills their colors, unless the exchange of colors has laid them
// and none of them are settled otherwise.
func (t *task) lay(ctx context.Context, calm float64, w wanted, d *design, cells []uint16) (err error) {
	if cells == nil || len(w.spots) > 0 {
		if cells, err = t.place(ctx, calm, w, d); err != nil {
			return err
		}
	}
	d.cells = cells
	return nil
}

// place lays the colors of a selection.
func (t *task) place(ctx context.Context, calm float64, w wanted, d *design) (cells []uint16, err error) {
	how := t.laying(calm, w.opt, d.sel)
	if d.supplied != nil {
		if how.Supply, err = t.counted(ctx, w.opt, d.supplied); err != nil {
			return nil, err
		}
	}
	colors := t.colors(d.sel.Chosen)
	t.settle(w.spots, colors, &how)
	return place.Place(ctx, t.grid, colors, how)
}

// laying says how the colors of a selection are laid: for eyes near and two
// meters away.
func (t *task) laying(calm float64, opt quantize.Options, sel *quantize.Selection) place.Options {
	fixed := make([]int32, len(sel.Cells))
	for i := range fixed {
		fixed[i] = -1
		if opt.Fixed != nil && opt.Fixed[i] >= 0 {
			fixed[i] = int32(sel.Cells[i])
		}
	}
	return place.Options{
		Calm: calm, PerDegree: t.eyeDegree(), Weight: both(opt.Weight, opt.Focus), Fixed: fixed, Scene: t.scene(),
	}
}

// eyeDegree is how many drills make up a degree of the view that drills are
// laid for. The usual pitch of the drills counts, not the order's: a pitch
// corrected for a printer must not move drills.
func (t *task) eyeDegree() float64 {
	return lab.CellsPerDegree(usual(t.canvas.Drill).MM(), FarMeters*1000)
}

// objective says in words what a choice of colors makes least.
func (t *task) objective(w wanted, ruled rule) string {
	opt := w.opt
	what := "plain mean"
	if opt.Rare > 0 {
		what = fmt.Sprintf("mean with rare colors counted more (rare %s)", formatNumber(opt.Rare))
	}
	switch {
	case opt.Weight != nil && opt.Focus != nil:
		what += ", weighted by subject and focus"
	case opt.Weight != nil:
		what += ", weighted by subject"
	case opt.Focus != nil:
		what += ", weighted by focus"
	}
	if opt.Keep != nil || opt.Avoid != nil {
		what += ", some colors kept or avoided"
	}
	what += ruled.objective()
	if t.light.Background != (Background{}) {
		what += ", the background settled before (" + t.light.Background.String() + ")"
	}
	return what
}

// colors returns the colors of the card at the given places.
func (t *task) colors(chosen []int) []lab.Color {
	out := make([]lab.Color, len(chosen))
	for i, j := range chosen {
		out[i] = t.card.Drills[j].Lab
	}
	return out
}

// bought names the color of the chart whose cells gain most over the plain
// mean's choice: the name and code, or "" if no color gains. A color that was
// chosen and then laid nowhere was not bought.
func (t *task) bought(d *design, near []int32, made *chart.Chart) string {
	if d.plain == d.sel || d.supplied != nil {
		return ""
	}
	plain := misses(t.grid, t.colors(d.plain.Chosen), d.plain.Cells)
	gain := make([]int64, len(d.sel.Chosen))
	for i, at := range t.problem.Nearest(d.sel.Chosen) {
		if t.onPhoto(i) {
			gain[at] += int64(plain[i] - near[i])
		}
	}
	best := -1
	for i, j := range d.sel.Chosen {
		if d.found != nil && !slices.Contains(d.found, j) {
			continue // bought by how it lays
		}
		if !slices.ContainsFunc(made.Legend, func(e chart.Entry) bool { return e.Drill == t.card.Drills[j] }) {
			continue
		}
		if !slices.Contains(d.plain.Chosen, j) && gain[i] > 0 && (best < 0 || gain[i] > gain[best]) {
			best = i
		}
	}
	if best < 0 {
		return ""
	}
	drill := t.card.Drills[d.sel.Chosen[best]]
	if drill.Name == "" {
		return drill.Address()
	}
	return drill.Name + " (" + drill.Address() + ")"
}
