package main

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"image"
	"image/color"
	"image/png"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/folder"
	"kitwright/kit"
	"kitwright/plan"
)

// kitwright runs the program in a folder of its own and returns its exit code
// and what it said.
func kitwright(t *testing.T, args ...string) (code int, stdout, stderr string) {
	t.Helper()
	var out, errs bytes.Buffer
	err := run(context.Background(), args, strings.NewReader(""), &out, &errs)
	code = report(err, &errs)
	return code, out.String(), errs.String()
}

// inTemp makes the test run in an empty folder.
func inTemp(t *testing.T) string {
	dir := t.TempDir()
	t.Chdir(dir)
	return dir
}

func names(t *testing.T, dir string) []string {
	t.Helper()
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	var out []string
	for _, e := range entries {
		out = append(out, e.Name())
	}
	return out
}

func TestChartDemo(t *testing.T) {
	inTemp(t)
	code, out, errs := kitwright(t, "chart", "--demo", "--grid", "60x40", "--colors", "12", "--subject", "2,5,80,90")
	require.Equal(t, 0, code, errs)
	assert.Empty(t, errs)
	assert.Contains(t, out, "60 x 40 square drills, 15 x 10 cm")
	assert.Contains(t, out, "2,400 drills in 12 colors of the card munsell")
	assert.Contains(t, out, "off the photo on average")
	assert.Contains(t, out, kit.ReferenceNote)
	assert.Equal(t, []string{"cat-kit"}, names(t, "."))
	made := 0
	for _, f := range folder.Outputs() {
		if slices.Contains([]string{kit.EditsFile, kit.MadeFile, plan.LogFile, "proof.png"}, f.Name) { // nothing was changed or set by hand, and no machine named
			assert.NotContains(t, out, f.Name)
			continue
		}
		info, err := os.Stat(filepath.Join("cat-kit", f.Name))
		require.NoError(t, err)
		assert.NotZero(t, info.Size(), f.Name)
		assert.Contains(t, out, f.Name)
		made++
	}
	assert.Len(t, names(t, "cat-kit"), made)

	// The three texts tell the same story.
	chartFile, err := os.Open("cat-kit/chart.csv")
	require.NoError(t, err)
	defer chartFile.Close()
	rows, err := csv.NewReader(chartFile).ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 40)
	counts := map[string]int{}
	for _, row := range rows {
		require.Len(t, row, 60)
		for _, n := range row {
			counts[n]++
		}
	}
	kitBytes, err := os.ReadFile("cat-kit/kit.csv")
	require.NoError(t, err)
	colors, err := csv.NewReader(bytes.NewReader(kitBytes)).ReadAll()
	require.NoError(t, err)
	assert.Equal(t, "number,symbol,symbol_name,code,name,finish,hex,drills,extra,buy,bags,in_bags,price,grams,grams_off,your_code,owned", strings.Join(colors[0], ","))
	last := len(colors) - 1
	assert.Equal(t, []string{"total", "2400"}, []string{colors[last][0], colors[last][7]})
	total := 0
	for i, c := range colors[1:last] {
		assert.Equal(t, strconv.Itoa(i+1), c[0])
		assert.Equal(t, strconv.Itoa(counts[c[0]]), c[7])
		total += counts[c[0]]
	}
	assert.Equal(t, 2400, total)

	kitJSON, err := os.ReadFile("cat-kit/kit.json")
	require.NoError(t, err)
	back, err := kit.ReadJSON(bytes.NewReader(kitJSON))
	require.NoError(t, err)
	var again bytes.Buffer
	require.NoError(t, back.WriteJSON(&again))
	assert.Equal(t, string(kitJSON), again.String(), "kit.json reads back whole")
	again.Reset()
	require.NoError(t, back.WriteKitCSV(&again))
	assert.Equal(t, string(kitBytes), again.String())

	var keys map[string]json.RawMessage
	require.NoError(t, json.Unmarshal(kitJSON, &keys))
	for _, key := range []string{"version", "order", "print", "drill", "grid", "card", "legend", "cells", "quality", "photo"} {
		assert.Contains(t, keys, key)
	}
}

