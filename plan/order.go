package plan

import (
	"cmp"
	"slices"
)

// Order returns the order in which across x down sections are worked on. Every
// row begins at the side away from the hand, so that the palm lies on what is
// still covered or long set, and never on fresh drills or open glue.
func (o Options) Order(across, down int) []int {
	var out []int
	walk := func(takes func(col, row int) bool) {
		for r := range down {
			row := down - 1 - r
			if o.Work == Far {
				row = r
			}
			for q := range across {
				col := q
				if o.Hand == LeftHand {
					col = across - 1 - q
				}
				if takes(col, row) {
					out = append(out, row*across+col)
				}
			}
		}
	}
	if o.Work != Checkerboard {
		walk(func(int, int) bool { return true })
		return out
	}
	// Begin with the color of field that the first corner has.
	first := 0
	if o.Hand == LeftHand {
		first = across - 1
	}
	first += down - 1
	walk(func(col, row int) bool { return (col+row)%2 == first%2 })
	walk(func(col, row int) bool { return (col+row)%2 != first%2 })
	return out
}

// chain puts the colors of every section in order: most drills first, but for
// the one that the section before ended with, which is on the table already,
// and the one that the next begins with. Which colors link the sections is
// chosen so that as few containers as possible are taken up; of the ways with
// as few, the one whose links have most drills.
func (p *Plan) chain() {
	links := p.links()
	p.Fetches = 0
	for n, i := range p.Order {
		s := &p.Sections[i]
		slices.SortStableFunc(s.Work, func(a, b Task) int { return cmp.Compare(b.Drills, a.Drills) })
		move := func(color, to int) {
			at := slices.IndexFunc(s.Work, func(t Task) bool { return t.Color == color })
			t := s.Work[at]
			s.Work = slices.Insert(slices.Delete(s.Work, at, at+1), to, t)
		}
		if n < len(links) && links[n] >= 0 {
			move(links[n], len(s.Work)-1)
		}
		if n > 0 && links[n-1] >= 0 {
			move(links[n-1], 0)
			s.Work[0].Ready = true
		}
		for _, t := range s.Work {
			if !t.Ready {
				p.Fetches++
			}
		}
	}
}

// links chooses the color with which each section but the last ends and the
// next begins, -1 where they share none that can be. A section of several
// colors can't begin and end with the same one.
func (p *Plan) links() []int {
	const one = int64(1) << 40 // a link counts more than any number of drills
	type best struct {
		value int64
		from  int // color of the link before, -1 none
	}
	k := len(p.Chart.Legend)
	drills := func(n int) []int {
		out := make([]int, k)
		for _, t := range p.Sections[p.Order[n]].Work {
			out[t.Color] = t.Drills
		}
		return out
	}
	// at[n][c] is the best for the links up to n if link n is c; the last place
	// of a row stands for no link.
	joints := len(p.Order) - 1
	if joints < 1 {
		return nil
	}
	at := make([][]best, joints)
	here := drills(0)
	for n := range at {
		next := drills(n + 1)
		single := len(p.Sections[p.Order[n]].Work) == 1
		// The best two of the links before, so that any color has one that is
		// not itself.
		first, second := best{0, -1}, best{-1, -1}
		if n > 0 {
			first = best{-1, -1}
			for c, b := range at[n-1] {
				from := c
				if c == k {
					from = -1
				}
				if b.value > first.value {
					first, second = best{b.value, from}, first
				} else if b.value > second.value {
					second = best{b.value, from}
				}
			}
		}
		row := make([]best, k+1)
		for c := range k {
			row[c] = best{-1, -1}
			if here[c] == 0 || next[c] == 0 {
				continue
			}
			from := first
			if from.from == c && !single {
				from = second
			}
			if from.value >= 0 {
				row[c] = best{from.value + one + int64(min(here[c], next[c])), from.from}
			}
		}
		row[k] = first
		at[n], here = row, next
	}
	links := make([]int, joints)
	c := k
	for i, b := range at[joints-1] {
		if b.value > at[joints-1][c].value {
			c = i
		}
	}
	for n := joints - 1; n >= 0; n-- {
		links[n] = c
		if c == k {
			links[n] = -1
		}
		if c = at[n][c].from; c < 0 {
			c = k
		}
	}
	return links
}
