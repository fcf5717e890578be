package plan

import (
	"kitwright/chart"
	"kitwright/internal/say"
	"kitwright/internal/setting"
)

// Supply is how drills are counted out and bought, as plain values. No drill
// of a chart depends on it.
type Supply struct {
	Extra      setting.Percent // beyond the count
	ExtraLeast setting.Drills
	ExtraMost  setting.Drills

	Bags    Bags            // that can be bought; the zero value asks for none
	BagFill setting.Percent // of the told number that a bag surely holds
	Copies  Copies          // of the picture

	Weighed Weighed // drills on a scale; the zero value means "not weighed"
}

// DefaultSupply returns the usual settings: 10 percent extra of a color, at
// least 20 and at most 300 drills, which is common practice, no source.
func DefaultSupply() Supply {
	return Supply{Extra: 10, ExtraLeast: 20, ExtraMost: 300, BagFill: 100, Copies: 1}
}

// Bind makes every setting a flag, with its present value as the default.
func (s *Supply) Bind(b *setting.Binder) {
	b.Group("Drills to buy")
	b.Add(&s.Extra, "extra", "drills beyond the count, in percent")
	b.Add(&s.ExtraLeast, "extra-least", "the least extra of a color, in drills")
	b.Add(&s.ExtraMost, "extra-most", "the most extra of a color, in drills")
	b.Add(&s.Bags, "bags", "the bags that drills are sold in, and what each costs, as in 200:0.50,1000:1.80,5000:7; the cheapest mix of them is found")
	b.Add(&s.BagFill, "bag-fill", "how full a bag is sure to be, as in 95% for bags that come short")
	b.Add(&s.Copies, "copies", "buy for so many copies of the picture, for a class or a shop")
	b.Add(&s.Weighed, "weighed", "drills that you counted and weighed, as in 500=4.2g, to tell grams; or with the scale's step, as in 500=4g,1g")
}

// MostDrills is how many drills can be bought at once.
const MostDrills = 20_000_000

// Check says whether the settings fit each other and the drills of a chart,
// which may be nil where there is none yet.
func (s Supply) Check(c *chart.Chart) error {
	if s.ExtraLeast > s.ExtraMost {
		return say.Usage("the least must not be above the most", "{extra-least} %d is above {extra-most} %d", s.ExtraLeast, s.ExtraMost)
	}
	for _, b := range s.Bags.Sizes {
		if s.sure(b) < 1 {
			return say.Usage("a bag of 1000 with 50 fewer is filled to 95%", "{bag-fill} %s leaves nothing in a bag of %d", s.BagFill.String(), b.Drills)
		}
	}
	if c == nil {
		return nil
	}
	all := 0
	for _, e := range c.Legend {
		n, _ := s.WithExtra(e.Count)
		all += n
	}
	if int64(all)*int64(max(1, s.Copies)) > MostDrills {
		return say.Usage("ask for fewer {copies}", "%d copies take more than %s drills", s.Copies, say.Number(MostDrills))
	}
	return nil
}

// WithExtra returns how many drills of a color to have for n on the canvas,
// and how many of them are extra.
func (s Supply) WithExtra(n int) (all, extra int) {
	extra = (n*int(s.Extra) + 99) / 100
	extra = min(max(extra, int(s.ExtraLeast)), int(s.ExtraMost))
	return n + extra, extra
}

// Line is what to have ready and what to buy of a color, or of all.
type Line struct {
	Drills int // on one canvas
	Extra  int // beyond them, for one canvas
	Own    int // of those for all copies, that lie in the stash
	Buy    int // the rest of them, with extra

	Bags   []int // how many of each of the sizes; nil where none are told
	InBags int   // drills that are sure to be in them
	Price  Price // of them

	Left  int  // drills that are sure to be left over when all copies are set
	Tight bool // less than 5 percent is: common practice, no source
}

// Ready returns how many drills of the color belong to one canvas, with extra.
func (l Line) Ready() int { return l.Drills + l.Extra }

// Buying is the drill list of a chart.
type Buying struct {
	Supply Supply
	Lines  []Line // a color each, in the legend's order
	Total  Line   // Tight where any color is
}

// List returns the drill list of a chart: extra, bags to buy and what they
// cost. What is owned of a color, by its address, need not be bought; nil is
// nothing. Settings that Check refuses must not come here.
func List(c *chart.Chart, s Supply, owned map[string]int) *Buying {
	out := &Buying{Supply: s, Lines: make([]Line, len(c.Legend))}
	copies := max(1, int(s.Copies))
	t := &out.Total
	if len(s.Bags.Sizes) > 0 {
		t.Bags = make([]int, len(s.Bags.Sizes))
	}
	for i, e := range c.Legend {
		l := &out.Lines[i]
		ready, extra := s.WithExtra(e.Count)
		l.Drills, l.Extra, l.Own = e.Count, extra, min(owned[e.Drill.Address()], copies*ready)
		l.Buy = copies*ready - l.Own
		l.Left = l.Buy
		if t.Bags != nil {
			m := s.Mix(l.Buy)
			l.Bags, l.InBags, l.Price = m.Bags, m.InBags, m.Price
			for j, n := range l.Bags {
				t.Bags[j] += n
			}
			l.Left = l.InBags
		}
		l.Left += l.Own - copies*l.Drills
		l.Tight = 20*l.Left < copies*l.Drills
		t.Drills, t.Extra, t.Own, t.Buy = t.Drills+l.Drills, t.Extra+l.Extra, t.Own+l.Own, t.Buy+l.Buy
		t.InBags, t.Price, t.Left = t.InBags+l.InBags, t.Price+l.Price, t.Left+l.Left
		t.Tight = t.Tight || l.Tight
	}
	return out
}

// sure returns how many drills are sure to be in a bag.
func (s Supply) sure(b Bag) int { return b.Drills * int(s.BagFill) / 100 }

// Copies is a number of copies of a picture, 1 to 10,000.
type Copies int

func (c *Copies) String() string { n := setting.Drills(*c); return n.String() }

// Set reads a whole number.
func (c *Copies) Set(text string) error {
	n, ok := setting.WholeNumber(text, 10_000)
	if !ok || n < 1 {
		return say.Usage("write a whole number from 1 to 10000, for example 12", "%q is not a number of copies", text)
	}
	*c = Copies(n)
	return nil
}

func (c *Copies) Type() string { return "N" }
