package main

import (
	"encoding/csv"
	"os"
	"strconv"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
	"kitwright/internal/say"
)

// leftIn returns what is left of every section and number, as the table tells.
func leftIn(t *testing.T) (left map[[2]string]int, total int) {
	t.Helper()
	rows, err := csv.NewReader(strings.NewReader(does(t, "left", "cat-kit", "--csv"))).ReadAll()
	require.NoError(t, err)
	left = map[[2]string]int{}
	for _, row := range rows[1:] {
		n, err := strconv.Atoi(row[7])
		require.NoError(t, err)
		left[[2]string{row[1], row[2]}] = n
		total += n
	}
	return left, total
}

// A kit is ticked off, taken back and reckoned; edits and a remake keep what
// still fits and name what does not.
func TestProgressOfAKit(t *testing.T) {
	checker.Slow(t)
	madeKit(t) // 60 x 40 drills: A1 and B1
	before, all := leftIn(t)
	assert.Equal(t, 2400, all)
	one := [2]string{}
	for k := range before {
		if k[0] == "A1" && (one[1] == "" || k[1] < one[1]) {
			one = k
		}
	}
	out := does(t, "done", "cat-kit", "--section", "a1", "--color", one[1], "--date", "2026-11-26")
	assert.Contains(t, out, "A1: no. "+one[1])
	now, sum := leftIn(t)
	assert.Zero(t, now[one])
	assert.Equal(t, all-before[one], sum)
	assert.Contains(t, does(t, "done", "cat-kit", "--section", "A1", "--minutes", "95"), "A1 is done. Next: B1.")
	assert.Contains(t, string(read(t, "cat-kit/progress.csv")), ",2026-11-26,")

	kept := string(read(t, "cat-kit/progress.csv"))
	assert.Contains(t, does(t, "done", "cat-kit", "--undo"), "Undone")
	assert.True(t, strings.HasPrefix(string(read(t, "cat-kit/progress.csv")), kept), "lines are only ever added")
	_, sum = leftIn(t)
	assert.Equal(t, all-before[one], sum)
	does(t, "done", "cat-kit", "--section", "A1")
	assert.Contains(t, does(t, "done", "cat-kit", "--undo", "--section", "A1", "--color", one[1]), "taken back")
	now, _ = leftIn(t)
	assert.Equal(t, before[one], now[one])
	does(t, "done", "cat-kit", "--section", "A1", "-q")

	out = strings.Join(strings.Fields(does(t, "left", "cat-kit", "--weekly", "6h", "--from", "2026-11-26")), " ")
	assert.Contains(t, out, "Next is B1")
	assert.Contains(t, out, "your own pace counts once 3 sections are ticked off")
	assert.Regexp(t, `At 6 hours a week from 2026-11-26 on you may be done between 2026-1\d-\d\d and`, out)

	// An edit: what lies there in the color that is gone is named.
	code := strings.Split(strings.Split(string(read(t, "cat-kit/kit.csv")), "\n")[1], ",")[3]
	set := 1200
	out = does(t, "edit", "cat-kit", "--swap", code+"=5R 4/14")
	if n := before[[2]string{"A1", "1"}]; n > 0 {
		assert.Contains(t, out, "of "+code+" are ticked where the chart wants no. 1 5R 4/14 now")
		set -= n
	}
	assert.Contains(t, out, say.Number(set)+" drills that were ticked off still fit")
	does(t, "edit", "cat-kit", "--undo")
	_, sum = leftIn(t)
	assert.Equal(t, 1200, sum, "all as it was")

	// Made again from the same photo, and from the same on another grid.
	out = does(t, "chart", "--demo", "--grid", "60x40", "--colors", "12", "--tone", "none", "--force")
	assert.Contains(t, out, "1,200 drills that were ticked off still fit")
	out = does(t, "chart", "--demo", "--grid", "50x40", "--colors", "12", "--tone", "none", "--force")
	assert.Contains(t, out, "stays with the earlier kit, cat-kit.before")
	assert.NoFileExists(t, "cat-kit/progress.csv")
	assert.FileExists(t, "cat-kit.before/progress.csv")
}

