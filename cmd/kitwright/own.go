package main

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"kitwright/internal/measure"
	"kitwright/internal/say"
	"kitwright/kit"
	"kitwright/palettes"
	"kitwright/render"
	"kitwright/stash"
)

// ownStock puts what lies in the stash into an order that charts from it: the
// drills of its card, shape and size. An order that names what is owned, as
// that of an earlier kit does, stays as it is unless a stash is named.
func (r *photoRun) ownStock(e env, o *kit.Order, card *palettes.Card) error {
	if !o.Own {
		return nil
	}
	if p := r.print; p != nil && p.Copies > 1 {
		return say.Usage("leave out one of them", "{own} counts drills for one picture, and {copies} asks for %d", int(p.Copies))
	}
	if p := r.print; p != nil && o.Spare == kit.DefaultOrder().Spare {
		o.Spare = spareOf(*p)
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
	size := o.Bare().Drill.Size
	owned := ledger.Owned(card.Name, string(o.Drill), size)
	if usual := (kit.Canvas{Drill: o.Drill}).Bare().Drill.Size; len(owned) == 0 && closeTo(size, usual) {
		// A pitch that makes up for a printer does not make other drills.
		size, owned = usual, ledger.Owned(card.Name, string(o.Drill), usual)
	}
	var strange []string
	o.Stock = nil
	for _, address := range slices.Sorted(maps.Keys(owned)) {
		if j, ok := card.Index(address); ok {
			o.Stock = append(o.Stock, kit.Lot{Address: card.Drills[j].Address(), Drills: owned[address]})
		} else {
			strange = append(strange, address)
		}
	}
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

// closeTo says whether a size differs from another by a twentieth at most.
func closeTo(size, usual measure.Length) bool {
	return 20*max(size-usual, usual-size) <= usual
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

// spareOf is what the drill list adds to each count, as an order keeps it.
func spareOf(p render.Print) kit.Spare {
	return kit.Spare{Percent: int(p.Extra), Least: int(p.ExtraLeast), Most: int(p.ExtraMost)}
}

// ownNotes says what the rungs of a ladder are made of, and which are left out.
func ownNotes(c kit.Choice, rungs []kit.Rung, asked []int) (notes []string) {
	what := "Only what you own"
	switch {
	case c.Buy > 0:
		what += fmt.Sprintf(" and up to %s", say.Count(c.Buy, "new color"))
	case c.BuyBags > 0:
		what += fmt.Sprintf(" and up to %s of %s", say.Count(c.BuyBags, "bag"), say.Count(c.BagSize, "drill"))
	}
	notes = append(notes, what+", never more drills of a color than there are. What a rung cannot get below is for colors bought freely.")
	var few []string
	for _, n := range asked {
		if n < rungs[0].Asked {
			few = append(few, say.Number(n))
		}
	}
	if len(few) > 0 {
		list := few[len(few)-1]
		if len(few) > 1 {
			list = strings.Join(few[:len(few)-1], ", ") + " or " + list
		}
		notes = append(notes, fmt.Sprintf("With %s of these colors there are not enough drills, so such rungs are left out.", list))
	}
	return notes
}
