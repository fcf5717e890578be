package kit

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"kitwright/chart"
	"kitwright/palettes"
)

// maxLeast is the most drills that can be asked of every color.
const maxLeast = 100_000

// leave takes out the colors that lie on fewer drills than were asked for, and
// lays the picture anew in the others: each drill then goes to the next best
// color, near and from afar. The fewest go first, half of the colors at a time,
// for their drills may bring another above the least. What is kept by name, for
// what is circled, around the photo or behind the subject stays.
func (t *task) leave(ctx context.Context, calm float64, w wanted, d *design) error {
	if d.supplied != nil {
		return nil
	}
	opt := w.opt
	opt.K = len(d.sel.Chosen)
	stay := d.kept
	for _, j := range opt.Fixed {
		if j >= 0 && !slices.Contains(stay, int(j)) {
			stay = append(stay[:len(stay):len(stay)], int(j))
		}
	}
	for {
		count := d.count()
		var few []int // places among the chosen
		used := 0
		for i, n := range count {
			if n > 0 {
				used++
			}
			if n > 0 && n < w.least && !slices.Contains(stay, d.sel.Chosen[i]) {
				few = append(few, i)
			}
		}
		slices.SortStableFunc(few, func(a, b int) int { return cmp.Compare(count[a], count[b]) })
		few = few[:max(0, min((len(few)+1)/2, used-MinColors))]
		if len(few) == 0 {
			break
		}
		var now []int
		for i, j := range d.sel.Chosen {
			if !slices.Contains(few, i) {
				now = append(now, j)
			} else {
				d.left = append(d.left, j)
			}
		}
		if d.full == nil {
			d.full = d.sel.Chosen
		}
		opt.K, opt.Keep = len(now), now
		other := t.problem.Other(now, opt)
		other.Bound = d.sel.Bound // no fewer colors get below what more do not
		d.sel, d.chosen = other, other.Chosen
		var err error
		if d.cells, err = t.place(ctx, calm, w, d); err != nil {
			return err
		}
	}
	if len(d.left) > 0 {
		slices.Sort(d.left)
		d.what += fmt.Sprintf(", %s left out that fewer than %d drills had", plural(len(d.left), "color", "colors"), w.least)
	}
	return nil
}

// count returns how many drills each of the chosen colors has.
func (d *design) count() []int {
	count := make([]int, len(d.sel.Chosen))
	for _, c := range d.cells {
		count[c]++
	}
	return count
}

// tooRare says which colors were left out because too few drills had them.
func tooRare(left []int, least int, card *palettes.Card) []string {
	if len(left) == 0 {
		return nil
	}
	const named = 6
	var codes []string
	for _, j := range left[:min(named, len(left))] {
		codes = append(codes, card.Drills[j].Address())
	}
	more := ""
	if n := len(left) - named; n > 0 {
		more = fmt.Sprintf(" and %d more", n)
	}
	is := "are"
	if len(left) == 1 {
		is = "is"
	}
	return []string{fmt.Sprintf("%s that would have had fewer than %d drills %s left out: %s%s. Others took their drills.",
		plural(len(left), "color", "colors"), least, is, strings.Join(codes, ", "), more)}
}

// unused says which of the codes that had to be kept no drill has, or only few.
func unused(keep []string, least int, card *palettes.Card, c *chart.Chart) (notes []string) {
	for _, code := range keep {
		j, ok := card.Index(code)
		if !ok {
			continue
		}
		at := slices.IndexFunc(c.Legend, func(e chart.Entry) bool { return e.Drill.Address() == card.Drills[j].Address() })
		if at < 0 {
			notes = append(notes, code+" was kept, but no drill of this photo comes out in it, so it is not in the kit.")
		} else if n := c.Legend[at].Count; n < max(least, fewKept) {
			notes = append(notes, fmt.Sprintf("%s was kept, but only %s it.", code, plural(n, "drill of this photo has", "drills of this photo have")))
		}
	}
	return notes
}

// fewKept is the number of drills below which a color that was kept is worth a
// word, whatever was asked of the others. (Our choice, no source.)
const fewKept = 10
