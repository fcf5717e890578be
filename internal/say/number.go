package say

import "strconv"

// Number returns a number as people write it: "32,000".
func Number(n int) string {
	s := strconv.Itoa(n)
	for i := len(s) - 3; i > 0 && s[i-1] != '-'; i -= 3 {
		s = s[:i] + "," + s[i:]
	}
	return s
}

// Count returns a number with its noun: "1 drill", "32,000 drills".
func Count(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return Number(n) + " " + noun + "s"
}
