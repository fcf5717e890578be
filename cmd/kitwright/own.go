package main

import (
	"fmt"
	"slices"
	"strings"

	"kitwright/internal/measure"
	"kitwright/internal/say"
	"kitwright/kit"
	"kitwright/palettes"
	"kitwright/stash"
)

// ownStock puts what lies in the stash into an order that charts from it: the
// drills of its card, shape and size. An order that names what is owned, as
// that of an earlier kit does, stays as it is unless a stash is named.
func (r *photoRun) ownStock(e env, o *kit.Order, card *palettes.Card) error {
	if !o.Own {
		return nil
	}
	if r.print != nil {
		if err := r.print.Own(o); err != nil {
			return err
		}
	}
	if len(o.Stock) > 0 && r.stash.file == "" {
		return nil
	}
	if r.given("stock") {
		return say.Usage("leave out one of them", "{stock} and {stash} both say what you own")
	}
	ledger, err := r.stash.open(e, r.cards)
	if err != nil {
		return err
	}
	size, strange := o.TakeStock(card, func(size measure.Length) map[string]int { return ledger.Owned(card.Name, string(o.Drill), size) })
	if len(strange) > 0 {
		const most = 5
		list := strings.Join(strange[:min(most, len(strange))], ", ")
		if len(strange) > most {
			list += fmt.Sprintf(" and %d more", len(strange)-most)
		}
		fmt.Fprintf(e.stderr, "Left out, as the card %s has no such color: %s.\n", card.Name, list)
	}
	if len(o.Stock) == 0 && o.Buy+o.BuyBags == 0 {
		return noneOwned(ledger, card, o.Drill, size)
	}
	return nil
}

// noneOwned says that the stash has nothing for an order, and what it has.
func noneOwned(l *stash.Ledger, card *palettes.Card, shape kit.Shape, size measure.Length) error {
	try := "kitwright stash add --card " + card.Name + " puts in what you own"
	other := kit.Square
	if shape == kit.Square {
		other = kit.Round
	}
	if n := len(l.Owned(card.Name, string(other), (kit.Canvas{Drill: other}).Bare().Drill.Size)); n > 0 {
		try = say.Hint("{drill} %s: of those you own %s", string(other), say.Count(n, "color"))
	} else if cards := l.Cards(); len(cards) > 0 && !slices.ContainsFunc(cards, func(name string) bool { return strings.EqualFold(name, card.Name) }) {
		try = say.Hint("{card} %s, of which you own some; %s", cards[0], try)
	}
	return say.Usage(try, "{own}: your stash has no %s drills of %s of the card %s", string(shape), size, card.Name)
}
