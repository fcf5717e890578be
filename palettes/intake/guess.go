package intake

import (
	"fmt"
	"math"
	"strings"
)

// wordsOnly tells a row with words and no number or hex value: a header in a
// language that is not known.
func (t *table) wordsOnly(r record) bool {
	for i := range r.shown {
		_, number := t.number(r.number(i))
		if _, hex := readHex(r.cell(i)); number || hex {
			return false
		}
	}
	return !r.empty()
}

// guess settles what is still open from what the cells look like, and says so.
// It returns where the data begins: a first row of words alone is a header.
func (t *table) guess(begin, width int, vague []int) int {
	nameless := begin == 0
	if nameless && len(t.rows) > 1 && t.wordsOnly(t.rows[0]) {
		begin = 1
		t.sayHeader(t.rows[0])
	}
	sample := t.rows[begin:min(len(t.rows), begin+200)]
	var said []string
	take := func(r role, i int) {
		t.cols[r] = i
		said = append(said, fmt.Sprintf("%s = column %d", roleNames[r], i+1))
	}
	if !t.cols.color() {
		t.guessColor(sample, width, take)
	}
	open := func(i int) bool { return !t.cols.uses(i) }
	if t.cols[codeRole] < 0 {
		best, most := -1, 0
		for i := range width {
			if n := t.distinct(sample, i); open(i) && n > most {
				best, most = i, n
			}
		}
		switch {
		case best >= 0 && most*10 >= len(sample)*8:
			take(codeRole, best)
		case t.cols[nameRole] >= 0:
			// the name stands for the code
		case best >= 0:
			take(codeRole, best)
		}
	}
	if t.cols[nameRole] < 0 {
		for _, i := range vague {
			if open(i) {
				take(nameRole, i)
				break
			}
		}
	}
	if t.cols[nameRole] < 0 && nameless { // no header: the next column of words
		for i := range width {
			words := 0
			for _, r := range sample {
				if _, number := t.number(r.cell(i)); r.cell(i) != "" && !number {
					words++
				}
			}
			if open(i) && words*10 >= len(sample)*8 {
				take(nameRole, i)
				break
			}
		}
	}
	if len(said) > 0 {
		t.m.note("the columns were guessed: %s; {columns} says it otherwise", strings.Join(said, ", "))
	}
	return begin
}

// guessColor looks for hex values, then three columns of L, a, b or R, G, B.
func (t *table) guessColor(sample []record, width int, take func(role, int)) {
	share := func(i int, is func(string) bool) float64 {
		n, all := 0, 0
		for _, r := range sample {
			if text := r.number(i); text != "" {
				all++
				if is(text) {
					n++
				}
			}
		}
		if all == 0 {
			return 0
		}
		return float64(n) / float64(all)
	}
	number := func(from, to float64, whole bool) func(string) bool {
		return func(s string) bool {
			v, ok := t.number(s)
			return ok && v >= from && v <= to && (!whole || v == math.Trunc(v))
		}
	}
	for i := range width {
		if !t.cols.uses(i) && share(i, func(s string) bool {
			_, ok := readHex(s)
			return ok && (strings.HasPrefix(s, "#") || len(s) == 6)
		}) >= 0.8 {
			take(hexRole, i)
			return
		}
	}
	for i := 0; i+2 < width; i++ {
		if t.cols.uses(i) || t.cols.uses(i+1) || t.cols.uses(i+2) {
			continue
		}
		byte := number(0, 255, true)
		if share(i, byte) >= 0.9 && share(i+1, byte) >= 0.9 && share(i+2, byte) >= 0.9 && i > 0 {
			take(redRole, i)
			take(greenRole, i+1)
			take(blueRole, i+2)
			return
		}
		if share(i, number(0, 100, false)) >= 0.9 && share(i+1, number(-130, 130, false)) >= 0.9 && share(i+2, number(-130, 130, false)) >= 0.9 && i > 0 {
			take(lRole, i)
			take(aRole, i+1)
			take(bRole, i+2)
			return
		}
	}
}

// distinct counts the different texts of a column.
func (t *table) distinct(sample []record, i int) int {
	seen := map[string]bool{}
	for _, r := range sample {
		if c := r.cell(i); c != "" {
			seen[c] = true
		}
	}
	return len(seen)
}
