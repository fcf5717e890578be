package kit

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"kitwright/internal/measure"
	"kitwright/internal/say"
	"kitwright/palettes"
)

// checkOwn says whether what is asked of the drills that are owned fits
// together.
func (c Choice) checkOwn() error {
	switch {
	case !c.Own && (c.Buy > 0 || c.BuyBags > 0):
		what := "buy"
		if c.BuyBags > 0 {
			what = "buy-bags"
		}
		return say.Usage("ask for {own} too, or for neither", "%s says what may be bought beside what you own, and without {own} every color may be", say.Setting(what))
	case c.Buy > 0 && c.BuyBags > 0:
		return say.Usage("give one of them", "{buy} counts new colors and {buy-bags} counts bags: only one can be the limit")
	case c.Own && c.Least > 1:
		return say.Usage("leave out one", "{own} goes by the drills you have of each color, and {least} by those that the picture would need")
	}
	return nil
}

// owned returns how many drills of each color of the card are owned; nil where
// that does not matter.
func (c Choice) owned(card *palettes.Card) ([]int, error) {
	if !c.Own {
		return nil, nil
	}
	out := make([]int, len(card.Drills))
	any := false
	for _, l := range c.Stock {
		j, err := indices(card, []string{l.Address}, "stock")
		if err != nil {
			return nil, err
		}
		out[j[0]] = min(out[j[0]]+l.Drills, maxOwned)
		any = any || l.Drills > 0
	}
	if !any && c.Buy+c.BuyBags == 0 {
		return nil, say.Usage("kitwright stash add puts in what you own; {buy} 3 would take three new colors",
			"{own}: nothing is owned of the card %q in this shape and size", card.Name)
	}
	return out, nil
}

// keepOwned says whether the colors to keep are owned or can be bought.
func (c Choice) keepOwned(card *palettes.Card, keep, owned []int) error {
	if !c.Own {
		return nil
	}
	missing := 0
	for _, j := range keep {
		if owned[j] == 0 {
			if missing++; missing > c.Buy+c.BuyBags {
				return notOwned("keep", card, j)
			}
		}
	}
	return nil
}

// notOwned says that a setting asks for a color that is not owned.
func notOwned(flag string, card *palettes.Card, j int) error {
	return say.Usage("name a color you own, or leave out {own}", "%s names %s, of which you own none", say.Setting(flag), card.Drills[j].Address())
}

// supply is what a choice may take, by index of the card.
type supply struct {
	Choice
	owned []int
	room  []int64 // on the canvas
}

// supply returns what a choice may take, nil for anything.
func (t *task) supply(c Choice) (*supply, error) {
	owned, err := c.owned(t.card)
	if err != nil || owned == nil {
		return nil, err
	}
	s := &supply{Choice: c, owned: owned, room: make([]int64, len(owned))}
	for j, n := range owned {
		s.room[j] = int64(c.Spare.Room(n))
	}
	return s, nil
}

// bagged is the room of a color with so many bags more.
func (s *supply) bagged(j, bags int) int64 {
	return int64(s.Spare.Room(s.owned[j] + bags*s.BagSize))
}

// unowned adds the colors that are not owned to those to avoid.
func (s *supply) unowned(avoid []int) []int {
	avoid = avoid[:len(avoid):len(avoid)]
	for j, r := range s.room {
		if r == 0 {
			avoid = append(avoid, j)
		}
	}
	return avoid
}

// TakeStock puts what is owned of a card into an order: the drills of its
// shape and size, of which owned tells how many there are by address. It
// returns the size that was looked for, and what is owned and not on the card.
func (o *Order) TakeStock(card *palettes.Card, owned func(size measure.Length) map[string]int) (size measure.Length, strange []string) {
	size = o.Bare().Drill.Size
	has := owned(size)
	if usual := (Canvas{Drill: o.Drill}).Bare().Drill.Size; len(has) == 0 && 20*max(size-usual, usual-size) <= usual {
		// A pitch that makes up for a printer does not make other drills.
		size, has = usual, owned(usual)
	}
	o.Stock = nil
	for _, address := range slices.Sorted(maps.Keys(has)) {
		if j, ok := card.Index(address); ok {
			o.Stock = append(o.Stock, Lot{Address: card.Drills[j].Address(), Drills: has[address]})
		} else {
			strange = append(strange, address)
		}
	}
	return size, strange
}

// ownNotes says what the rungs of a ladder are made of, and which are left out.
func (c Choice) ownNotes(rungs []Rung, asked []int) (notes []string) {
	what := "Only what you own"
	switch {
	case c.Buy > 0:
		what += fmt.Sprintf(" and up to %s", say.Count(c.Buy, "new color"))
	case c.BuyBags > 0:
		what += fmt.Sprintf(" and up to %s of %s", say.Count(c.BuyBags, "bag"), say.Count(c.BagSize, "drill"))
	}
	if !c.Own || len(rungs) == 0 {
		return nil
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
