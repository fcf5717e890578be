package shop

import (
	"context"

	"kitwright/internal/par"
	"kitwright/internal/say"
)

// Check reads all orders and their photos, and returns a result for each that
// can't be made, by row. Nothing is written.
func (s *Shop) Check(ctx context.Context, orders []Order) ([]Result, error) {
	b := &batch{Shop: s, room: newRoom(s.Memory)}
	found := make([]*Result, len(orders))
	err := par.Until(ctx, len(orders), func(_, i int) {
		say.Step(ctx, "reading the orders", i, len(orders))
		if err := b.try(quiet(ctx), orders[i]); err != nil && ctx.Err() == nil {
			r := Result{Row: orders[i].Row, Name: orders[i].Name, Photo: orders[i].Photo, Status: Failed}
			r.Reason, r.Hint = words(err)
			found[i] = &r
		}
	})
	var bad []Result
	for _, r := range found {
		if r != nil {
			bad = append(bad, *r)
		}
	}
	return bad, err
}

// try does all of an order up to the choice of colors.
func (b *batch) try(ctx context.Context, o Order) error {
	recipe, err := b.recipe(o)
	if err != nil {
		return err
	}
	data, release, err := b.read(ctx, o.Photo)
	if err != nil {
		return err
	}
	defer release()
	prep, err := recipe.lay(ctx, data, o)
	if err != nil {
		return err
	}
	return recipe.print.CheckLayout(prep.Layout, recipe.card, recipe.order.Colors)
}
