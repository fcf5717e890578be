package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// into writes files into a new folder and makes it the present one.
func into(t *testing.T, files map[string]string) (dir string) {
	t.Helper()
	dir = t.TempDir()
	t.Chdir(dir)
	for name, text := range files {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644))
	}
	return dir
}

// From a supplier's table to a kept card, and to a chart in its codes.
func TestCardRoad(t *testing.T) {
	into(t, map[string]string{"supplier.csv": "Nr.;Name;Finish;Hex\n007;foam;;#d8d8d8\n007;foam;AB;#e0b890\n12;rust;;#c86432\n13;night;;#101020\n14;none;;\n15;sea;;#2e8b57\n"})
	t.Setenv("XDG_DATA_HOME", "")
	code, out, errs := kitwright(t, "card", "import", "supplier.csv", "-o", "mine.csv")
	assert.Equal(t, 0, code, errs)
	assert.Equal(t, "mine.csv  5 colors\n", out)
	assert.Contains(t, errs, "1 row gave no color\n  line 6 (14): no color\n")
	code, _, errs = kitwright(t, "card", "import", "supplier.csv", "-o", "mine.csv")
	assert.Equal(t, 1, code)
	assert.Contains(t, errs, "mine.csv exists already")

	code, out, _ = kitwright(t, "card", "add", "seaside", "mine.csv", "--home", "h")
	assert.Equal(t, 0, code)
	assert.Contains(t, out, "seaside  5 colors, kept as "+filepath.Join("h", "cards", "seaside.csv"))
	_, out, _ = kitwright(t, "card", "list", "--home", "h")
	assert.Contains(t, out, "seaside")
	assert.Contains(t, out, "munsell")

	code, _, errs = kitwright(t, "chart", "--demo", "--quiet", "--grid", "60x45", "--colors", "4", "--keep", "007/ab,007", "--card", "seaside", "--home", "h", "-o", "kit")
	require.Equal(t, 0, code, errs)
	list, err := os.ReadFile("kit/kit.csv")
	require.NoError(t, err)
	assert.Contains(t, string(list), "007,foam,AB,")
	assert.Contains(t, string(list), "007,foam,,")

	code, out, _ = kitwright(t, "card", "remove", "seaside", "--home", "h")
	assert.Equal(t, 0, code)
	assert.Contains(t, out, filepath.Join("h", "trash", "seaside-1.csv"))
	code, _, errs = kitwright(t, "card", "show", "seaside", "--home", "h")
	assert.Equal(t, 2, code)
	assert.Contains(t, errs, "there is no card called")
}

func TestCardTables(t *testing.T) {
	into(t, map[string]string{
		"a.csv": "code,name,hex\nA1,sand,#d8c3a5\nA2,sand twin,#d9c4a5\nA3,=sea,#2e8b57\n", "b.csv": "code,hex\nB1,#d8c3a6\nB2,#2e8b58\n",
		"owned.txt": "code\nA3\nA1\n",
	})
	code, out, errs := kitwright(t, "card", "check", "a.csv", "--json")
	require.Equal(t, 0, code, errs)
	var found []map[string]any
	require.NoError(t, json.Unmarshal([]byte(out), &found))
	assert.Equal(t, "practically the same", found[0]["finding"])
	assert.Equal(t, "badly served", found[1]["finding"])
	_, out, _ = kitwright(t, "card", "check", "a.csv")
	assert.Contains(t, out, "3 colors: 1 pair practically the same, 0 more look-alikes")

	require.NoError(t, os.WriteFile("bad.csv", []byte("code,hex,L,a,b\nA1,#fff,,,\nA2,,,,\nA3,#ff0000,50,0,0\n"), 0o644))
	_, out, _ = kitwright(t, "card", "check", "bad.csv", "--csv")
	assert.Contains(t, out, "no color,A2,,,line 3: no color\n")
	assert.Contains(t, out, "doubtful,A3,,,\"line 4: hex #ff0000 and L, a, b are not one color")

	code, out, errs = kitwright(t, "card", "match", "a.csv", "b.csv", "--csv")
	require.Equal(t, 0, code, errs)
	lines := strings.Split(out, "\n")
	assert.Equal(t, "code,hex,match,match_hex,difference,says", lines[0])
	assert.True(t, strings.HasPrefix(lines[2], "A2,#d9c4a5,B1,#d8c3a6,"), lines[2])
	_, out, _ = kitwright(t, "card", "match", "a.csv", "b.csv", "--one-to-one", "--csv")
	assert.Contains(t, out, "A2,#d9c4a5,,,,none is left")

	code, out, errs = kitwright(t, "card", "merge", "a.csv", "b.csv", "-o", "all.csv")
	require.Equal(t, 0, code, errs)
	assert.Equal(t, "all.csv  5 colors\n", out)
	code, out, errs = kitwright(t, "card", "subset", "all.csv", "--codes", "B2", "--file", "owned.txt")
	require.Equal(t, 0, code, errs)
	assert.Equal(t, []string{"code", "A1", "A3", "B2"}, firsts(out))
	assert.Contains(t, out, "A3,'=sea,")
	code, _, errs = kitwright(t, "card", "subset", "all.csv", "--codes", "B2,Q9")
	assert.Equal(t, 2, code)
	assert.Contains(t, errs, `has no Q9`)
}

