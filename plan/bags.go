package plan

import (
	"strconv"
	"strings"

	"kitwright/internal/say"
	"kitwright/internal/setting"
)

// Price is an amount of money in thousandths of whatever money it is.
type Price int64

// Bag is a size in which drills are sold.
type Bag struct {
	Drills int
	Price  Price // 0 where prices are not told
}

// Bags are the sizes in which drills are sold, by rising size. The zero value
// stands for none.
type Bags struct {
	Sizes  []Bag
	Priced bool // prices are told
}

const (
	maxSizes    = 100
	maxBag      = 1_000_000 // drills; a bag of a kilogram holds an eighth of that
	maxBagPrice = 1_000_000
)

const bagsHint = "write drills:price for each size, as in 200:0.50,1000:1.80, or sizes alone, as in 200,1000"

// String writes the bags as Set reads them.
func (b *Bags) String() string {
	var out []string
	for _, s := range b.Sizes {
		text := strconv.Itoa(s.Drills)
		if b.Priced {
			text += ":" + s.Price.text(s.Price.decimals())
		}
		out = append(out, text)
	}
	return strings.Join(out, ",")
}

// Set reads "200:0.50,1000:1.80,5000:7", or with decimal commas
// "200:0,50;1000:1,80", or sizes alone. The empty text is no bags.
func (b *Bags) Set(text string) error {
	if strings.TrimSpace(text) == "" {
		*b = Bags{}
		return nil
	}
	var v Bags
	for i, part := range bagParts(text) {
		number, price, priced := strings.Cut(part, ":")
		n, ok := setting.WholeNumber(strings.TrimSpace(number), maxBag)
		if !ok || n < 1 {
			return say.Usage(bagsHint, "%q is not a bag of 1 to %s drills", strings.TrimSpace(part), say.Number(maxBag))
		}
		s := Bag{Drills: n}
		if priced {
			if s.Price, ok = readPrice(strings.TrimSpace(price)); !ok {
				return say.Usage(bagsHint, "%q is not the price of a bag", strings.TrimSpace(price))
			}
		}
		if i > 0 && priced != v.Priced {
			return say.Usage(bagsHint, "some of the bags %q have a price, and some have none", text)
		}
		v.Priced = priced
		at := 0
		for at < len(v.Sizes) && v.Sizes[at].Drills < n {
			at++
		}
		if at < len(v.Sizes) && v.Sizes[at].Drills == n {
			return say.Usage("name each size once, with the lower price", "bags of %d are named twice", n)
		}
		v.Sizes = append(v.Sizes[:at:at], append([]Bag{s}, v.Sizes[at:]...)...)
	}
	if len(v.Sizes) > maxSizes {
		return say.Usage("name those you would buy", "%d sizes of bags are more than the %d there can be", len(v.Sizes), maxSizes)
	}
	*b = v
	return nil
}

func (b *Bags) Type() string { return "N:PRICE,..." }

// bagParts splits a list of bags. A comma behind a price that has no point or
// comma yet, with one or two bare digits behind it, is that price's; three may
// be a bag whose price was forgotten.
func bagParts(text string) (parts []string) {
	if strings.Contains(text, ";") {
		return strings.Split(text, ";")
	}
	for _, p := range strings.Split(text, ",") {
		if last := len(parts) - 1; last >= 0 && strings.Contains(parts[last], ":") && !strings.ContainsAny(parts[last], ",.") && !strings.Contains(p, ":") && len(strings.TrimSpace(p)) < 3 {
			parts[last] += "," + p
			continue
		}
		parts = append(parts, p)
	}
	return parts
}

// readPrice reads an amount with up to three decimals.
func readPrice(s string) (Price, bool) {
	whole, part, pointed := strings.Cut(strings.Replace(s, ",", ".", 1), ".")
	if pointed && (part == "" || len(part) > 3) {
		return 0, false
	}
	if whole == "" && pointed {
		whole = "0"
	}
	w, ok := setting.WholeNumber(whole, maxBagPrice)
	p, okP := setting.WholeNumber((part + "000")[:3], 999)
	return Price(w*1000 + p), ok && okP
}

