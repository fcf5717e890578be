package main

import (
	"context"
	"io"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/folder"
	"kitwright/internal/checker"
	"kitwright/kit"
	"kitwright/render"
)

// A kit is edited, undone and made again; nothing that was edited is lost
// unless that is asked for.
func TestEdit(t *testing.T) {
	checker.Slow(t)
	madeKit(t)
	made := map[string]string{}
	for _, name := range names(t, "cat-kit") {
		made[name] = string(read(t, "cat-kit/"+name))
	}
	first := strings.Split(strings.Split(made["kit.csv"], "\n")[1], ",")[3]
	edit := func(args ...string) string {
		t.Helper()
		code, out, errs := kitwright(t, append([]string{"edit", "cat-kit"}, args...)...)
		require.Equal(t, 0, code, errs)
		return out
	}
	out := edit("--swap", first+"=5R 4/14", "--set", "3,3:4,5=5g 5/6")
	assert.Contains(t, out, first+" is gone")
	assert.Contains(t, out, "5G 5/6: 6 drills, 0 before")
	assert.Contains(t, out, "2 edits in force")
	assert.Contains(t, string(read(t, "cat-kit/kit.csv")), "5R 4/14")
	assert.NotEqual(t, made["preview.png"], string(read(t, "cat-kit/preview.png")), "the prints follow")
	assert.Contains(t, edit("--list"), "2  set 3,3:4,5=5G 5/6")
	assert.NoFileExists(t, "cat-kit.before", "what was there can be had back by undo")

	edit("--undo")
	edit("--undo")
	for name, was := range made {
		assert.Equal(t, was, string(read(t, "cat-kit/"+name)), "%s is as it was, byte for byte", name)
	}
	edit("--redo")
	assert.Contains(t, edit("--list"), "In force:\n      swap "+first+"=5R 4/14\n")

	code, out, errs := kitwright(t, "chart", "--demo", "--grid", "60x40", "--colors", "10", "--tone", "none", "--force")
	require.Equal(t, 0, code, errs)
	assert.Regexp(t, "1 change made by hand earlier: done again|Does not fit any more, and was left out: swap", out)
	assert.FileExists(t, "cat-kit/edits.csv")
	code, _, errs = kitwright(t, "chart", "--demo", "--grid", "60x40", "--colors", "12", "--tone", "none", "--force", "--discard-edits")
	require.Equal(t, 0, code, errs)
	assert.NoFileExists(t, "cat-kit/edits.csv")
	assert.Equal(t, made["kit.json"], string(read(t, "cat-kit/kit.json")))
}

func TestEditRefuses(t *testing.T) {
	checker.Slow(t)
	madeKit(t)
	before := string(read(t, "cat-kit/kit.json"))
	for _, args := range [][]string{
		{}, {"--undo"}, {"--redo"}, {"--undo", "--list"}, {"--swap", "SR-999=5R 4/14"}, {"--swap", "5R 4/14"}, {"--swap", "=5R 4/14"},
		{"--set", "61,1=5R 4/14"}, {"--set", "1,1:61,2=5R 4/14"}, {"--set", "0,1=5R 4/14"}, {"--set", "3,3:2,3=5R 4/14"}, {"--set", "1=5R 4/14"}, {"--set", "1,1=SR-999"},
	} {
		code, _, errs := kitwright(t, append([]string{"edit", "cat-kit"}, args...)...)
		assert.Equal(t, 2, code, "%v: %s", args, errs)
		assert.Contains(t, errs, "Try: ", "%v", args)
	}
	assert.Equal(t, before, string(read(t, "cat-kit/kit.json")))
	assert.NoFileExists(t, "cat-kit/edits.csv")
}

// An edit of a kit that another edit changed since it was read takes nothing back.
func TestEditAfterAnother(t *testing.T) {
	madeKit(t)
	from := sourceAt("cat-kit")
	k, err := folder.Read(from.dir)
	require.NoError(t, err)
	code, _, errs := kitwright(t, "edit", "cat-kit", "--quiet", "--set", "3,3=5R 4/14")
	require.Equal(t, 0, code, errs)
	edits := []kit.Edit{{Act: kit.Swap, From: k.Chart.Legend[0].Drill.Address(), To: k.Chart.Legend[1].Drill}}
	err = editKit(context.Background(), env{stdout: io.Discard, stderr: io.Discard}, from, k, render.DefaultPrint(), edits, "", true)
	require.ErrorContains(t, err, "meanwhile")
	k, err = folder.Read(from.dir)
	require.NoError(t, err)
	require.Len(t, k.Edits.Log, 1)
	assert.Equal(t, kit.Set, k.Edits.Log[0].Act)
}

// A table that was changed by hand is neither used in silence nor overwritten.
func TestTablesChangedByHand(t *testing.T) {
	checker.Slow(t)
	madeKit(t)
	mine := strings.Replace(string(read(t, "cat-kit/chart.csv")), "1", "2", 1)
	require.NoError(t, os.WriteFile("cat-kit/chart.csv", []byte(mine), 0o666))
	for _, args := range [][]string{
		{"edit", "cat-kit", "--set", "1,1=5R 4/14"},
		{"print", "cat-kit", "--out", "cat-kit", "--force"},
	} {
		code, _, errs := kitwright(t, args...)
		assert.Equal(t, 1, code, "%v", args)
		assert.Contains(t, errs, "chart.csv in cat-kit was changed by hand")
		assert.Equal(t, mine, string(read(t, "cat-kit/chart.csv")))
	}
}
