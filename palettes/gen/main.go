// Gen chooses the card "munsell" out of the published Munsell renotations and
// writes it as CSV.
//
//	npm pack munsell@1.1.6 && tar xf munsell-1.1.6.tgz
//	go run ./palettes/gen package > palettes/munsell.csv
//
// The rule: every neutral at quarter steps of value from N 0 to N 10; every
// renotation of the browns (hue 7.5R to 2.5Y, value 2 to 7, chroma up to 6);
// and of all others that sRGB can show as many as make 450, chosen so that the
// largest CIEDE2000 hole between them becomes small (see choose). Then half the
// neutrals, those between half steps, make way for near-neutrals of chroma 1,
// interpolated (see nearNeutrals). Begin with card.
package main

import (
	"fmt"
	"io"
	"math"
	"os"
	"slices"

	"kitwright/lab"
	"kitwright/palettes"
)

const size = 450 // colors of the card before near-neutrals come in

const header = `# Munsell renotations, 430 of them, and 45 colors between them, 475 in all, Lab relative to D65.
# Source: S. M. Newhall, D. Nickerson, D. B. Judd, Final report of the OSA subcommittee on the spacing of the Munsell colors, JOSA 33 (1943) 385; below value 1: D. B. Judd, G. Wyszecki, JOSA 46 (1956) 281. Read from the table in the npm package munsell 1.1.6 (H. Sansaqua, Mozilla Public License 2.0, from the data files of the Munsell Color Science Laboratory, RIT).
# Made by palettes/gen: Y times .975 (magnesium oxide to perfect white), illuminant C to D65 by Bradford, rounded to 3 decimals. Chroma 1 is in no table: it lies halfway in a and b between the neutral and chroma 2 of its hue and value.
# Chosen by rule: neutrals at every half of value, near-neutrals of chroma 1 at whole values of 10R, 10Y, 10G, 10B and 10P, all browns (7.5R to 2.5Y, value 2 to 7, chroma to 6), and the rest so that the largest CIEDE2000 hole in sRGB is small.
# Names: those of the nearest ISCC-NBS centroid color by CIEDE2000 (of the five neutral ones for a neutral), so several colors share one; the code tells them apart.
# License: the notations and measured values are published facts; no text of the package is copied, so we take its license to reach no further than the package. The selection and the computed values are part of this program.
`

func main() {
	if len(os.Args) != 2 {
		fmt.Fprintln(os.Stderr, "usage: gen FOLDER, the unpacked npm package munsell 1.1.6")
		os.Exit(2)
	}
	if err := write(os.Stdout, os.Args[1]); err != nil {
		fmt.Fprintln(os.Stderr, "gen:", err)
		os.Exit(1)
	}
}

// write writes the chosen card of the tables in a folder.
func write(w io.Writer, dir string) error {
	t, err := readTables(dir)
	if err != nil {
		return err
	}
	c, err := card(t)
	if err != nil {
		return err
	}
	if _, err := io.WriteString(w, header); err != nil {
		return err
	}
	return c.WriteCSV(w)
}

// card chooses the colors, puts them in order (neutrals, then around the hue
// circle from 2.5R, each from dark to light) and names them.
func card(t *tables) (*palettes.Card, error) {
	names, err := palettes.Named("nbs")
	if err != nil {
		return nil, err
	}
	chips, fixed := candidates(t)
	var chosen []chip
	for _, j := range choose(chips, fixed, size, targets(4)) {
		if c := chips[j]; c.hue >= 0 || c.value*2 == math.Trunc(c.value*2) {
			chosen = append(chosen, c)
		}
	}
	chosen = append(chosen, nearNeutrals(t.chips())...)
	slices.SortFunc(chosen, func(a, b chip) int {
		around := func(hue int) int { // 10RP, the first of the tables, last
			if hue == 0 {
				return 40
			}
			return hue
		}
		return slices.Compare(
			[]int{around(a.hue), int(a.value * 100), a.chroma},
			[]int{around(b.hue), int(b.value * 100), b.chroma})
	})
	c := new(palettes.Card)
	for _, chip := range chosen {
		c.Drills = append(c.Drills, palettes.NewDrill(chip.notation(), nearest(names, chip), chip.lab))
	}
	return c, nil
}

// candidates returns the chips to choose from, those that must be in first.
func candidates(t *tables) (all []chip, fixed int) {
	for v := 0.0; v <= 10; v += 0.25 {
		all = append(all, neutral(v))
	}
	var others []chip
	for _, c := range t.chips() {
		if _, inside := c.lab.SRGB(); !inside {
			continue
		}
		if c.brown() {
			all = append(all, c)
		} else {
			others = append(others, c)
		}
	}
	return append(all, others...), len(all)
}

// nearNeutrals returns the colors of chroma 1 halfway between the neutral and
// chroma 2, for five hues around the circle at whole values from 1 to 9. The
// renotations hold none, but fur, snow, stone and haze lie there: 4 to 7 from
// both neighbors, because CIEDE2000 is steepest beside the neutrals. Halfway in
// a*, b* is what linear interpolation in chroma at constant hue and value comes
// to, as it is used with the renotations (ASTM D1535). Of four ways to turn the
// five hues these left sixteen photos least off the whole card, 3.6 on average;
// 3.8 without near-neutrals, and with neutrals at every quarter of value.
func nearNeutrals(chips []chip) (all []chip) {
	for _, c := range chips {
		if c.chroma == 2 && slices.Contains(nearHues, c.hue) && c.value >= 1 {
			c.chroma, c.lab.A, c.lab.B = 1, c.lab.A/2, c.lab.B/2
			all = append(all, c)
		}
	}
	return all
}

var nearHues = []int{4, 12, 20, 28, 36} // 10R, 10Y, 10G, 10B, 10P

// brown tells the colors of wood, earth, skin and fur, which most pets are
// made of (our choice of range, no source).
func (c chip) brown() bool {
	return c.hue >= 3 && c.hue <= 9 && c.value >= 2 && c.value <= 7 && c.chroma <= 6
}

// nearest returns the name of the centroid color nearest to a chip; a neutral
// gets a neutral's name.
func nearest(names *palettes.Card, c chip) string {
	best, name := math.Inf(1), ""
	for _, d := range names.Drills {
		if c.hue < 0 && math.Hypot(d.Lab.A, d.Lab.B) > 1 {
			continue
		}
		if e := lab.DeltaE(d.Lab, c.lab); e < best {
			best, name = e, d.Name
		}
	}
	return name
}
