package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// No test reads or writes what the person who runs it keeps.
func TestMain(m *testing.M) {
	dir, err := os.MkdirTemp("", "kitwright-home-*")
	if err != nil {
		panic(err)
	}
	for _, name := range []string{"HOME", "XDG_DATA_HOME", "LOCALAPPDATA", "USERPROFILE"} {
		if name != "HOME" || os.Getenv("GOCACHE") != "" || os.Getenv("XDG_CACHE_HOME") != "" {
			os.Setenv(name, dir)
		}
	}
	code := m.Run()
	_ = os.RemoveAll(dir)
	os.Exit(code)
}

// What is set for all runs counts where no flag and no kit says otherwise.
func TestSet(t *testing.T) {
	long(t)
	inTemp(t)
	t.Setenv("LC_ALL", "C")
	set := func(want int, args ...string) string {
		code, out, errs := kitwright(t, append([]string{"set", "--home", "h"}, args...)...)
		require.Equal(t, want, code, "%v: %s", args, errs)
		return out + errs
	}
	assert.Contains(t, set(0), "Nothing is set")
	assert.Contains(t, set(0, "paper", "Letter"), "paper = letter\n")
	assert.Contains(t, set(0, "pitch", "2,6mm"), "paper = letter\npitch = 2.6mm\n")
	assert.Equal(t, "# kitwright settings, a line each: paper = letter\npaper = letter\npitch = 2.6mm\n", string(read(t, "h/settings.txt")))
	assert.Equal(t, []string{"settings.txt"}, names(t, "h"))
	assert.Contains(t, set(2, "paper", "1 sheet"), "is not a paper")
	assert.Contains(t, set(2, "focus", "1,2,3,4"), `"focus" cannot be set for all runs`)
	assert.Contains(t, set(2, "papr", "a4"), "Try: paper; ")
	assert.Contains(t, set(2, "paper"), "a setting and its value")
	assert.Contains(t, set(2, "--forget", "units"), "units is not set")

	chart := func(args ...string) map[string]string {
		code, _, errs := kitwright(t, append([]string{"chart", "--demo", "--quiet", "--home", "h", "--grid", "20x16", "--colors", "4", "--force"}, args...)...)
		require.Equal(t, 0, code, errs)
		k := kitOf(t, "cat-kit")
		return map[string]string{"paper": k.Print["paper"], "pitch": k.Pitch.String()}
	}
	assert.Equal(t, map[string]string{"paper": "letter", "pitch": "2.6mm"}, chart())
	assert.Equal(t, map[string]string{"paper": "a4", "pitch": "2.5mm"}, chart("--paper", "a4", "--pitch", "2.5mm"), "a flag comes first")
	code, _, errs := kitwright(t, "print", "--home", "h", "cat-kit", "--quiet", "--only", "legend")
	if code == 2 { // print keeps no cards, so it has no place for them
		code, _, errs = kitwright(t, "print", "cat-kit", "--quiet", "--only", "legend")
	}
	require.Equal(t, 0, code, errs)
	assert.Equal(t, "a4", kitOf(t, "cat-kit-print").Print["paper"], "a kit's own comes first too")
	assert.NotContains(t, set(0, "--forget", "paper"), "paper")
	assert.Equal(t, "a4", chart()["paper"])

	require.NoError(t, os.WriteFile("h/settings.txt", []byte("# kitwright settings\npaper: a4\n"), 0o666))
	code, _, errs = kitwright(t, "chart", "--demo", "--home", "h")
	assert.Equal(t, 1, code)
	assert.Contains(t, errs, "line 2")
	require.NoError(t, os.WriteFile("h/settings.txt", []byte("\ufeffdiary = dear\n"), 0o666))
	assert.Contains(t, set(1, "paper", "a4"), "line 1")
}

// Changing one's mind takes only what changes.
func TestLike(t *testing.T) {
	long(t)
	inTemp(t)
	require.NoError(t, os.Mkdir("photos", 0o777))
	writePNG(t, "photos/dog.png", 60, 40)
	code, _, errs := kitwright(t, "chart", "photos/dog.png", "--quiet", "--grid", "24x16", "--colors", "6", "--caption", "", "--focus", "10,10,20,20", "--focus", "50,50,20,20,5", "--avoid", "5R 4/14", "--paper", "letter", "-o", "photos/dog-kit")
	require.Equal(t, 0, code, errs)
	code, _, errs = kitwright(t, "chart", "--like", "photos/dog-kit", "--colors", "4", "--quiet")
	require.Equal(t, 0, code, errs)
	before, after := kitOf(t, "photos/dog-kit"), kitOf(t, "dog-kit")
	assert.Equal(t, "4", after.Order["colors"])
	before.Order["colors"] = "4"
	assert.Equal(t, before.Order, after.Order)
	assert.Equal(t, before.Print, after.Print)
	assert.Equal(t, before.Photo, after.Photo)

	code, out, errs := kitwright(t, "chart", "--like", "photos/dog-kit/kit.json", "--size", "7x5cm", "--yes")
	require.Equal(t, 0, code, errs)
	assert.Contains(t, out, filepath.Join("dog-kit-2", "canvas.pdf"), "the first free place")
	assert.Equal(t, 28, kitOf(t, "dog-kit-2").Chart.Cols, "a size comes before the kit's grid")
	code, _, errs = kitwright(t, "chart", "--like", "dog-kit-2", "--colors", "3", "--quiet", "photos/dog.png", "-o", "same-size")
	require.Equal(t, 0, code, "a small size that was meant once is meant: %s", errs)
	code, _, errs = kitwright(t, "chart", "--like", "dog-kit-2", "--size", "6x5cm", "photos/dog.png")
	assert.Equal(t, 2, code)
	assert.Contains(t, errs, "--yes if it is meant")

	require.NoError(t, os.Rename("photos/dog.png", "elsewhere.png"))
	code, _, errs = kitwright(t, "chart", "--like", "photos/dog-kit", "--colors", "5")
	assert.Equal(t, 1, code)
	assert.Contains(t, errs, "Try: name the photo too.")
	code, _, errs = kitwright(t, "chart", "--like", "photos/dog-kit", "--colors", "5", "--quiet", "elsewhere.png")
	require.Equal(t, 0, code, errs)
	assert.Equal(t, strings.Repeat("5", 1), kitOf(t, "elsewhere-kit").Order["colors"])

	code, _, errs = kitwright(t, "chart", "--demo", "--quiet", "--grid", "20x16", "--colors", "4")
	require.Equal(t, 0, code, errs)
	code, out, errs = kitwright(t, "ladder", "--like", "cat-kit", "--counts", "3,5")
	require.Equal(t, 0, code, errs)
	assert.Contains(t, commandIn(t, out, "kitwright chart"), "--like cat-kit")
}