// decimals returns how many decimals an amount is written with: two, none
// where it is whole, three where it must be.
func (p Price) decimals() int {
	switch {
	case p%1000 == 0:
		return 0
	case p%10 == 0:
		return 2
	}
	return 3
}

func (p Price) text(decimals int) string {
	s := strconv.FormatInt(int64(p/1000), 10)
	if decimals == 0 {
		return s
	}
	return s + "." + strconv.FormatInt(int64(1000+p%1000), 10)[1:1+decimals]
}

// Money writes a sum of prices with as many decimals as any price has.
func (b Bags) Money(p Price) string {
	most := 0
	for _, s := range b.Sizes {
		most = max(most, s.Price.decimals())
	}
	return p.text(most)
}

// Words writes how many of each size, largest first: "1 x 1,000 + 2 x 200".
func (b Bags) Words(counts []int) string { return b.list(counts, say.Number) }

// Cell is Words for a table: without commas in numbers.
func (b Bags) Cell(counts []int) string { return b.list(counts, strconv.Itoa) }

func (b Bags) list(counts []int, number func(int) string) string {
	var out []string
	for i := len(counts) - 1; i >= 0; i-- {
		if counts[i] > 0 {
			out = append(out, number(counts[i])+" x "+number(b.Sizes[i].Drills))
		}
	}
	return strings.Join(out, " + ")
}

// worth is what a mix of bags comes to. The lower price is better; of equal
// prices fewer bags, then more drills.
type worth struct {
	price  Price
	bags   int
	drills int
}

func (a worth) before(b worth) bool {
	switch {
	case a.price != b.price:
		return a.price < b.price
	case a.bags != b.bags:
		return a.bags < b.bags
	}
	return a.drills > b.drills
}

// cheapest returns how many bags of each size to buy for so many drills: the
// cheapest of all mixes, exactly; of several the one of fewest bags, then of
// most drills. Where no prices are told it is the mix of fewest drills.
//
// It builds the best mix for 1, 2, 3 ... drills up: the best one for n is some
// bag and the best one for what n still lacks then, because worths add up and
// keep their order. Sizes are first divided by what divides them all. Before
// that, a great number is lowered by bags of the size that gives most for its
// price: fewer than that size of other bags can stand in a best mix, as among
// so many there are some whose drills divide by it (of the running sums two
// leave the same rest), and bags of that size would do for those.
func (s Supply) cheapest(need int) []int {
	sizes := s.Bags.Sizes
	out := make([]int, len(sizes))
	if need <= 0 {
		return out
	}
	size, price, unit := make([]int, len(sizes)), make([]Price, len(sizes)), 0
	for i, b := range sizes {
		size[i] = s.sure(b)
		price[i] = b.Price
		if !s.Bags.Priced {
			price[i] = Price(size[i])
		}
		for a, b := size[i], unit; ; a, b = b, a%b {
			if b == 0 {
				unit = a
				break
			}
		}
	}
	best, largest := 0, 0
	for i := range size {
		size[i] /= unit
		largest = max(largest, size[i])
		if a, b := int64(price[i])*int64(size[best]), int64(price[best])*int64(size[i]); a < b || a == b && size[i] > size[best] {
			best = i
		}
	}
	need = (need + unit - 1) / unit
	if over := need - size[best]*largest; over > 0 {
		out[best] = over / size[best]
		need -= out[best] * size[best]
	}

	// Of the best mixes only the last so many are kept, that for n at n modulo
	// kept; of all of them which bag came last.
	kept := largest + 1
	mixes := make([]worth, min(kept, need+1))
	last := make([]uint8, need+1)
	for n := 1; n <= need; n++ {
		var at worth
		for i := range size {
			lacking := mixes[max(0, n-size[i])%kept]
			w := worth{lacking.price + price[i], lacking.bags + 1, lacking.drills + size[i]}
			if i == 0 || w.before(at) {
				at, last[n] = w, uint8(i)
			}
		}
		mixes[n%kept] = at
	}
	for n := need; n > 0; n -= size[last[n]] {
		out[last[n]]++
	}
	return out
}