func TestProgressRefuses(t *testing.T) {
	checker.Slow(t)
	madeKit(t)
	for _, args := range [][]string{
		{"done"}, {"done", "cat-kit"}, {"done", "cat-kit", "--color", "1"}, {"done", "cat-kit", "--section", "C1"}, {"done", "cat-kit", "--section", ""},
		{"done", "cat-kit", "--section", "A1", "--color", "99"}, {"done", "cat-kit", "--section", "A1", "--color", "SR-041"}, {"done", "cat-kit", "--section", "A1", "--minutes", "0"},
		{"done", "cat-kit", "--section", "A1", "--minutes", "-5"}, {"done", "cat-kit", "--section", "A1", "--minutes", "x"}, {"done", "cat-kit", "--section", "A1", "--date", "yesterday"},
		{"done", "cat-kit", "--undo"}, {"done", "cat-kit", "--undo", "--section", "A1"}, {"done", "cat-kit", "--section", "A1", "--section", "B1", "--minutes", "9"},
		{"done", "cat-kit", "--undo", "--minutes", "9"},
		{"left"}, {"left", "cat-kit", "--weekly", "6"}, {"left", "cat-kit", "--from", "monday"}, {"left", "cat-kit", "--csv", "--json"},
		{"plan"}, {"plan", "a", "b"}, {"plan", "cat-kit", "--section", "2x2"}, {"plan", "cat-kit", "--drill", "round"}, {"plan", "cat-kit", "--tips", "77"}, {"plan", "--sitting", "3"},
	} {
		code, _, errs := kitwright(t, args...)
		assert.Equal(t, 2, code, "%v: %s", args, errs)
		assert.Contains(t, errs, "Try: ", "%v", args)
	}
	assert.NoFileExists(t, "cat-kit/progress.csv")
	for _, args := range [][]string{{"done", "nowhere", "--section", "A1"}, {"left", "nowhere"}, {"plan", "nowhere"}} {
		code, _, _ := kitwright(t, args...)
		assert.Equal(t, 1, code, "%v", args)
	}
	require.NoError(t, os.WriteFile("cat-kit/progress.csv", []byte("my own notes\n"), 0o666))
	code, _, errs := kitwright(t, "done", "cat-kit", "--section", "A1")
	assert.Equal(t, 1, code)
	assert.Contains(t, errs, "not as we write it")
	assert.Equal(t, "my own notes\n", string(read(t, "cat-kit/progress.csv")))
}

// Two at once: each color is ticked once, and none is lost.
func TestTicksAtOnce(t *testing.T) {
	madeKit(t)
	before, all := leftIn(t)
	var wg sync.WaitGroup
	for k := range before {
		wg.Go(func() {
			code, _, errs := kitwright(t, "done", "cat-kit", "--section", k[0], "--color", k[1])
			assert.Equal(t, 0, code, errs)
		})
	}
	wg.Wait()
	assert.Positive(t, all)
	_, sum := leftIn(t)
	assert.Zero(t, sum)
	assert.Contains(t, does(t, "left", "cat-kit"), "Every drill is set.")
	assert.NotContains(t, does(t, "left", "cat-kit"), "does not count")
}

func TestPlanOfAKit(t *testing.T) {
	checker.Slow(t)
	madeKit(t)
	out := does(t, "plan", "cat-kit", "--sitting", "1h", "--pace", "350")
	assert.Contains(t, out, "7 sittings of 1 hour")
	assert.Contains(t, out, "350 drills an hour")
	rows, err := csv.NewReader(strings.NewReader(does(t, "plan", "cat-kit", "--csv", "--section", "20x20"))).ReadAll()
	require.NoError(t, err)
	assert.Len(t, rows, 7)
	assert.Contains(t, strings.Join(strings.Fields(does(t, "plan", "--sitting", "3h", "--pace", "350")), " "), "--size 8x8cm: 1,024 drills")

	// What is asked for on paper is what done and left go by.
	does(t, "print", "cat-kit", "--section", "20x20", "--out", "cat-kit", "--force")
	assert.Contains(t, does(t, "done", "cat-kit", "--section", "C2"), "C2 is done")
}
