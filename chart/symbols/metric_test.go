package symbols

import (
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// measure computes the file distances.csv anew, for the first n symbols.
func measure(n int) string {
	views := make([]*View, n)
	for i, s := range table[:n] {
		views[i] = s.View()
	}
	var b strings.Builder
	b.WriteString("# Distances between the symbols of table.txt in ten-thousandths, upright/turned by quarters.\n")
	b.WriteString("# Row: code point, then one cell for each earlier row. Made by: UPDATE=1 go test ./chart/symbols\n")
	for i, s := range table[:n] {
		fmt.Fprintf(&b, "%04X", s.Rune)
		for _, v := range views[:i] {
			fmt.Fprintf(&b, ",%.0f/%.0f", views[i].Distance(v)*10000, views[i].Turned(v)*10000)
		}
		b.WriteByte('\n')
	}
	return b.String()
}

func TestDistancesAreMeasured(t *testing.T) {
	n := Max
	if testing.Short() {
		n = 30
	}
	got := measure(n)
	if os.Getenv("UPDATE") != "" {
		require.Equal(t, Max, n, "UPDATE wants all of them: not with -short")
		require.NoError(t, os.WriteFile("distances.csv", []byte(got), 0o666))
		return
	}
	rows := strings.Split(strings.TrimSpace(got), "\n")[2:]
	require.Len(t, rows, n)
	for i, row := range rows {
		for j, cell := range strings.Split(row, ",")[1:] {
			var up, turn int
			_, err := fmt.Sscanf(cell, "%d/%d", &up, &turn)
			require.NoError(t, err)
			// one step of rounding is allowed: exp differs in its last bit between processors
			assert.InDelta(t, up, int(upright[i][j]), 1, "%s, %s", table[i].Name, table[j].Name)
			assert.InDelta(t, turn, int(turned[i][j]), 1, "%s, %s turned", table[i].Name, table[j].Name)
		}
	}
}

func least(d *pairs, n int) (float64, string) {
	low, who := math.Inf(1), ""
	for i := range n {
		for j := range i {
			if v := float64(d[i][j]) / 10000; v < low {
				low, who = v, table[i].Name+" and "+table[j].Name
			}
		}
	}
	return low, who
}

// The least distances reached, a hair below: a change of the table that brings
// two symbols closer fails here.
func TestFirstSymbolsStayApart(t *testing.T) {
	for _, c := range []struct {
		n        int
		up, turn float64
	}{
		{10, .30, .184}, {20, .224, .125}, {30, .188, .113}, {40, .170, .097},
		{Sure, .15, .088}, {80, .130, .079}, {Named, .1244, .079}, {Max, .1244, .079},
	} {
		up, a := least(upright, c.n)
		turn, b := least(turned, c.n)
		t.Logf("%3d symbols: upright %.4f (%s), turned %.4f (%s)", c.n, up, a, turn, b)
		assert.GreaterOrEqual(t, up, c.up, "%d symbols, upright: %s", c.n, a)
		assert.GreaterOrEqual(t, turn, c.turn, "%d symbols, turned: %s", c.n, b)
	}
}
