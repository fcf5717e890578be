package main

import (
	"bytes"
	"context"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/folder"
	"kitwright/internal/checker"
	"kitwright/kit"
	"kitwright/render"
)

// madeKit makes a small kit in an empty folder.
func madeKit(t *testing.T, args ...string) {
	t.Helper()
	inTemp(t)
	t.Setenv("LC_ALL", "C")
	code, _, errs := kitwright(t, append([]string{"chart", "--demo", "--quiet", "--grid", "60x40", "--colors", "12", "--tone", "none"}, args...)...)
	require.Equal(t, 0, code, errs)
}

func read(t *testing.T, path string) []byte {
	t.Helper()
	b, err := os.ReadFile(path)
	require.NoError(t, err)
	return b
}

// A kit prints again without its photo: to the same bytes, and with other
// settings to other prints of the same drills.
func TestPrintAgain(t *testing.T) {
	long(t)
	madeKit(t, "--units", "in")
	code, out, errs := kitwright(t, "print", "cat-kit")
	require.Equal(t, 0, code, errs)
	assert.Contains(t, out, "cat-kit-print/canvas.pdf")
	for _, f := range names(t, "cat-kit") {
		assert.True(t, bytes.Equal(read(t, filepath.Join("cat-kit", f)), read(t, filepath.Join("cat-kit-print", f))), f)
	}

	code, _, errs = kitwright(t, "print", "cat-kit", "--quiet", "--paper", "letter", "--look", "ink", "--only", "canvas,sheets", "-o", "again")
	require.Equal(t, 0, code, errs)
	assert.Equal(t, []string{"canvas.pdf", "kit.json", "sheets.pdf"}, names(t, "again"))
	assert.False(t, bytes.Equal(read(t, "cat-kit/canvas.pdf"), read(t, "again/canvas.pdf")))
	before, after := kitOf(t, "cat-kit"), kitOf(t, "again")
	assert.Equal(t, before.Chart, after.Chart)
	assert.Equal(t, before.Order, after.Order)
	assert.Equal(t, "letter", after.Print["paper"])
	assert.Equal(t, "in", after.Print["units"], "what is not given stays")

	// In the place of the old one, which is kept.
	code, _, errs = kitwright(t, "print", "cat-kit", "--quiet", "--large", "--force", "-o", "cat-kit")
	require.Equal(t, 0, code, errs)
	assert.Equal(t, "true", kitOf(t, "cat-kit").Print["large"])
	assert.Equal(t, "false", kitOf(t, "cat-kit.before").Print["large"])

	// There, what is not printed anew is kept.
	require.NoError(t, os.WriteFile("cat-kit/tone.png", []byte("before and after"), 0o666))
	all, sheets := names(t, "cat-kit"), read(t, "cat-kit/sheets.pdf")
	code, _, errs = kitwright(t, "print", "cat-kit", "--quiet", "--only", "legend", "--paper", "letter", "--force", "-o", "./cat-kit/")
	require.Equal(t, 0, code, errs)
	assert.Equal(t, all, names(t, "cat-kit"))
	assert.Equal(t, "before and after", string(read(t, "cat-kit/tone.png")))
	assert.True(t, bytes.Equal(sheets, read(t, "cat-kit/sheets.pdf")))
	assert.Equal(t, []string{"again", "cat-kit", "cat-kit-print", "cat-kit.before"}, names(t, "."))
}

func kitOf(t *testing.T, dir string) *kit.Kit {
	t.Helper()
	k, err := kit.ReadJSON(bytes.NewReader(read(t, filepath.Join(dir, "kit.json"))))
	require.NoError(t, err)
	return k
}

// A kit that took the place of the one that was read does not get its prints,
// nor the other way round.
func TestPrintInPlaceOfAnother(t *testing.T) {
	checker.Slow(t)
	madeKit(t)
	from := source{dir: "cat-kit"}
	from.was, _ = os.Stat("cat-kit")
	k, err := folder.Read("cat-kit")
	require.NoError(t, err)
	code, _, errs := kitwright(t, "chart", "--demo", "--quiet", "--grid", "60x40", "--colors", "4", "--force")
	require.Equal(t, 0, code, errs)
	other := read(t, "cat-kit/kit.json")
	p := render.DefaultPrint()
	err = printAgain(context.Background(), env{stdout: io.Discard}, from, k, p, printChoice{"ticket.pdf": true}, "cat-kit", true, true)
	assert.ErrorContains(t, err, "meanwhile")
	assert.Equal(t, string(other), string(read(t, "cat-kit/kit.json")))
	assert.Equal(t, []string{"cat-kit", "cat-kit.before"}, names(t, "."))

	from.was, _ = os.Stat("cat-kit")
	k, err = folder.Read("cat-kit")
	require.NoError(t, err)
	require.NoError(t, printAgain(context.Background(), env{stdout: io.Discard}, from, k, p, printChoice{"ticket.pdf": true}, "cat-kit", true, true))
}

