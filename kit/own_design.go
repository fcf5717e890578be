package kit

import (
	"context"
	"errors"
	"slices"

	"kitwright/internal/say"
	"kitwright/lab"
	"kitwright/place"
	"kitwright/quantize"
)

// chooseOwned is choose from drills that are owned, with what may be bought.
func (t *task) chooseOwned(ctx, search context.Context, w wanted, opt quantize.Options, prove bool) (*design, error) {
	s := w.supply
	ends := opt
	ends.Avoid = s.unowned(opt.Avoid)
	var ruled rule
	opt.Keep, ruled = t.keepEnds(ends, w.ends)
	found, err := t.problem.Supplied(search, quantize.Supply{Options: opt, Room: s.room, Buy: s.Buy, Bags: s.BuyBags, Bagged: s.bagged})
	var short *quantize.Short
	if errors.As(err, &short) {
		return nil, t.tooFew(ctx, s, opt, short)
	}
	stopped, err := ended(ctx, err)
	if err != nil {
		return nil, err
	}
	if found == nil {
		return nil, say.Failed("let it search on", "the search was stopped before it had found enough drills")
	}
	sel := &found.Selection
	d := &design{sel: sel, chosen: sel.Chosen, cells: sel.Cells, plain: sel, fixed: opt.Fixed, supplied: found, kept: opt.Keep, ruled: ruled, what: t.objective(w, ruled) + ", of what is owned", stopped: w.stopped || stopped}
	if prove {
		d.plain, err = t.problem.Select(search, quantize.Options{K: len(sel.Chosen), Weight: t.photoOnly(), Effort: opt.Effort})
		if stopped, err = ended(ctx, err); err != nil {
			return nil, err
		}
		d.stopped = d.stopped || stopped
	}
	return d, nil
}

// counted is how the drills that there are serve the cells at the least plain
// cost, for laying them.
func (t *task) counted(ctx context.Context, opt quantize.Options, found *quantize.Supplied) (*place.Supply, error) {
	a, err := t.problem.Assign(context.WithoutCancel(ctx), found.Chosen, found.Room, quantize.Options{Weight: opt.Weight, Focus: opt.Focus, Fixed: opt.Fixed})
	if err != nil {
		return nil, err
	}
	return placeSupply(found.Chosen, found.Room, a), nil
}

// placeSupply gives an assignment to whoever lays the drills: rooms and prices
// of all chosen colors, also of those that serve no cell.
func placeSupply(chosen []int, room []int64, a *quantize.Supplied) *place.Supply {
	out := &place.Supply{Room: room, Price: make([]float64, len(chosen)), Start: make([]uint16, len(a.Cells))}
	index := make([]uint16, len(a.Chosen))
	for k, j := range a.Chosen {
		at, _ := slices.BinarySearch(chosen, j)
		index[k] = uint16(at)
		out.Price[at] = float64(a.Price[k]) / (quantize.Unit * quantize.MeanCell)
	}
	for i, k := range a.Cells {
		out.Start[i] = index[k]
	}
	return out
}

// backgroundOwned settles the background in a few calm colors of what is owned.
func (t *task) backgroundOwned(ctx context.Context, b *background, q *quantize.Problem, soft *lab.Grid, behind []bool, want quantize.Options, w wanted) error {
	room := slices.Clone(w.supply.room)
	for _, j := range w.opt.Fixed {
		if j >= 0 {
			room[j]-- // border and caption come first
		}
	}
	found, err := q.Supplied(ctx, quantize.Supply{Options: want, Room: room})
	var short *quantize.Short
	if errors.As(err, &short) {
		return say.Usage("give it more colors, or {background} soft", "the background takes %s drills, and %s of what you own suffice for %s",
			say.Number(int(short.Cells)), say.Count(want.K, "color"), say.Number(int(short.Room)))
	}
	if found == nil {
		return err
	}
	// What is not behind is out of the way: settled in the first color, whose room
	// grows by it.
	fixed := make([]int32, len(behind))
	rooms := slices.Clone(found.Room)
	for i := range behind {
		fixed[i] = -1
		if !behind[i] {
			fixed[i] = 0
			rooms[0]++
			found.Cells[i] = 0
		}
	}
	cells, err := place.Place(context.WithoutCancel(ctx), soft, t.colors(found.Chosen), place.Options{
		Calm: 1, Fixed: fixed, Supply: placeSupply(found.Chosen, rooms, found),
	})
	if err != nil {
		return err
	}
	for i := range behind {
		if behind[i] {
			b.cells[i] = int32(found.Chosen[cells[i]])
		}
	}
	return nil
}

// tooFewAround adds the colors to those to avoid of which there are too few
// drills for border and caption, as far as others are left.
func (t *task) tooFewAround(c Choice, avoid []int) ([]int, error) {
	s, err := t.supply(c)
	if err != nil || s == nil {
		return avoid, err
	}
	for _, least := range []int64{t.around(), 1} {
		out := avoid[:len(avoid):len(avoid)]
		for j, r := range s.room {
			if r < least && !slices.Contains(out, j) {
				out = append(out, j)
			}
		}
		if len(out)+2 <= len(s.room) {
			return out, nil
		}
	}
	return nil, say.Usage("leave them out, or add to your stash", "border and caption take two colors, and you own fewer")
}
