package kit

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/chart"
	"kitwright/palettes"
)

// kitsOf returns the kit folders below the project's testdata whose names
// match.
func kitsOf(t testing.TB, pattern string) []string {
	dirs, err := filepath.Glob(filepath.Join("..", "testdata", "kits", pattern))
	require.NoError(t, err)
	require.NotEmpty(t, dirs)
	return dirs
}

func readFile(t testing.TB, name ...string) []byte {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(name...))
	require.NoError(t, err)
	return data
}

// What an earlier release wrote is read by every later one, and gives the same
// tables. These files are never made anew.
func TestEarlierVersionsAreReadForEver(t *testing.T) {
	dirs := kitsOf(t, "v1-*")
	assert.Len(t, dirs, 3)
	for _, dir := range append(dirs, kitsOf(t, "edited")...) {
		data := readFile(t, dir, "kit.json")
		assert.True(t, IsKit(bytes.NewReader(data)), dir)
		k, err := ReadJSON(bytes.NewReader(data))
		require.NoError(t, err, dir)
		var list, rows, again bytes.Buffer
		require.NoError(t, k.WriteFirstKitCSV(&list))
		assert.Equal(t, string(readFile(t, dir, "kit.csv")), list.String(), dir)
		require.NoError(t, k.WriteChartCSV(&rows))
		assert.Equal(t, string(readFile(t, dir, "chart.csv")), rows.String(), dir)
		require.NoError(t, k.WriteJSON(&again))
		// The mark came later, and is made from the chart.
		mark := fmt.Sprintf("  \"mark\": %q,\n", k.Chart.Mark())
		assert.Contains(t, again.String(), mark)
		assert.Equal(t, strings.Replace(string(data), mark, "", 1), strings.Replace(withoutBuying(again.String()), mark, "", 1), "%s: nothing was lost on the way", dir)
	}
}

// withoutBuying takes out of a kit.json what to buy, which came later and is
// made from the rest.
func withoutBuying(text string) string {
	text = regexp.MustCompile(`(?s),\n      "buying": \{.*?\n      \}`).ReplaceAllString(text, "")
	return regexp.MustCompile(`(?s)  "buying": \{\n.*?\n  \},\n`).ReplaceAllString(text, "")
}

// What the kits of the first release said of themselves.
func TestFirstVersion(t *testing.T) {
	for name, want := range map[string]struct {
		title, shape, card string
		cols, rows, colors int
		pitch, mean        float64
	}{
		"v1-demo":       {"cat", "square", "munsell", 160, 120, 30, 2.5, 3.5382},
		"v1-round":      {"Ginger & Co \"the cat\"", "round", "munsell", 60, 50, 16, 2.8, 0},
		"v1-background": {"cat", "square", "munsell", 50, 40, 30, 2.5, 0},
	} {
		k, err := ReadJSON(bytes.NewReader(readFile(t, kitsOf(t, name)[0], "kit.json")))
		require.NoError(t, err)
		assert.Equal(t, want.title, k.Title)
		assert.EqualValues(t, want.shape, k.Drill.Shape)
		assert.Equal(t, want.card, k.Card.Name)
		assert.Equal(t, []int{want.cols, want.rows}, []int{k.Chart.Cols, k.Chart.Rows})
		assert.Len(t, k.Chart.Legend, want.colors, name)
		assert.Equal(t, want.pitch, k.Pitch.MM())
		if want.mean > 0 {
			assert.Equal(t, want.mean, k.Quality.MeanMiss)
		}
		assert.Nil(t, k.Target)
		assert.Error(t, k.Judge(), "there was no target yet")
		assert.NotEmpty(t, k.Order["size"])
		assert.NotEmpty(t, k.Print["look"])
	}
}

// The edited kit has gaps in its numbers and is judged by its own target.
// UPDATE=1 makes it anew.
func TestEditedKit(t *testing.T) {
	dir := filepath.Join("..", "testdata", "kits", "edited")
	if os.Getenv("UPDATE") != "" {
		makeEdited(t, dir)
	}
	k, err := ReadJSON(bytes.NewReader(readFile(t, dir, "kit.json")))
	require.NoError(t, err)
	require.NoError(t, k.ReadTarget(bytes.NewReader(readFile(t, dir, TargetFile))))
	gaps := false
	for i, e := range k.Chart.Legend {
		gaps = gaps || e.Number != i+1
	}
	assert.True(t, gaps)
	was := k.Quality
	require.NoError(t, k.Judge())
	assert.Equal(t, was, k.Quality)
}

// makeEdited makes the kit folder of an edited chart: one color is swapped for
// another one of the chart, three drills become a new color, and one color
// becomes another one that was not there.
func makeEdited(t *testing.T, dir string) {
	k := richKit(t, nil)
	var drills []palettes.Drill
	for _, e := range k.Chart.Legend {
		drills = append(drills, e.Drill)
	}
	card, err := palettes.Named("munsell")
	require.NoError(t, err)
	for _, code := range []string{"5R 4/14", "5G 5/6"} {
		i, ok := card.Index(code)
		require.True(t, ok, code)
		drills = append(drills, card.Drills[i])
	}
	n := uint16(len(drills))
	cells := append([]uint16(nil), k.Chart.Cells...)
	for i, v := range cells {
		switch v {
		case 2:
			cells[i] = 3
		case 5:
			cells[i] = n - 1
		}
	}
	cells[500], cells[501], cells[502] = n-2, n-2, n-2
	k.Chart, err = chart.Recolor(k.Chart, drills, cells)
	require.NoError(t, err)
	require.NoError(t, k.Judge())
	require.NoError(t, os.MkdirAll(dir, 0o777))
	for name, write := range map[string]func(io.Writer) error{
		"kit.json": k.WriteJSON, "kit.csv": k.WriteKitCSV, "chart.csv": k.WriteChartCSV, TargetFile: k.Target.Write,
	} {
		var b bytes.Buffer
		require.NoError(t, write(&b))
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), b.Bytes(), 0o666))
	}
}
