package kit

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"kitwright/internal/measure"
	"kitwright/internal/say"
	"kitwright/quantize"
)

// tooFew says how many drills are missing, and the ways out, the cheapest first.
func (t *task) tooFew(ctx context.Context, s *supply, opt quantize.Options, short *quantize.Short) error {
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
		n = least(n, opt.K+1, MaxColors, func(k int) bool { return t.suffices(ctx, s, opt, k, s.BuyBags) })
		ways = append(ways, say.Hint("ask for {colors} %d or more", n))
	}
	if size, ok := t.smaller(short); ok {
		ways = append(ways, say.Hint("make it smaller: {size} %s", size))
	}
	// A bag of a new color brings the least that any brings, as a rule.
	if each := s.Spare.Room(s.BagSize); each > 0 {
		bags := s.BuyBags + (missing+each-1)/each
		bags = least(bags, s.BuyBags+1, maxBags, func(n int) bool { return t.suffices(ctx, s, opt, opt.K, n) })
		ways = append(ways, say.Hint("{buy-bags} %d", bags))
	}
	ways = append(ways, say.Hint("{buy} 1 takes one new color as often as it needs"))
	err := say.Usage(strings.Join(ways, "; or "), "%s", what)
	err.(*say.Error).Err = short
	return err
}

// suffices tries whether so many colors with so many bags more are found to
// have room for all cells.
func (t *task) suffices(ctx context.Context, s *supply, opt quantize.Options, colors, bags int) bool {
	opt.K, opt.Effort = colors, quantize.Quick
	_, err := t.problem.Supplied(ctx, quantize.Supply{Options: opt, Room: s.room, Bags: bags, Bagged: s.bagged})
	return err == nil
}

// least is the least number near a guess, within limits, that will do: down
// while fewer do, or up until one does. A guess that nothing near it beats
// stays.
func least(guess, from, to int, do func(n int) bool) int {
	const near = 6
	n := max(from, min(guess, to))
	if do(n) {
		for step := 0; step < near && n > from && do(n-1); step++ {
			n--
		}
		return n
	}
	for m := n + 1; m <= min(to, n+near); m++ {
		if do(m) {
			return m
		}
	}
	return n
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

// leastMeant is how many drills a picture has that nobody takes for a slip.
const leastMeant = 1000

// smaller is the size of the same shape, in whole centimeters, that what is
// owned suffices for.
func (t *task) smaller(short *quantize.Short) (measure.Size, bool) {
	w, h := t.Layout.Width(), t.Layout.Height()
	for w >= 5*measure.Centimeter && h >= 5*measure.Centimeter {
		w -= measure.Centimeter
		tall := (h*w/t.Layout.Width() + measure.Centimeter/2) / measure.Centimeter * measure.Centimeter
		if cells := int64(w/t.Layout.Pitch) * int64(tall/t.Layout.Pitch); cells <= short.Room {
			return measure.Size{W: w, H: tall}, tall >= 5*measure.Centimeter && cells >= leastMeant
		}
	}
	return measure.Size{}, false
}

// around is how many cells border and caption take.
func (t *task) around() int64 {
	l := t.Layout
	return int64(l.Cols*l.Rows - l.Picture.W*l.Picture.H)
}
