package kit

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"kitwright/internal/measure"
	"kitwright/internal/say"
	"kitwright/quantize"
)

// tooFew says how many drills are missing, and the ways out, the cheapest first.
func (t *task) tooFew(s *supply, opt quantize.Options, short *quantize.Short) error {
	if short.Color >= 0 {
		return say.Usage("take another color for it, or make it smaller", "border, caption or background take %s drills of %s, and you own enough for %s",
			say.Number(int(short.Cells)), t.card.Drills[short.Color].Address(), say.Number(int(max(0, short.Room))))
	}
	missing := int(short.Cells - short.Room)
	with := ""
	if s.BuyBags > 0 {
		with = ", with " + say.Count(s.BuyBags, "bag") + " more,"
	}
	what := fmt.Sprintf("what you own suffices%s for %s of the %s drills, extra left out: %s short", with,
		say.Number(int(short.Room)), say.Number(int(short.Cells)), say.Number(missing))
	var ways []string
	if n, ok := t.enoughColors(s, opt, short.Cells); ok && n > opt.K {
		ways = append(ways, say.Hint("ask for {colors} %d or more", n))
	}
	if size, ok := t.smaller(short); ok {
		ways = append(ways, say.Hint("make it smaller: {size} %s", size))
	}
	// One bag of a new color brings the least that any brings.
	if each := s.Spare.Room(s.BagSize); each > 0 {
		bags := (missing + each - 1) / each
		ways = append(ways, say.Hint("{buy-bags} %d", s.BuyBags+bags))
	}
	ways = append(ways, say.Hint("{buy} 1 takes one new color as often as it needs"))
	err := say.Usage(strings.Join(ways, "; or "), "%s", what)
	err.(*say.Error).Err = short
	return err
}

// enoughColors is how many of the owned colors it takes, the fullest first, to
// have room for so many cells.
func (t *task) enoughColors(s *supply, opt quantize.Options, cells int64) (int, bool) {
	var rooms []int64
	for j, r := range s.room {
		if r > 0 && !slices.Contains(opt.Avoid, j) {
			rooms = append(rooms, r)
		}
	}
	slices.SortFunc(rooms, func(a, b int64) int { return cmp.Compare(b, a) })
	for i, r := range rooms {
		if cells -= r; cells <= 0 {
			return i + 1, i+1 <= MaxColors
		}
	}
	return 0, false
}

// smaller is the size of the same shape, in whole centimeters, that what is
// owned suffices for.
func (t *task) smaller(short *quantize.Short) (measure.Size, bool) {
	w, h := t.Layout.Width(), t.Layout.Height()
	for w >= 5*measure.Centimeter && h >= 5*measure.Centimeter {
		w -= measure.Centimeter
		tall := (h*w/t.Layout.Width() + measure.Centimeter/2) / measure.Centimeter * measure.Centimeter
		if int64(w/t.Layout.Pitch)*int64(tall/t.Layout.Pitch) <= short.Room {
			return measure.Size{W: w, H: tall}, tall >= 5*measure.Centimeter
		}
	}
	return measure.Size{}, false
}

// around is how many cells border and caption take.
func (t *task) around() int64 {
	l := t.Layout
	return int64(l.Cols*l.Rows - l.Picture.W*l.Picture.H)
}
