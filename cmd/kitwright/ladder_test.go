package main

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"image/png"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/folder"
	"kitwright/internal/checker"
	"kitwright/internal/say"
	"kitwright/kit"
	"kitwright/plan"
	"kitwright/render"
)

func TestLadderDemo(t *testing.T) {
	inTemp(t)
	code, out, errs := kitwright(t, "ladder", "--demo", "--grid", "45x30", "--counts", "12,4..6", "--pace", "300,900")
	require.Equal(t, 0, code, errs)
	assert.Contains(t, out, "look nearly as good")
	assert.Regexp(t, `(?m)^\* +(4|5|6|12) `, out, "the one to recommend is marked")
	assert.Equal(t, []string{"ladder.csv", "ladder.png"}, names(t, "cat-ladder"))

	rows, err := csv.NewReader(bytes.NewReader(read(t, "cat-ladder/ladder.csv"))).ReadAll()
	require.NoError(t, err)
	assert.Equal(t, []string{"colors", "mean", "p95", "worst", "bound", "gap", "off_2m", "confetti", "lone", "runs_3", "hours_at_300", "hours_at_900", "stopped", "asked", "subject", "colors_under_30"}, rows[0])
	require.Len(t, rows, 5, "those asked for")
	last := 1e9
	for i, row := range rows[1:] {
		assert.Equal(t, []string{"4", "5", "6", "12"}[i], row[0])
		assert.Equal(t, row[0], row[13])
		mean, bound := float(t, row[1]), float(t, row[4])
		assert.LessOrEqual(t, bound, mean, "no chart beats what is proven")
		assert.LessOrEqual(t, bound, last, "more colors can come closer, never less close")
		last = bound
		assert.Equal(t, "4.5", row[10], "1,350 drills at 300 an hour")
		assert.InDelta(t, float(t, row[8])/1350, float(t, row[7]), 1e-4)
	}
	_, err = png.Decode(bytes.NewReader(read(t, "cat-ladder/ladder.png")))
	assert.NoError(t, err)
}

// A card of few colors makes a short ladder, not an error.
func TestLadderOfASmallCard(t *testing.T) {
	inTemp(t)
	require.NoError(t, os.WriteFile("mine.csv", []byte("code,name,finish,hex\nSR-001,ink,,#101014\nSR-002,sand,AB,#d9c7a0\nSR-003,rust,,#a0481e\n"), 0o666))
	code, out, errs := kitwright(t, "ladder", "--demo", "--grid", "30x20", "--card", "mine.csv")
	require.Equal(t, 0, code, errs)
	assert.Contains(t, out, "no more than 3 colors to choose from")
	assert.NotContains(t, out, kit.ReferenceNote)
	rows, err := csv.NewReader(bytes.NewReader(read(t, "cat-ladder/ladder.csv"))).ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 2)
	assert.Equal(t, "3", rows[1][0])
}

func float(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	require.NoError(t, err)
	return v
}

func TestLadderRefuses(t *testing.T) {
	inTemp(t)
	for _, args := range [][]string{
		{"ladder"}, {"ladder", "--demo", "--counts", "1"}, {"ladder", "--demo", "--counts", "30..8"}, {"ladder", "--demo", "--counts", "8..101"},
		{"ladder", "--demo", "--counts", "x"}, {"ladder", "--demo", "--pace", "0,10"}, {"ladder", "--demo", "--pace", "10,5"}, {"ladder", "--demo", "--pace", "10,"},
		{"ladder", "--demo", "--colors", "101"}, {"ladder", "--demo", "--keep", "SR-001"}, {"ladder", "--demo", "--focus", "0,0,200,10"},
	} {
		code, _, errs := kitwright(t, args...)
		assert.Equal(t, 2, code, "%v: %s", args, errs)
		assert.Contains(t, errs, "Try: ", "%v", args)
		assert.Empty(t, names(t, "."), "%v left something behind", args)
	}
}

// What is asked of the colors is done, or refused in words.
func TestKeepAvoidFocusBackground(t *testing.T) {
	long(t)
	inTemp(t)
	chart := func(args ...string) (int, string, string) {
		return kitwright(t, append([]string{"chart", "--demo", "--grid", "60x40", "--colors", "8", "--force"}, args...)...)
	}
	// A kept color that the photo has no use for is not in the legend, since
	// nobody buys a bag for no drill, and the run says so.
	code, out, errs := chart("--keep", "5PB 4/10,N 9")
	require.Equal(t, 0, code, errs)
	assert.Contains(t, out, "5PB 4/10 was kept, but no drill of this photo comes out in it")
	code, _, errs = chart("--border", "2,5R 4/14", "--caption", "Ginger")
	require.Equal(t, 0, code, errs)
	assert.Contains(t, string(read(t, "cat-kit/kit.csv")), "5R 4/14")

	legend := kitOf(t, "cat-kit").Chart.Legend
	code, _, errs = chart("--avoid", legend[0].Drill.Code)
	require.Equal(t, 0, code, errs)
	assert.NotContains(t, string(read(t, "cat-kit/kit.csv")), ","+legend[0].Drill.Code+",")

	code, _, errs = chart("--subject", "5,5,90,90", "--background", "plain=N 9")
	require.Equal(t, 0, code, errs)
	assert.Contains(t, string(read(t, "cat-kit/kit.csv")), "N 9,")

	for _, args := range [][]string{
		{"--keep", "N 5", "--avoid", "N 5"}, {"--keep", "SR-041"}, {"--avoid", "SR-041"}, {"--background", "2"},
		{"--background", "plain=SR-041", "--subject", "5,5,90,90"}, {"--focus", "90,90,5,5", "--crop", "0,0,50,50"},
		{"--border", "25"}, {"--border", "1,SR-041"}, {"--caption", "An endless story about a cat who never slept"},
		{"--keep", "N 1,N 2,N 3,N 4,N 5,N 6,N 7,N 8,N 9"},
	} {
		code, _, errs := chart(args...)
		assert.Equal(t, 2, code, "%v: %s", args, errs)
		assert.Contains(t, errs, "Try: ", "%v", args)
	}
	assert.Equal(t, []string{"cat-kit", "cat-kit.before"}, names(t, "."))
}

