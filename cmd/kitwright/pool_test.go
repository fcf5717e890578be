package main

import (
	"bytes"
	"encoding/csv"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
)

// A class buys together: the list is the sum of what the seats pour, and no
// dearer than buying alone.
func TestPool(t *testing.T) {
	checker.Slow(t)
	withStash(t)
	a := smallKit(t, "a-kit")
	b := smallKit(t, "b-kit", "--grid", "30x40", "--turn", "asked", "--drill", "round")
	c := smallKit(t, "c-kit", "--grid", "50x30", "--copies", "3")
	ready := func(n int) int { return n + min(max((n+9)/10, 20), 300) }

	out := does(t, "pool", "a-kit", "b-kit", "c-kit", "a-kit", "--bags", "50:0.50,200:0.90", "-o", "class.csv")
	rows, err := csv.NewReader(bytes.NewReader(read(t, "class.csv"))).ReadAll()
	require.NoError(t, err)
	col := map[string]int{}
	for i, h := range rows[0] {
		col[h] = i
	}
	require.Len(t, rows[0], 11+2+1+4)
	assert.Contains(t, rows[0][16], "seat 3: cat x 3 (c-kit, kit ")
	colors := map[string]bool{}
	total := 0.0
	for _, r := range rows[1:] {
		n := func(name string) int {
			v, err := strconv.Atoi(r[col[name]])
			require.NoError(t, err)
			return v
		}
		var seats [4]int
		for i := range seats {
			seats[i], err = strconv.Atoi(r[14+i])
			require.NoError(t, err)
		}
		code := r[0]
		if r[1] != "" {
			code += "/" + r[1]
		}
		want := [4]int{}
		if r[5] == "square" {
			if a[code] > 0 {
				want[0], want[3] = ready(a[code]), ready(a[code])
			}
			if c[code] > 0 {
				want[2] = 3 * ready(c[code])
			}
		} else if b[code] > 0 {
			want[1] = ready(b[code])
		}
		assert.Equal(t, want, seats, r)
		sum := seats[0] + seats[1] + seats[2] + seats[3]
		assert.Equal(t, sum, n("buy"))
		assert.Equal(t, sum, n("drills")+n("extra"))
		assert.GreaterOrEqual(t, 50*n("bags of 50")+200*n("bags of 200"), sum)
		price, err := strconv.ParseFloat(r[col["price"]], 64)
		require.NoError(t, err)
		best := 1e9
		for x := range 60 { // every mix
			for y := range 20 {
				if 50*x+200*y >= sum {
					best = min(best, 0.5*float64(x)+0.9*float64(y))
				}
			}
		}
		assert.InDelta(t, best, price, 1e-9)
		total += price
		assert.False(t, colors[code+r[5]], "a line each")
		colors[code+r[5]] = true
	}
	told := regexp.MustCompile(`to buy for ([\d.]+), ([\d.]+) if`).FindStringSubmatch(out)
	require.NotNil(t, told, out)
	together, _ := strconv.ParseFloat(told[1], 64)
	alone, _ := strconv.ParseFloat(told[2], 64)
	assert.InDelta(t, total, together, 1e-9)
	assert.Less(t, together, alone)
	shares := 0.0
	for _, s := range regexp.MustCompile(`share is ([\d.]+)`).FindAllStringSubmatch(out, -1) {
		v, _ := strconv.ParseFloat(s[1], 64)
		shares += v
	}
	assert.InDelta(t, total, shares, 1e-9)

	some := sortedNames(a)[0]
	does(t, "stash", "add", "--card", "seaside", some+"="+strconv.Itoa(ready(a[some])-7))
	for _, line := range strings.Split(does(t, "pool", "--own", "--csv", "a-kit"), "\n") {
		if strings.HasPrefix(line, "seaside,"+some+",") {
			assert.True(t, strings.HasSuffix(line, ",7"), line)
		}
	}
	assert.Contains(t, fails(t, 2, "pool"), "no kit was named")
	assert.Contains(t, fails(t, 1, "pool", "d-kit"), "a-kit is there")
	assert.Contains(t, fails(t, 1, "pool", "a-kit", "-o", "class.csv"), "exists already")
	does(t, "pool", "a-kit", "-o", "class.csv", "--force")
	fails(t, 2, "pool", "a-kit", "--bags", "none")
}
