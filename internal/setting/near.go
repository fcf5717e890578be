package setting

import (
	"slices"
	"strings"
)

// Near returns the candidate that a word was probably meant for, or "": one
// that differs by at most a third of its letters, and by two at most, where
// swapped neighbors are one difference. The first of several equally near ones
// is taken.
func Near(word string, candidates []string) string {
	word = strings.ToLower(word)
	best, least := "", 3
	for _, c := range candidates {
		d := distance(word, strings.ToLower(c), least)
		if d < least && 3*d <= max(len(c), 3) {
			best, least = c, d
		}
	}
	return best
}

// distance counts the letters to put in, leave out, change or swap with a
// neighbor until a is b (optimal string alignment), up to limit.
func distance(a, b string, limit int) int {
	x, y := []rune(a), []rune(b)
	if d := len(x) - len(y); d >= limit || -d >= limit {
		return limit
	}
	before, last := []int(nil), make([]int, len(y)+1)
	for j := range last {
		last[j] = j
	}
	for i := 1; i <= len(x); i++ {
		row := make([]int, len(y)+1)
		row[0] = i
		for j := 1; j <= len(y); j++ {
			change := last[j-1]
			if x[i-1] != y[j-1] {
				change++
			}
			row[j] = min(last[j]+1, row[j-1]+1, change)
			if i > 1 && j > 1 && x[i-1] == y[j-2] && x[i-2] == y[j-1] {
				row[j] = min(row[j], before[j-2]+1)
			}
		}
		if slices.Min(row) >= limit {
			return limit
		}
		before, last = last, row
	}
	return last[len(y)]
}
