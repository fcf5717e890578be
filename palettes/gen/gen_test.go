package main

import (
	"bytes"
	"math"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
	"kitwright/lab"
	"kitwright/palettes"
)

func TestNotation(t *testing.T) {
	for want, c := range map[string]chip{
		"2.5R 4/14":   {hue: 1, value: 4, chroma: 14},
		"10R 0.6/2":   {hue: 4, value: 3.0 / 5, chroma: 2},
		"5YR 6/8":     {hue: 6, value: 6, chroma: 8},
		"10RP 9/2":    {hue: 0, value: 9, chroma: 2},
		"7.5RP 5/10":  {hue: 39, value: 5, chroma: 10},
		"N 2.75":      {hue: -1, value: 2.75},
		"10Y 3/1":     {hue: 12, value: 3, chroma: 1},
		"10PB 0.2/10": {hue: 32, value: 0.2, chroma: 10},
	} {
		assert.Equal(t, want, c.notation())
	}
}

// Luminance factors of ASTM D1535 for values 1 to 9, in percent of a perfect
// white (the published table as printed in the npm package's L* column:
// 10.40845, 20.23558, 30.37867, 40.73650, 51.00375, 61.04650, 70.86085,
// 80.52685, 90.18132).
func TestNeutrals(t *testing.T) {
	for i, want := range []float64{10.40845, 20.23558, 30.37867, 40.73650, 51.00375, 61.04650, 70.86085, 80.52685, 90.18132} {
		assert.InDelta(t, want, neutral(float64(i+1)).lab.L, 1e-4)
	}
	assert.Equal(t, lab.Color{L: 100}.Round(), neutral(10).lab.Round())
	assert.Equal(t, lab.Color{}, neutral(0).lab.Round())
}

// The white of illuminant C becomes the white of D65, and a strong red moves
// as the Bradford matrix of B. Lindbloom's "Chromatic Adaptation" page for C
// to D65 (seven decimals, from memory and from the R package munsell) says.
func TestAdapt(t *testing.T) {
	assert.Equal(t, lab.Color{L: 50}, adapt(lab.Color{L: 50}).Round())

	c := lab.Color{L: 40, A: 60, B: 30}
	x, y, z := c.XYZ()
	x, z = x/lab.White[0]*illuminantC[0], z/lab.White[2]*illuminantC[2]
	want := lab.FromXYZ(
		0.9904476*x-0.0071683*y-0.0116156*z,
		-0.0123712*x+1.0155950*y-0.0029282*z,
		-0.0035635*x+0.0067697*y+0.9181569*z)
	assert.Less(t, lab.DeltaE(want, adapt(c)), 0.01)
}

// The slow, plain cost of a choice: no exchange of one chip may lower it, and
// a pair found by trying all is found.
func TestChoose(t *testing.T) {
	var chips []chip
	for i := 0; i < 24; i++ {
		s, c := math.Sincos(float64(i * i))
		chips = append(chips, chip{lab: lab.Color{L: 40 + float64(i), A: 10 * s, B: 10 * c}})
	}
	var to []lab.Color
	for i := 0; i < 60; i++ {
		s, c := math.Sincos(float64(7 * i))
		to = append(to, lab.Color{L: 40 + float64(i)*0.4, A: 9 * s, B: 9 * c})
	}
	total := func(chosen []int) (sum int64) {
		for _, p := range to {
			best := cost(far)
			for _, j := range chosen {
				if d := lab.DeltaE(p, chips[j].lab); d < far {
					best = min(best, cost(d))
				}
			}
			sum += best
		}
		return sum
	}
	got := choose(chips, 2, 5, to)
	require.Len(t, got, 5)
	assert.Equal(t, []int{0, 1}, got[:2])
	for s := 2; s < 5; s++ {
		for j := range chips {
			other := append([]int(nil), got...)
			other[s] = j
			assert.GreaterOrEqual(t, total(other), total(got))
		}
	}
	least := int64(math.MaxInt64)
	for i := range chips {
		for j := range chips[:i] {
			least = min(least, total([]int{i, j}))
		}
	}
	assert.Equal(t, least, total(choose(chips, 0, 2, to)))
}

// The card in the repository is what this program makes out of the npm package
// munsell 1.1.6, unpacked in the folder KITWRIGHT_MUNSELL.
func TestCardIsMadeByThisProgram(t *testing.T) {
	if testing.Short() {
		t.Skip("skipped: it takes two seconds, more under -race")
	}
	dir := checker.Folder(t, "KITWRIGHT_MUNSELL")
	want, err := os.ReadFile("../munsell.csv")
	require.NoError(t, err)
	var got bytes.Buffer
	require.NoError(t, write(&got, dir))
	assert.Equal(t, string(want), got.String())
}

// No choice of renotations can leave smaller holes than all of them together,
// 7.55 on the lattice that the card's own test measures: none lies between the
// palest and white. Near-neutrals do.
func TestFloorOfTheHoles(t *testing.T) {
	tables, err := readTables(checker.Folder(t, "KITWRIGHT_MUNSELL"))
	require.NoError(t, err)
	chips, _ := candidates(tables)
	assert.Len(t, chips, 1742, "41 neutrals and 1,701 renotations")
	card, err := palettes.Named("munsell")
	require.NoError(t, err)
	p := lab.Color{L: 97, A: -6, B: 5} // the middle of the largest hole between all of them
	all, ours := math.Inf(1), math.Inf(1)
	for _, c := range chips {
		all = math.Min(all, lab.DeltaE(c.lab, p))
	}
	for _, d := range card.Drills {
		ours = math.Min(ours, lab.DeltaE(d.Lab, p))
	}
	assert.InDelta(t, 7.547, all, 0.001)
	assert.InDelta(t, 5.249, ours, 0.001)
}

func TestReadTablesRefusesOtherFolders(t *testing.T) {
	_, err := readTables(t.TempDir())
	assert.ErrorIs(t, err, os.ErrNotExist)
}