// A kit may be given away: it holds no path of the machine it was made on.
func TestKitHoldsNoPath(t *testing.T) {
	dir := inTemp(t)
	require.NoError(t, os.Mkdir("secret-folder", 0o777))
	writePNG(t, "secret-folder/ginger.png", 30, 40)
	code, out, _ := kitwright(t, "card", "show", "nbs", "--csv")
	require.Equal(t, 0, code)
	require.NoError(t, os.WriteFile("secret-folder/mine.csv", []byte(out), 0o666))
	code, _, errs := kitwright(t, "chart", "--quiet", "--grid", "12x16", "--colors", "5", "--card", "secret-folder/mine.csv", "-o", "secret-folder/k", filepath.Join(dir, "secret-folder", "ginger.png"))
	require.Equal(t, 0, code, errs)
	for _, name := range names(t, "secret-folder/k") {
		content, err := os.ReadFile(filepath.Join("secret-folder/k", name))
		require.NoError(t, err)
		assert.NotContains(t, string(content), "secret-folder", name)
	}
	content, err := os.ReadFile("secret-folder/k/kit.json")
	require.NoError(t, err)
	assert.Contains(t, string(content), `"card": "mine.csv"`)
	assert.NotContains(t, string(content), kit.ReferenceNote)
}

func writePNG(t *testing.T, path string, w, h int) {
	t.Helper()
	img := image.NewNRGBA(image.Rect(0, 0, w, h))
	for y := 0; y < h; y++ {
		for x := 0; x < w; x++ {
			img.SetNRGBA(x, y, color.NRGBA{uint8(255 * x / w), uint8(255 * y / h), uint8(x * y), 255})
		}
	}
	var b bytes.Buffer
	require.NoError(t, png.Encode(&b, img))
	require.NoError(t, os.WriteFile(path, b.Bytes(), 0o666))
}

