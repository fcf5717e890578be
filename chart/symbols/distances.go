package symbols

import (
	_ "embed"
	"fmt"
	"strconv"
	"strings"
)

// distances.csv holds the distances of all pairs in ten-thousandths: line i
// has, for each earlier symbol j, upright and turned joined by a slash.
//
//go:embed distances.csv
var distancesText string

var upright, turned = parseDistances(distancesText)

// pairs is a square of distances in ten-thousandths.
type pairs [Max][Max]uint16

// Distance returns how far apart symbols i and j of the table are when both
// are held upright, and when either may be turned by quarters: 0 for the
// same, about 1 for unrelated ones. See View for what is measured.
func Distance(i, j int) (up, turn float64) {
	return float64(upright[i][j]) / 10000, float64(turned[i][j]) / 10000
}

func parseDistances(text string) (up, turn *pairs) {
	up, turn = new(pairs), new(pairs)
	i := 0
	for _, line := range strings.Split(text, "\n") {
		if line == "" || line[0] == '#' {
			continue
		}
		f := strings.Split(line, ",")
		if len(f) != i+1 || i >= Max {
			panic(fmt.Sprintf("symbols: distances.csv has a wrong row %d", i))
		}
		for j, cell := range f[1:] {
			a, b, _ := strings.Cut(cell, "/")
			for _, v := range []struct {
				text string
				to   *pairs
			}{{a, up}, {b, turn}} {
				d, err := strconv.ParseUint(v.text, 10, 16)
				if err != nil {
					panic(fmt.Sprintf("symbols: distances.csv: %v", err))
				}
				v.to[i][j], v.to[j][i] = uint16(d), uint16(d)
			}
		}
		i++
	}
	if i != Max {
		panic(fmt.Sprintf("symbols: distances.csv has %d rows, want %d", i, Max))
	}
	return up, turn
}
