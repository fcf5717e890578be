package letters

import (
	"slices"
	"strings"

	"golang.org/x/text/unicode/bidi"
)

// seen returns a text of one line in the order in which it is seen from left to
// right: text of scripts that run from right to left is turned around. These are
// the rules of the Unicode Bidirectional Algorithm (Unicode Standard Annex 9) for
// text without marks of direction, which titles may not have: W2 to W7, N0 to
// N2, I1, I2, L2 and L4.
func seen(text []rune) []rune {
	class := make([]bidi.Class, len(text))
	rightToLeft := false
	for i, r := range text {
		p, _ := bidi.LookupRune(r)
		class[i] = p.Class()
		rightToLeft = rightToLeft || class[i] == bidi.R || class[i] == bidi.AL
	}
	if !rightToLeft {
		return text
	}
	base := 0
	if i := slices.IndexFunc(class, func(c bidi.Class) bool { return c == bidi.L || c == bidi.R || c == bidi.AL }); class[i] != bidi.L {
		base = 1
	}
	level := levels(text, class, base)
	out := slices.Clone(text)
	for i, l := range level {
		if l%2 == 1 {
			out[i] = mirrored(out[i])
		}
	}
	for high := slices.Max(level); high > 0; high-- { // L2
		for i := 0; i < len(out); i++ {
			from := i
			for i < len(out) && level[i] >= high {
				i++
			}
			slices.Reverse(out[from:i])
			slices.Reverse(level[from:i])
		}
	}
	return out
}

// levels resolves classes to levels of embedding.
func levels(text []rune, class []bidi.Class, base int) []int {
	side := [2]bidi.Class{bidi.L, bidi.R}
	c := slices.Clone(class)
	strong := side[base]
	for i, k := range c { // W2, W3
		switch k {
		case bidi.L, bidi.R:
			strong = k
		case bidi.AL:
			strong, c[i] = bidi.AL, bidi.R
		case bidi.EN:
			if strong == bidi.AL {
				c[i] = bidi.AN
			}
		}
	}
	number := func(k bidi.Class) bool { return k == bidi.EN || k == bidi.AN }
	for i := 1; i+1 < len(c); i++ { // W4
		if a := c[i-1]; a == c[i+1] && (c[i] == bidi.CS && number(a) || c[i] == bidi.ES && a == bidi.EN) {
			c[i] = a
		}
	}
	for i := 0; i < len(c); i++ { // W5: signs such as % beside a number
		if c[i] != bidi.ET {
			continue
		}
		from := i
		for i < len(c) && c[i] == bidi.ET {
			i++
		}
		if from > 0 && c[from-1] == bidi.EN || i < len(c) && c[i] == bidi.EN {
			for k := from; k < i; k++ {
				c[k] = bidi.EN
			}
		}
	}
	strong = side[base]
	for i, k := range c { // W7
		switch {
		case k == bidi.L || k == bidi.R:
			strong = k
		case k == bidi.EN && strong == bidi.L:
			c[i] = bidi.L
		}
	}
	pairBrackets(text, c, side[base], number)
	out := make([]int, len(c))
	around := func(i, step int) bidi.Class { // N1: numbers count as right to left
		for ; i >= 0 && i < len(c); i += step {
			switch {
			case c[i] == bidi.L || c[i] == bidi.R:
				return c[i]
			case number(c[i]):
				return bidi.R
			}
		}
		return side[base]
	}
	for i, k := range c {
		if k != bidi.L && k != bidi.R && !number(k) {
			if before, after := around(i, -1), around(i, 1); before == after {
				k = before
			} else {
				k = side[base]
			}
		}
		switch { // I1, I2
		case number(k):
			out[i] = 2
		case k == bidi.R:
			out[i] = 1
		case base == 1:
			out[i] = 2
		}
	}
	return out
}

// pairBrackets gives brackets the side of what they hold (N0).
func pairBrackets(text []rune, c []bidi.Class, base bidi.Class, number func(bidi.Class) bool) {
	const open, shut = "([{", ")]}"
	var pairs [][2]int
	var stack []int
	for i, r := range text {
		if strings.ContainsRune(open, r) && c[i] == bidi.ON {
			stack = append(stack, i)
		}
		k := strings.IndexRune(shut, r)
		for at := len(stack) - 1; k >= 0 && c[i] == bidi.ON && at >= 0; at-- {
			if text[stack[at]] == rune(open[k]) {
				pairs = append(pairs, [2]int{stack[at], i})
				stack = stack[:at]
				break
			}
		}
	}
	slices.SortFunc(pairs, func(a, b [2]int) int { return a[0] - b[0] })
	strong := func(k bidi.Class) bidi.Class {
		if number(k) {
			return bidi.R
		}
		return k
	}
	for _, p := range pairs {
		same, other := false, false
		for _, k := range c[p[0]+1 : p[1]] {
			k = strong(k)
			same = same || k == base
			other = other || k != base && (k == bidi.L || k == bidi.R)
		}
		side := base
		if !same && !other {
			continue
		} else if !same {
			for i := p[0] - 1; i >= 0; i-- {
				if k := strong(c[i]); k == bidi.L || k == bidi.R {
					side = k
					break
				}
			}
		}
		c[p[0]], c[p[1]] = side, side
	}
}

// mirrored returns the other of a pair of brackets (L4).
func mirrored(r rune) rune {
	const pairs = "()[]{}<>«»‹›≤≥"
	all := []rune(pairs)
	if i := slices.Index(all, r); i >= 0 {
		return all[i^1]
	}
	return r
}
