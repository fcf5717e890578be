package main

import (
	"os"
	"os/exec"
	"regexp"
	"runtime"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
	"kitwright/internal/shell"
	"kitwright/kit"
)

// The next step is told as a command that can be typed, with the flags that
// were given.
func TestNextStepsCanBeTyped(t *testing.T) {
	long(t)
	inTemp(t)
	writePNG(t, "our cat's.png", 60, 40)
	code, out, errs := kitwright(t, "ladder", "our cat's.png", "--grid", "30x20", "--focus", "10,10,20,20", "--focus", "50,50,20,20", "--caption", "O'Ma", "--avoid", "5R 4/14,5R 5/10", "--counts", "4,8", "--pace", "300,900", "--border", "1", "--grid", "40x30")
	require.Equal(t, 0, code, errs)
	next := commandIn(t, out, "kitwright chart")
	for _, want := range []string{"--grid 40x30", "--focus '10,10,20,20;50,50,20,20'", `--caption 'O'\''Ma'`, "--avoid '5R 4/14,5R 5/10'", `'our cat'\''s.png'`, "--colors ", "--pace 300,900"} {
		assert.Contains(t, next, want)
	}
	assert.NotContains(t, next, "counts")

	// What a shell makes of it runs, and leads on.
	code, out, errs = kitwright(t, split(t, next)[1:]...)
	require.Equal(t, 0, code, errs)
	next = commandIn(t, out, "kitwright testprint")
	code, _, errs = kitwright(t, split(t, next)[1:]...)
	require.Equal(t, 0, code, errs)

	code, out, errs = kitwright(t, "print", "our cat's-kit", "--only", "canvas", "--measured-row", "20=50.4mm")
	require.Equal(t, 0, code, errs)
	next = commandIn(t, out, "kitwright chart")
	assert.Contains(t, next, "--grid 40x30 --pitch 2.55mm")
	code, _, errs = kitwright(t, append(split(t, next)[1:], "-o", "again", "--quiet")...)
	require.Equal(t, 0, code, errs)
	before, after := kitOf(t, "our cat's-kit"), kitOf(t, "again")
	assert.Equal(t, before.Chart, after.Chart, "the grid and every drill are kept")
	assert.Equal(t, "2.55mm", after.Pitch.String())

	code, out, errs = kitwright(t, "chart", "--demo", "--grid", "60x40", "--colors", "5", "-o", "demo", "--measured-row", "20=50.4mm")
	require.Equal(t, 0, code, errs)
	_, out, _ = kitwright(t, "testprint", "demo", "-o", "demo.pdf", "--measured-row", "20=50.4mm")
	assert.True(t, strings.HasSuffix(commandIn(t, out, "kitwright chart"), " --demo"))
}

// commandIn returns the one line of a text that begins with the given words.
func commandIn(t *testing.T, text, begin string) string {
	t.Helper()
	line := regexp.MustCompile(`(?m)^  (` + begin + `.*)$`).FindStringSubmatch(text)
	require.NotNil(t, line, text)
	return line[1]
}

// split lets a shell part a command into words.
func split(t *testing.T, command string) []string {
	t.Helper()
	if runtime.GOOS == "windows" {
		t.Skip("skipped: no shell that quotes like this")
	}
	out, err := exec.Command("sh", "-c", "for w in "+command+`; do printf '%s\0' "$w"; done`).Output()
	require.NoError(t, err)
	return strings.Split(strings.TrimSuffix(string(out), "\x00"), "\x00")
}

func TestShellWords(t *testing.T) {
	for _, w := range []string{"ginger.jpg", "our cat.jpg", "it's", `"`, "$HOME", "a`b`", "ü♥", "", "*", `\`, "-x", "a\nb", "20%", "~"} {
		if runtime.GOOS != "windows" {
			assert.Equal(t, []string{w}, split(t, shell.Word(w, false)))
		}
	}
	assert.Equal(t, `"our cat.jpg"`, shell.Word("our cat.jpg", true))
	assert.Equal(t, `C:\cats\ginger.jpg`, shell.Word(`C:\cats\ginger.jpg`, true))
}

// The same photo with the same settings is made already; anything else is
// refused as before.
func TestMadeAlready(t *testing.T) {
	long(t)
	madeKit(t)
	same := []string{"chart", "--demo", "--grid", "60x40", "--colors", "12", "--tone", "none"}
	code, out, errs := kitwright(t, same...)
	assert.Equal(t, 0, code, errs)
	assert.Contains(t, out, "cat-kit is made already")
	for _, more := range [][]string{{"--colors", "11"}, {"--paper", "letter"}, {"--title", "Ginger"}, {"--card", "nbs"}} {
		code, _, errs := kitwright(t, append(same, more...)...)
		assert.Equal(t, 1, code, "%v", more)
		assert.Contains(t, errs, "exists already")
	}
	writePNG(t, "cat.png", 30, 20)
	code, _, _ = kitwright(t, "chart", "cat.png", "--grid", "60x40", "--colors", "12", "--tone", "none")
	assert.Equal(t, 1, code, "another photo")
	code, _, errs = kitwright(t, append(same, "--subject", "2,5,80,90", "--out", "with")...)
	require.Equal(t, 0, code, errs)
	code, out, errs = kitwright(t, append(same, "--subject", "2,5,80,90", "--out", "with")...)
	assert.Equal(t, 0, code, errs)
	assert.Contains(t, out, "with is made already")
	require.NoError(t, os.Remove("with/subject.png"))
	code, _, _ = kitwright(t, append(same, "--subject", "2,5,80,90", "--out", "with")...)
	assert.Equal(t, 1, code, "the outline is missing")
	require.NoError(t, exec.Command("rm", "cat-kit/labels.pdf").Run())
	code, _, _ = kitwright(t, same...)
	assert.Equal(t, 1, code, "a file is missing")
}

// Slips of unit are asked about, with what was likely meant.
func TestSlipsOfUnit(t *testing.T) {
	checker.Slow(t)
	inTemp(t)
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"--size", "40x50mm"}, "Try: 40x50cm, or --yes"},
		{[]string{"--size", "40x50in"}, "Try: 40x50cm, or --yes"},
		{[]string{"--size", "200x300cm"}, "Try: 200x300mm, or --yes"},
		{[]string{"--pitch", "25mm"}, "Try: 2.5mm, or --yes"},
		{[]string{"--pitch", "2.5cm"}, "Try: 2.5mm, or --yes"},
		{[]string{"--pitch", "1mm"}, "not sold"},
	} {
		code, _, errs := kitwright(t, append([]string{"chart", "--demo"}, c.args...)...)
		assert.Equal(t, 2, code, "%v", c.args)
		assert.Contains(t, errs, c.want, "%v", c.args)
	}
	large := kit.DefaultOrder()
	for _, size := range []string{"100x150cm", "150x100cm", "30x40in"} {
		require.NoError(t, large.Size.Set(size))
		assert.NoError(t, checkSlips(large, false), "%s is plainly meant", size)
	}
	code, _, errs := kitwright(t, "chart", "--demo", "--quiet", "--size", "60x40mm", "--colors", "5", "--yes")
	require.Equal(t, 0, code, errs)
	code, _, errs = kitwright(t, "chart", "--demo", "--quiet", "--grid", "12x16", "--colors", "5", "-o", "g")
	require.Equal(t, 0, code, "a grid is counted: %s", errs)
}