// Whatever cannot be done is said in one sentence with one hint, and leaves
// nothing behind.
func TestBadInput(t *testing.T) {
	inTemp(t)
	writePNG(t, "photo.png", 30, 40)
	whole, err := os.ReadFile("photo.png")
	require.NoError(t, err)
	require.NoError(t, os.WriteFile("truncated.png", whole[:len(whole)/2], 0o666))
	require.NoError(t, os.WriteFile("empty.jpg", nil, 0o666))
	require.NoError(t, os.WriteFile("notes.jpg", []byte("a shopping list"), 0o666))
	require.NoError(t, os.WriteFile("huge.png", hugePNG(), 0o666))
	require.NoError(t, os.WriteFile("bad.csv", []byte("code,name,hex\nSR-001,red,#zz0000\n"), 0o666))
	require.NoError(t, os.Mkdir("folder", 0o777))
	require.NoError(t, os.Mkdir("taken", 0o777))
	require.NoError(t, os.WriteFile("taken/diary.txt", []byte("dear diary"), 0o666))
	before := names(t, ".")

	for _, c := range []struct {
		args []string
		code int
		want string // in the sentence
	}{
		{nil, 2, "no command"},
		{[]string{"knit"}, 2, `no command "knit"`},
		{[]string{"help", "knit"}, 2, `no command "knit"`},
		{[]string{"version", "now"}, 2, "no arguments"},
		{[]string{"chart"}, 2, "one photo is needed, not 0"},
		{[]string{"chart", "a.png", "b.png"}, 2, "one photo is needed, not 2"},
		{[]string{"chart", "--demo", "photo.png"}, 2, "--demo"},
		{[]string{"chart", "--frobnicate", "photo.png"}, 2, "no flag --frobnicate"},
		{[]string{"chart", "-z", "photo.png"}, 2, "no flag -z"},
		{[]string{"chart", "photo.png", "--size"}, 2, "--size needs a value"},
		{[]string{"chart", "photo.png", "--size", "0x5cm"}, 2, "--size"},
		{[]string{"chart", "photo.png", "--size", "-4x5cm"}, 2, "--size"},
		{[]string{"chart", "photo.png", "--size", "900x900cm"}, 2, "more than the two million"},
		{[]string{"chart", "photo.png", "--size", "501x10cm"}, 2, "5 m"},
		{[]string{"chart", "photo.png", "--pitch", "0"}, 2, "--pitch"},
		{[]string{"chart", "photo.png", "--pitch", "NaNmm"}, 2, "--pitch"},
		{[]string{"chart", "photo.png", "--colors", "1"}, 2, "--colors"},
		{[]string{"chart", "photo.png", "--colors", "NaN"}, 2, "--colors"},
		{[]string{"chart", "photo.png", "--crop", "90,0,20,100"}, 2, "outside the photo"},
		{[]string{"chart", "photo.png", "--drill", "oval"}, 2, "square or round"},
		{[]string{"chart", "photo.png", "--card", "rainbow"}, 2, "rainbow"},
		{[]string{"chart", "photo.png", "--card", "bad.csv"}, 1, "line 2"},
		{[]string{"chart", "photo.png", "--card", "gone.csv"}, 1, "gone.csv"},
		{[]string{"chart", "photo.png", "--card", "folder/"}, 1, "folder"},
		{[]string{"chart", "photo.png", "-o", "taken"}, 1, "exists already"},
		{[]string{"chart", "photo.png", "-o", "taken", "--force"}, 1, "diary.txt"},
		{[]string{"chart", "photo.png", "-o", "folder", "--force"}, 1, "no kit.json"},
		{[]string{"chart", "photo.png", "-o", "notes.jpg", "--force"}, 1, "notes.jpg"},
		{[]string{"chart", "gone.png"}, 1, "gone.png"},
		{[]string{"chart", "folder"}, 1, "is a folder"},
		{[]string{"chart", "empty.jpg"}, 1, "empty.jpg"},
		{[]string{"chart", "notes.jpg"}, 1, "notes.jpg"},
		{[]string{"chart", "truncated.png"}, 1, "truncated.png"},
		{[]string{"chart", "huge.png"}, 1, "huge.png"},
		{[]string{"card"}, 2, "card needs to be told"},
		{[]string{"card", "show"}, 2, "card show takes one card"},
		{[]string{"card", "show", "rainbow"}, 2, "rainbow"},
		{[]string{"card", "list", "--csv", "--json"}, 2, "--csv and --json"},
		{[]string{"card", "burn"}, 2, "no command \"burn\""},
	} {
		code, _, errs := kitwright(t, c.args...)
		assert.Equal(t, c.code, code, "%v: %s", c.args, errs)
		assert.Contains(t, errs, c.want, "%v", c.args)
		lines := strings.Split(strings.TrimSpace(errs), "\n")
		if assert.Len(t, lines, 2, "%v: one sentence and one hint: %s", c.args, errs) {
			assert.True(t, strings.HasPrefix(lines[0], "kitwright: ") && strings.HasSuffix(lines[0], "."), "%v: %s", c.args, lines[0])
			assert.True(t, strings.HasPrefix(lines[1], "Try: "), "%v: %s", c.args, lines[1])
		}
		assert.Equal(t, before, names(t, "."), "%v left something behind", c.args)
	}
	_, _, errs := kitwright(t, "chart", "gone.png")
	assert.Contains(t, errs, "Try: check how the name is spelled", "permissions have nothing to do with it")
	diary, err := os.ReadFile("taken/diary.txt")
	require.NoError(t, err)
	assert.Equal(t, "dear diary", string(diary))
}

// hugePNG claims 60000 x 60000 pixels in 33 bytes.
func hugePNG() []byte {
	return []byte("\x89PNG\r\n\x1a\n\x00\x00\x00\x0dIHDR\x00\x00\xea\x60\x00\x00\xea\x60\x08\x06\x00\x00\x00\xa8\x4f\x0d\xd5")
}

func TestUnreadablePhoto(t *testing.T) {
	if os.Geteuid() == 0 {
		t.Skip("skipped: the superuser can read every file")
	}
	inTemp(t)
	writePNG(t, "photo.png", 3, 4)
	require.NoError(t, os.Chmod("photo.png", 0))
	code, _, errs := kitwright(t, "chart", "photo.png")
	assert.Equal(t, 1, code)
	assert.Contains(t, errs, "permission denied")
}