func TestTestPrint(t *testing.T) {
	madeKit(t)
	for _, args := range [][]string{{}, {"cat-kit", "-o", "cat.pdf"}, {"--drill", "round", "--paper", "letter", "-o", "round.pdf"}} {
		code, _, errs := kitwright(t, append([]string{"testprint"}, args...)...)
		require.Equal(t, 0, code, errs)
	}
	for _, name := range []string{"testprint.pdf", "cat.pdf", "round.pdf"} {
		assert.True(t, bytes.HasPrefix(read(t, name), []byte("%PDF-1.")), name)
	}
	first := read(t, "testprint.pdf")
	code, out, errs := kitwright(t, "testprint", "cat-kit")
	require.Equal(t, 0, code, errs)
	assert.FileExists(t, "testprint-2.pdf", "nothing is overwritten unasked")
	assert.Equal(t, first, read(t, "testprint.pdf"))
	assert.Contains(t, out, "kitwright print --measured ACROSS,DOWN cat-kit")
	code, _, errs = kitwright(t, "testprint", "-o", "testprint.pdf")
	assert.Equal(t, 1, code)
	assert.Contains(t, errs, "exists already")

	code, out, errs = kitwright(t, "testprint", "cat-kit", "--force", "--measured", "99.2mm,100.4mm", "--measured-row", "20=50.4mm")
	require.Equal(t, 0, code, errs)
	assert.Contains(t, out, "--pitch 2.55mm") // 2.52 mm a drill, one percent of slack
	assert.Contains(t, out, "99.2")
}

func TestPrintRefuses(t *testing.T) {
	checker.Slow(t)
	madeKit(t)
	require.NoError(t, os.Mkdir("empty", 0o777))
	require.NoError(t, os.Mkdir("edited", 0o777))
	edited := strings.Replace(string(read(t, "cat-kit/kit.json")), `"drills": `, `"drills": 1`, 1)
	require.NoError(t, os.WriteFile("edited/kit.json", []byte(edited), 0o666))
	require.NoError(t, os.Mkdir("newer", 0o777))
	newer := strings.Replace(string(read(t, "cat-kit/kit.json")), `"version": 1`, `"version": 2`, 1)
	require.NoError(t, os.WriteFile("newer/kit.json", []byte(newer), 0o666))
	before := names(t, ".")
	for _, c := range []struct {
		args []string
		code int
		want string
	}{
		{[]string{"print"}, 2, "one kit folder"},
		{[]string{"print", "gone"}, 1, "gone"},
		{[]string{"print", "cat-kit/kit.csv"}, 1, "not a kit folder"},
		{[]string{"print", "cat-kti"}, 1, "cat-kit is there"},
		{[]string{"print", "empty"}, 1, "no kit.json"},
		{[]string{"print", "edited"}, 1, "counts"},
		{[]string{"print", "newer"}, 1, "version 2"},
		{[]string{"print", "cat-kit", "--only", "poster"}, 2, "poster"},
		{[]string{"print", "cat-kit", "--paper", "1x1cm"}, 2, "paper"},
		{[]string{"print", "cat-kit", "--paper-margin", "200mm"}, 2, "--paper-margin"},
		{[]string{"print", "cat-kit", "--margin", "1mm"}, 2, "--margin"},
		{[]string{"print", "cat-kit", "--frame-lip", "90mm"}, 2, "--frame-lip"},
		{[]string{"testprint", "a", "b"}, 2, "one kit folder at most"},
		{[]string{"testprint", "cat-kit", "--drill", "round"}, 2, "--drill"},
		{[]string{"testprint", "--pitch", "0"}, 2, "--pitch"},
	} {
		code, _, errs := kitwright(t, c.args...)
		assert.Equal(t, c.code, code, "%v: %s", c.args, errs)
		assert.Contains(t, errs, c.want, "%v", c.args)
		assert.Contains(t, errs, "Try: ", "%v", c.args)
		assert.Equal(t, before, names(t, "."), "%v left something behind", c.args)
	}
}

// A kit of the first release prints in this one.
func TestPrintsKitsOfTheFirstRelease(t *testing.T) {
	kits, err := filepath.Glob("../../testdata/kits/v1-*")
	require.NoError(t, err)
	require.NotEmpty(t, kits)
	for i, dir := range kits {
		kits[i], err = filepath.Abs(dir)
		require.NoError(t, err)
	}
	inTemp(t)
	for _, from := range kits {
		name := filepath.Base(from)
		require.NoError(t, os.CopyFS(name, os.DirFS(from)))
		code, out, errs := kitwright(t, "print", name, "--only", "legend,ticket")
		require.Equal(t, 0, code, errs)
		assert.Contains(t, out, "printed again")
		assert.Equal(t, []string{"kit.json", "legend.pdf", "ticket.pdf"}, names(t, name+"-print"))
		code, _, errs = kitwright(t, "print", name, "--only", "legend", "--out", name, "--force") // it is known for ours
		require.Equal(t, 0, code, errs)
	}
}