// A ladder that was ended by hand says so, and claims nothing that was not
// proven by then.
func TestLadderStoppedByHand(t *testing.T) {
	inTemp(t)
	o := kit.DefaultOrder()
	require.NoError(t, o.Grid.Set("30x20"))
	card, err := cardPlaces{}.open(env{}, &o.Card)
	require.NoError(t, err)
	src, err := openPhoto(nil, true)
	require.NoError(t, err)
	ctx, search := say.WithStopper(context.Background())
	read, err := kit.Open(ctx, src.file, src.name, card)
	require.NoError(t, err)
	prep, err := read.Lay(ctx, o.Canvas, o.Light)
	require.NoError(t, err)

	dir, err := folder.Begin("l", folder.Ladders, folder.Options{})
	require.NoError(t, err)
	defer dir.Drop()
	stop := say.WithProgress(ctx, func(stage string, _, _ int) {
		if stage == "making the rungs" {
			search.Stop()
		}
	})
	made, err := makeLadder(stop, prep, o.Choice, []int{8, 12, 18, 24}, plan.UsualPace, render.Centimeters, dir)
	require.NoError(t, err)
	var out bytes.Buffer
	require.NoError(t, made.tell(&out))
	assert.Regexp(t, `The search was stopped early, after \d of \d rungs`, out.String())
	assert.Contains(t, out.String(), "not known")
	assert.Contains(t, out.String(), "stopped before there was enough to recommend")
	assert.NotContains(t, out.String(), "*")
	assert.Contains(t, out.String(), "1 to 2\n", "600 drills at 1,000 and 400 an hour")
}

// Codes kept or avoided shorten the ladder where its rungs have no room for
// them; nobody asked for a number of colors that they could contradict.
func TestLadderKeepsAndAvoids(t *testing.T) {
	checker.Slow(t)
	inTemp(t)
	var card strings.Builder
	card.WriteString("code,hex\n")
	for i := range 14 {
		fmt.Fprintf(&card, "SR-%03d,#%02x%02x%02x\n", i, 20+i*16, 15+i*13, 10+i*10) // browns: all of them serve a cat
	}
	require.NoError(t, os.WriteFile("mine.csv", []byte(card.String()), 0o666))
	rungs := func(args ...string) (out []string) {
		code, _, errs := kitwright(t, append([]string{"ladder", "--demo", "--grid", "30x20", "--card", "mine.csv", "--force", "--calm", "0", "--counts", "2,5,9,12"}, args...)...)
		require.Equal(t, 0, code, errs)
		rows, err := csv.NewReader(bytes.NewReader(read(t, "cat-ladder/ladder.csv"))).ReadAll()
		require.NoError(t, err)
		for _, row := range rows[1:] {
			out = append(out, row[13])
		}
		return out
	}
	assert.Contains(t, rungs(), "2")
	assert.NotContains(t, rungs(), "7")
	assert.Contains(t, rungs("--colors", "7"), "7", "a number asked for is a rung")
	kept := rungs("--keep", "SR-001,SR-002,SR-003,SR-003")
	assert.NotContains(t, kept, "2")
	assert.Contains(t, kept, "12")
	avoided := rungs("--avoid", "SR-001,SR-002,SR-003")
	assert.Contains(t, avoided, "9")
	assert.NotContains(t, avoided, "12")
}

// A program reads the rungs without the words around them.
func TestLadderAsJSON(t *testing.T) {
	checker.Slow(t)
	inTemp(t)
	code, out, errs := kitwright(t, "ladder", "--demo", "--grid", "30x20", "--counts", "4,8", "--json")
	require.Equal(t, 0, code, errs)
	var rungs []struct {
		Colors      int
		Mean, Bound float64
		Recommended bool
	}
	require.NoError(t, json.Unmarshal([]byte(out), &rungs), out)
	recommended := 0
	for _, r := range rungs {
		assert.Greater(t, r.Mean, r.Bound)
		if r.Recommended {
			recommended++
		}
	}
	assert.Equal(t, 1, recommended)
	assert.Equal(t, 4, rungs[0].Colors)
}