// firsts returns the first cell of each line.
func firsts(text string) (out []string) {
	for line := range strings.Lines(text) {
		first, _, _ := strings.Cut(line, ",")
		out = append(out, first)
	}
	return out
}

func TestCardShowsSwatchesOnlyWhereItCan(t *testing.T) {
	env := func(pairs ...string) func(string) string {
		return func(k string) string {
			for i := 0; i < len(pairs); i += 2 {
				if pairs[i] == k {
					return pairs[i+1]
				}
			}
			return ""
		}
	}
	assert.False(t, showsColors(nil, env("COLORTERM", "truecolor")))
	null, err := os.Open(os.DevNull) // a character device, as a terminal is
	require.NoError(t, err)
	defer null.Close()
	assert.True(t, showsColors(null, env("COLORTERM", "truecolor")))
	assert.False(t, showsColors(null, env()))
	assert.False(t, showsColors(null, env("COLORTERM", "truecolor", "NO_COLOR", "1")))
}

func TestHelpOfTwoWords(t *testing.T) {
	code, out, _ := kitwright(t, "help", "card")
	assert.Equal(t, 0, code)
	assert.Contains(t, out, "card import FILE...")
	code, out, _ = kitwright(t, "help", "card", "import")
	assert.Equal(t, 0, code)
	assert.Contains(t, out, "--columns WHAT=COLUMN,...")
	code, _, errs := kitwright(t, "help", "card", "burn")
	assert.Equal(t, 2, code)
	assert.Contains(t, errs, `there is no command "card burn"`)
}

// A row without a color has no difference: nothing in a table, null in JSON.
func TestCheckTellsNoDifferenceWhereThereIsNone(t *testing.T) {
	into(t, nil)
	require.NoError(t, os.WriteFile("few.csv", []byte("code,hex\nSR-001,#c86432\nSR-002,rust\n"), 0o644))
	code, out, errs := kitwright(t, "card", "check", "few.csv", "--json")
	require.Equal(t, 0, code, errs)
	var rows []struct {
		Finding    string   `json:"finding"`
		Code       string   `json:"code"`
		Difference *float64 `json:"difference"`
	}
	require.NoError(t, json.Unmarshal([]byte(out), &rows))
	require.NotEmpty(t, rows)
	assert.Equal(t, "no color", rows[0].Finding)
	assert.Nil(t, rows[0].Difference)
	assert.NotNil(t, rows[len(rows)-1].Difference)
	_, out, _ = kitwright(t, "card", "check", "few.csv")
	assert.Contains(t, out, "\n1 color: 0 pairs practically the same")
	assert.Contains(t, out, " 1 row of the file gave no color, 0 read with a doubt.")
}