func TestOnePixelPhoto(t *testing.T) {
	inTemp(t)
	writePNG(t, "dot.png", 1, 1)
	code, out, errs := kitwright(t, "chart", "dot.png", "--grid", "4x3", "--colors", "5")
	require.Equal(t, 0, code, errs)
	assert.Contains(t, out, "12 drills in 1 color of")
}

func TestForceKeepsTheOldKit(t *testing.T) {
	long(t)
	inTemp(t)
	writePNG(t, "photo.png", 30, 40)
	make := func(args ...string) (int, string) {
		code, _, errs := kitwright(t, append([]string{"chart", "photo.png", "--quiet", "--grid", "12x16", "--colors", "4"}, args...)...)
		return code, errs
	}
	code, errs := make("--title", "first")
	require.Equal(t, 0, code, errs)
	code, _ = make("--title", "second")
	assert.Equal(t, 1, code, "an existing folder is refused")
	for _, title := range []string{"second", "third"} {
		code, errs = make("--title", title, "--force")
		require.Equal(t, 0, code, errs)
	}
	assert.Equal(t, "third", titleOf(t, "photo-kit"))
	assert.Equal(t, "second", titleOf(t, "photo-kit.before"))
	assert.Equal(t, []string{"photo-kit", "photo-kit.before", "photo.png"}, names(t, "."))

	// What is not ours is not replaced, even beside our files.
	require.NoError(t, os.WriteFile("photo-kit/receipt.txt", nil, 0o666))
	code, errs = make("--force")
	assert.Equal(t, 1, code)
	assert.Contains(t, errs, "receipt.txt")
	assert.Equal(t, "third", titleOf(t, "photo-kit"))
}

func titleOf(t *testing.T, dir string) string {
	t.Helper()
	f, err := os.Open(filepath.Join(dir, "kit.json"))
	require.NoError(t, err)
	defer f.Close()
	k, err := kit.ReadJSON(f)
	require.NoError(t, err)
	return k.Title
}

func TestStoppedByHand(t *testing.T) {
	inTemp(t)
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	var out, errs bytes.Buffer
	err := run(ctx, []string{"chart", "--demo"}, strings.NewReader(""), &out, &errs)
	assert.Equal(t, 130, report(err, &errs))
	assert.Empty(t, names(t, "."), "nothing is left")
	assert.Empty(t, out.String())
}

// The same order gives the same bytes.
func TestSameBytes(t *testing.T) {
	long(t)
	inTemp(t)
	for _, dir := range []string{"a", "b"} {
		code, _, errs := kitwright(t, "chart", "--demo", "--quiet", "--grid", "50x40", "--colors", "12", "--drill", "round", "-o", dir)
		require.Equal(t, 0, code, errs)
	}
	for _, f := range names(t, "a") {
		a, err := os.ReadFile(filepath.Join("a", f))
		require.NoError(t, err)
		b, err := os.ReadFile(filepath.Join("b", f))
		require.NoError(t, err)
		assert.True(t, bytes.Equal(a, b), f)
	}
}

func TestHelpExplainsEverything(t *testing.T) {
	code, out, _ := kitwright(t, "help")
	require.Equal(t, 0, code)
	for _, c := range commands() {
		assert.Contains(t, out, c.name)
		code, help, _ := kitwright(t, "help", c.name)
		require.Equal(t, 0, code)
		_, viaFlag, _ := kitwright(t, c.name, "--help")
		assert.Equal(t, help, viaFlag)
		for _, line := range strings.Split(c.example, "\n") {
			assert.Contains(t, help, line)
		}
		for _, line := range strings.Split(help, "\n") {
			assert.LessOrEqual(t, len([]rune(line)), helpWidth, "%s: %s", c.name, line)
		}
	}
}

func TestCardCommand(t *testing.T) {
	code, out, _ := kitwright(t, "card", "list")
	require.Equal(t, 0, code)
	assert.Contains(t, out, "munsell")
	assert.Contains(t, out, "nbs")
	code, out, _ = kitwright(t, "card", "show", "munsell", "--csv")
	require.Equal(t, 0, code)
	assert.Contains(t, out, "code,name,finish,hex,L,a,b")
}

// long skips a test that makes many kits where tests have to be quick.
func long(t *testing.T) {
	t.Helper()
	if testing.Short() {
		t.Skip("skipped: makes many kits")
	}
}
