package kit

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"kitwright/chart"
	"kitwright/internal/say"
	"kitwright/internal/wording"
	"kitwright/quantize"
)

// Own says what charting from owned drills cost, and what would help most. All
// figures are plain means as Quality's, on all drills of the photo.
type Own struct {
	Within    float64 `json:"within"`    // the closest that these colors come within their counts (exact)
	Unlimited float64 `json:"unlimited"` // the same colors, as many drills of each as it takes
	Free      float64 `json:"free"`      // as many colors of the whole card, bought freely: the best found

	// How far the colors or the purchase may be from the best, at most, by what
	// was asked for: proven on the bins of colors that they were chosen by, not
	// on every drill. 0 where there was nothing to choose, or it is the best.
	BinGap float64 `json:"bin_gap"`

	Bought []Bought `json:"bought"`
	Helps  []Help   `json:"helps"`
}

// Bought is a color of which drills are to be bought.
type Bought struct {
	Address string `json:"code"` // with its finish
	Bags    int    `json:"bags"` // 0: as many drills as it takes
	Owned   int    `json:"owned"`
	Drills  int    `json:"drills"` // on the canvas
}

// Help is one more bag of a color, and what the mean would be with it (exact).
type Help struct {
	Address string  `json:"code"`
	Owned   bool    `json:"owned"` // some are owned already
	Within  float64 `json:"within"`
}

// helpsMost is how many bags are named that would help.
const helpsMost = 5

// own reports on a design from owned drills; nil for any other.
func (t *task) own(ctx context.Context, c Choice, d *design, fixed []int32, target *Target, made *chart.Chart) (*Own, error) {
	found := d.supplied
	if found == nil {
		return nil, nil
	}
	s, err := t.supply(c)
	if err != nil {
		return nil, err
	}
	avoid, err := indices(t.card, c.Avoid, "avoid")
	if err != nil {
		return nil, err
	}
	ctx, done := say.Search(ctx)
	defer done()
	say.Step(ctx, "looking for the bags that help most", 0, 0)
	opt := quantize.Options{Fixed: fixed}
	plain, err := t.problem.Assign(context.WithoutCancel(ctx), found.Chosen, found.Room, opt)
	if err != nil {
		return nil, err
	}
	mean := func(chosen []int, cells []uint16) float64 {
		return meanOf(target.of(misses(t.grid, t.colors(chosen), cells), OnBackground, OnSubject))
	}
	o := &Own{
		Within: mean(plain.Chosen, plain.Cells), Unlimited: mean(found.Chosen, t.problem.Nearest(found.Chosen)),
		Free: perWeight(d.plain.Cost, d.plain.Weight), BinGap: math.Round(found.BinGap()*1e6) / 1e6,
	}
	bags := map[int]int{}
	for k, j := range found.Chosen {
		bags[j] = found.Bags[k]
		if found.Bags[k] == 0 && !found.New[k] {
			continue
		}
		drill := t.card.Drills[j]
		at := slices.IndexFunc(made.Legend, func(e chart.Entry) bool { return e.Drill.Address() == drill.Address() })
		if at < 0 {
			continue // no drill comes out in it
		}
		o.Bought = append(o.Bought, Bought{drill.Address(), found.Bags[k], s.owned[j], made.Legend[at].Count})
		if found.Bags[k] == 0 {
			bags[j] = -1
		}
	}
	more := func(j int) int64 {
		if bags[j] < 0 || slices.Contains(avoid, j) {
			return 0
		}
		return s.bagged(j, bags[j]+1)
	}
	helps, base, err := t.problem.Helps(ctx, found.Chosen, found.Room, more, helpsMost, opt)
	if _, err = ended(ctx, err); err != nil {
		return nil, err
	}
	cells := 0
	for _, part := range target.Shows {
		if part != OnFrame {
			cells++
		}
	}
	for _, h := range helps {
		saved := float64(base-h.Cost) / quantize.Unit / quantize.MeanCell / float64(cells)
		o.Helps = append(o.Helps, Help{t.card.Drills[h.Color].Address(), s.owned[h.Color] > 0, round4(o.Within - saved)})
	}
	return o, nil
}

// words tells it, a sentence each.
func (o *Own) words(k *Kit) []say.Text {
	bag := k.Order["bag-size"]
	text := fmt.Sprintf("From what you own: these drills can come no closer than %.2f (proven); the same %s without end %.2f, as many bought freely %.2f.",
		Floor2(o.Within), say.Count(len(k.Chart.Legend), "color"), o.Unlimited, o.Free)
	lines := []say.Text{say.Textf("%s", text)}
	if len(o.Bought) > 0 {
		var list []string
		for _, b := range o.Bought {
			switch {
			case b.Bags > 0:
				list = append(list, fmt.Sprintf("%s of %s", say.Count(b.Bags, "bag"), b.Address))
			default:
				list = append(list, b.Address)
			}
		}
		what := "to buy: " + andList(list)
		if o.Bought[0].Bags > 0 {
			what += fmt.Sprintf(" (bags of %s)", bag)
		}
		switch {
		case o.BinGap == 0:
			what += "; nothing better is to be had for it, proven on the bins of colors that it was chosen by"
		default:
			what += fmt.Sprintf("; at most %s from the best purchase of its kind, proven on the bins of colors that it was chosen by", atMost(o.BinGap))
		}
		lines = append(lines, say.Textf("%s.", upper(what)))
	} else if o.BinGap > 0 {
		lines = append(lines, say.Textf("The colors taken are at most %s from the best of so many, proven on the bins of colors that they were chosen by.", atMost(o.BinGap)))
	}
	if len(o.Helps) > 0 {
		text := fmt.Sprintf("One bag of %s beside these colors brings it from %.2f to %.2f", o.Helps[0].Address, Floor2(o.Within), Floor2(o.Helps[0].Within))
		var list []string
		for _, h := range o.Helps[1:] {
			list = append(list, fmt.Sprintf("%s to %.2f", h.Address, Floor2(h.Within)))
		}
		if len(list) > 0 {
			text += "; instead, one of " + orList(list)
		}
		lines = append(lines, say.Textf("%s.", text))
	}
	return lines
}

// atMost writes a share, rounded up so that it stays true.
func atMost(share float64) string {
	return fmt.Sprintf("%.1f percent", math.Ceil(share*1000)/10)
}

func upper(s string) string { return string(s[0]-'a'+'A') + s[1:] }

// andList joins words: "a, b and c".
func andList(words []string) string { return inWords(words, " and ") }

func orList(words []string) string { return inWords(words, " or ") }

func inWords(words []string, last string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	n := len(words) - 1
	return strings.Join(words[:n], ", ") + last + words[n]
}

// check refuses what no report of ours says.
func (o *Own) check() error {
	if o == nil {
		return nil
	}
	if len(o.Bought) > MaxColors || len(o.Helps) > helpsMost {
		return errors.New("its own names more colors than any kit")
	}
	for i := range o.Bought {
		b := &o.Bought[i]
		if b.Address = wording.Printable(b.Address); b.Bags < 0 || b.Owned < 0 || b.Drills < 0 {
			return errors.New("its own buys fewer than no drills")
		}
	}
	for i := range o.Helps {
		o.Helps[i].Address = wording.Printable(o.Helps[i].Address)
	}
	return nil
}
