package main

import (
	"fmt"
	"strconv"
	"strings"
	"unicode"

	"kitwright/internal/input"
	"kitwright/internal/say"
	"kitwright/internal/setting"
	"kitwright/internal/wording"
	"kitwright/kit"
	"kitwright/palettes"
	"kitwright/palettes/intake"
)

// mostCodes is how many rows a table of her codes may have.
const mostCodes = 20_000

const codesHint = "give a table with the columns code and your_code, such as kit.csv or kit.xlsx with your codes filled in; {codes} none forgets them"

// readYourCodes reads a table of what she calls the colors of a kit, and
// returns the codes by address.
func readYourCodes(path string, k *kit.Kit) (map[string]string, error) {
	if path == "none" {
		return nil, nil
	}
	f, err := input.Open(path, "table of codes")
	if err != nil {
		return nil, err
	}
	defer f.Close()
	lines, err := intake.Rows("table of codes", path, f, mostCodes)
	if err != nil {
		return nil, err
	}
	at, begin := findYourColumns(lines)
	if at.yours < 0 {
		return nil, say.Usage(codesHint, "%s has no column with your codes", path)
	}
	legend := &palettes.Card{Name: "kit"}
	for _, e := range k.Chart.Legend {
		legend.Drills = append(legend.Drills, e.Drill)
	}
	codes, line, first := map[string]string{}, map[string]int{}, ""
	for _, l := range lines[begin:] {
		if l.Bad != "" {
			return nil, say.Failed("mend the line", "%s, line %d: %s", path, l.Number, l.Bad)
		}
		cell := func(i int) string {
			if i < 0 || i >= len(l.Cells) {
				return ""
			}
			return wording.Uncell(strings.TrimSpace(l.Cells[i]))
		}
		address, yours := cell(at.code), cell(at.yours)
		if address == "" || yours == "" {
			continue
		}
		if finish := cell(at.finish); finish != "" {
			address = palettes.Drill{Code: address, Finish: palettes.FinishOf(finish)}.Address()
		}
		i, ok := legend.Index(address)
		if !ok { // of another kit, or of a whole card
			if first == "" {
				first = address
			}
			continue
		}
		if err := wording.Code.Check(yours); err != nil {
			return nil, say.Failed("shorten it, or take it out", "%s, line %d: %w", path, l.Number, err)
		}
		address = legend.Drills[i].Address()
		if was, twice := codes[address]; twice && was != yours {
			return nil, say.Usage("leave one of them", "%s calls %s %q in line %d and %q in line %d", path, address, was, line[address], yours, l.Number)
		}
		codes[address], line[address] = yours, l.Number
	}
	if len(codes) > 0 {
		return codes, nil
	}
	if first == "" {
		return nil, say.Usage(codesHint, "%s has no code filled in", path)
	}
	var all []string
	for _, d := range legend.Drills {
		all = append(all, d.Address())
	}
	if near := setting.Near(first, all); near != "" {
		return nil, say.Usage(say.Hint("the kit has %s", near), "none of the codes of %s, such as %s, is a color of this kit", path, first)
	}
	return nil, say.Usage("kit.csv lists the colors of the kit", "none of the codes of %s, such as %s, is a color of this kit", path, first)
}

// yourColumns are the columns of a table of codes; -1 where there is none.
type yourColumns struct{ code, finish, yours int }

// findYourColumns finds the columns by the heads of the first row, and where the
// rows begin. A table of two columns may do without.
func findYourColumns(lines []intake.Line) (at yourColumns, begin int) {
	at = yourColumns{-1, -1, -1}
	if len(lines) == 0 {
		return at, 0
	}
	for i, head := range lines[0].Cells {
		word := strings.Map(func(c rune) rune {
			if unicode.IsLetter(c) {
				return unicode.ToLower(c)
			}
			return -1
		}, head)
		switch word {
		case "code":
			at.code = i
		case "finish":
			at.finish = i
		case "yourcode", "yourcodes", "mycode", "mycodes":
			at.yours = i
		case "match": // what card match writes
			if at.yours < 0 {
				at.yours = i
			}
		}
	}
	if at.code >= 0 {
		return at, 1
	}
	if at.yours < 0 && len(lines[0].Cells) == 2 {
		return yourColumns{0, -1, 1}, 0
	}
	return yourColumns{-1, -1, -1}, 0
}

// tellYourCodes says how many colors are called by her codes, and which are
// not yet.
func tellYourCodes(k *kit.Kit) string {
	var none []string
	for _, e := range k.Chart.Legend {
		if k.YourCode(e.Drill) == "" {
			none = append(none, strconv.Itoa(e.Number))
		}
	}
	twice := ""
	by := map[string]int{}
	for _, e := range k.Chart.Legend {
		code := k.YourCode(e.Drill)
		if first, there := by[code]; there && code != "" && twice == "" {
			twice = fmt.Sprintf(" No. %d and no. %d have the same code of yours, %s: look whether that is meant.", first, e.Number, code)
		} else if !there {
			by[code] = e.Number
		}
	}
	n := len(k.Chart.Legend)
	switch {
	case len(none) == n:
		return "No color is called by a code of yours."
	case len(none) == 0:
		return "All " + say.Count(n, "color") + " are called by your codes." + twice
	}
	return say.Count(n-len(none), "color") + " of " + say.Number(n) + " called by your codes; still without one: no. " + strings.Join(none, ", ") + "." + twice
}
