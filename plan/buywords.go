package plan

import (
	"strconv"
	"strings"

	"kitwright/chart"
	"kitwright/internal/say"
)

// Sum tells in one line what to buy in all: "21,162 drills to buy, 1,962 of
// them extra, in 18 bags of 1,000 and 39 of 200 for 51.90".
func (b *Buying) Sum() string {
	t := b.Total
	if t.Own > 0 && t.Buy == 0 {
		return "nothing to buy: all " + say.Count(t.Own, "drill") + ", extra among them, are owned"
	}
	text := say.Count(t.Buy, "drill") + " to buy, "
	if n := int(b.Supply.Copies); n > 1 {
		text += "for " + say.Number(n) + " copies, "
	}
	if t.Own > 0 {
		text += "beside " + say.Number(t.Own) + " that are owned"
	} else {
		text += say.Number(t.Buy-max(1, int(b.Supply.Copies))*t.Drills) + " of them extra"
	}
	if t.Bags == nil {
		return text
	}
	var bags []string
	for i := len(t.Bags) - 1; i >= 0; i-- {
		n, size := t.Bags[i], say.Number(b.Supply.Bags.Sizes[i].Drills)
		switch {
		case n == 0:
		case len(bags) == 0:
			bags = append(bags, say.Count(n, "bag")+" of "+size)
		default:
			bags = append(bags, say.Number(n)+" of "+size)
		}
	}
	if n := len(bags); n > 1 {
		bags = []string{strings.Join(bags[:n-1], ", ") + " and " + bags[n-1]}
	}
	text += ", in " + strings.Join(bags, "")
	if b.Supply.Bags.Priced {
		text += " for " + b.Supply.Bags.Money(t.Price)
	}
	return text
}

// Warnings are what to know before buying: where less than 5 percent would be
// left over, and settings that tell nothing.
func (b *Buying) Warnings(c *chart.Chart) (out []say.Text) {
	var tight []string
	for i, l := range b.Lines {
		if l.Tight {
			tight = append(tight, strconv.Itoa(c.Legend[i].Number))
		}
	}
	if n := len(tight); n > 0 {
		const most = 12
		which := strings.Join(tight[:min(n, most)], ", ")
		if n > most {
			which += " and " + say.Number(n-most) + " more"
		}
		out = append(out, say.Textf("Of %s (no. %s) less than 5 percent would be left over, and bags may come short: raise {extra} or {extra-most}, or weigh what you get.", say.Count(n, "color"), which))
	}
	if b.Supply.BagFill != 100 && len(b.Supply.Bags.Sizes) == 0 {
		out = append(out, say.Textf("{bag-fill} counts only together with {bags}."))
	}
	if w := b.Supply.Weighed; w.Drills > 0 && 10*w.Step > w.Weight { // half a step is more than a twentieth
		out = append(out, say.Textf("A scale with steps of %sg tells the weight of %s to a twentieth at best: weigh more at once.", trimmed(w.Step), say.Count(w.Drills, "drill")))
	}
	return out
}
