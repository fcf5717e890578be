package stash

import (
	"cmp"
	"strings"

	"kitwright/internal/measure"
	"kitwright/palettes"
)

// Key says which drills are alike. Drills of different keys are never mixed.
type Key struct {
	Card   string // by name
	Code   string
	Finish palettes.Finish
	Shape  string         // square or round
	Size   measure.Length // across, as sold
}

// Address is the code with its finish, as [palettes.Drill.Address] writes it.
func (k Key) Address() string {
	return palettes.Drill{Code: k.Code, Finish: k.Finish}.Address()
}

// Lot is the drills of one key that are owned.
type Lot struct {
	Key
	Drills int    // below zero only in a ledger that was changed by hand
	Place  string // where they lie, in her words
	Note   string
}

// Compare orders lots: by card, shape and size, then by code, numbers in
// it by their value, then by finish.
func Compare(a, b Key) int {
	return cmp.Or(cmp.Compare(strings.ToLower(a.Card), strings.ToLower(b.Card)), cmp.Compare(a.Card, b.Card),
		cmp.Compare(b.Shape, a.Shape), cmp.Compare(a.Size, b.Size),
		compareCodes(a.Code, b.Code), cmp.Compare(a.Finish, b.Finish))
}

// compareCodes orders codes as a shelf does: SR-9 before SR-10.
func compareCodes(a, b string) int {
	for x, y := a, b; x != "" && y != ""; {
		n, m := digits(x), digits(y)
		if n > 0 && m > 0 {
			p, q := strings.TrimLeft(x[:n], "0"), strings.TrimLeft(y[:m], "0")
			if c := cmp.Or(cmp.Compare(len(p), len(q)), cmp.Compare(p, q)); c != 0 {
				return c
			}
			x, y = x[n:], y[m:]
			continue
		}
		if x[0] != y[0] {
			return cmp.Compare(x[0], y[0])
		}
		x, y = x[1:], y[1:]
	}
	return cmp.Or(cmp.Compare(len(a), len(b)), cmp.Compare(a, b))
}

// digits counts the digits that a text begins with.
func digits(s string) (n int) {
	for n < len(s) && s[n] >= '0' && s[n] <= '9' {
		n++
	}
	return n
}
