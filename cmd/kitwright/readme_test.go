package main

import (
	"image"
	"image/color"
	"image/jpeg"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/disintegration/imaging"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
	"kitwright/palettes"
)

// The README's chapter "Your own drills" is true: each of its commands runs,
// in order, in a folder that holds what the chapter says it does.
func TestOwnDrillsLineByLine(t *testing.T) {
	checker.Need(t, "pdftoppm")
	text, err := os.ReadFile("../../README.md")
	require.NoError(t, err)
	_, chapter, ok := strings.Cut(string(text), "\n## Your own drills\n")
	require.True(t, ok)
	chapter, _, _ = strings.Cut(chapter, "\n## ")
	card, path := seasideCard(t)
	table, err := os.ReadFile(path)
	require.NoError(t, err)
	home := into(t, nil)
	t.Setenv("HOME", home)
	t.Setenv("XDG_DATA_HOME", "")
	t.Setenv("LOCALAPPDATA", home)
	t.Setenv("LC_ALL", "en_GB.UTF-8") // paper in A4
	require.NoError(t, os.Mkdir("testdata", 0o755))
	require.NoError(t, os.WriteFile(filepath.FromSlash(seaside), table, 0o644))
	var owned []string
	for i := range 24 {
		owned = append(owned, card.Drills[8*i].Address())
	}
	require.NoError(t, os.WriteFile("owned.txt", []byte(strings.Join(owned, "\n")+"\n"), 0o644))
	strip(t, card, owned)

	ran := 0
	for line := range strings.Lines(chapter) {
		command, isCommand := strings.CutPrefix(strings.TrimRight(line, "\n"), "    ./kitwright ")
		if !isCommand {
			continue
		}
		if strings.Contains(command, "page1.jpg") { // what a crafter does between the two commands
			require.NoError(t, exec.Command("pdftoppm", "-r", "150", "-png", "-singlefile", "frame.pdf", "frame").Run())
			saveJPEG(t, "page1.jpg", photographed(t, "frame.png", card, owned))
		}
		code, out, errs := kitwright(t, strings.Fields(command)...)
		assert.Equal(t, 0, code, "%s\n%s", command, errs)
		assert.NotEmpty(t, out, command)
		ran++
	}
	assert.Equal(t, 11, ran)
	for _, name := range []string{"seaside.csv", "owned.csv", "swatches.pdf", "frame.pdf", "measured.csv", "measured.seen.png", "strip-measured.csv", "cat-kit"} {
		_, err := os.Stat(name)
		assert.NoError(t, err, name)
	}
	name := "strip-measured.csv"
	measured, err := cardPlaces{}.open(env{}, &name)
	require.NoError(t, err)
	assert.Len(t, measured.Drills, len(owned))
	list, err := os.ReadFile("cat-kit/kit.csv")
	require.NoError(t, err)
	assert.Contains(t, string(list), ",SR-")
}

// strip paints a supplier's color card of 24 drills, 8 across and 3 down, and
// writes its layout; its corners are those that the chapter gives.
func strip(t *testing.T, card *palettes.Card, codes []string) {
	t.Helper()
	const cell, pitch, left, top = 76, 111.2, 60, 60
	img := imaging.New(980, 420, color.NRGBA{225, 225, 224, 255})
	var rows []string
	for i, address := range codes {
		j, ok := card.Index(address)
		require.True(t, ok)
		c := card.Drills[j].RGB
		x, y := left+int(pitch*float64(i%8)), top+int(pitch*float64(i/8))
		w, h := cell, cell
		img = imaging.Paste(img, imaging.New(w, h, color.NRGBA{dimmed(c[0], 0.75), dimmed(c[1], 0.75), dimmed(c[2], 0.75), 255}), image.Pt(x, y))
		if i%8 == 0 {
			rows = append(rows, address)
		} else {
			rows[i/8] += "," + address
		}
	}
	saveJPEG(t, "strip.jpg", img)
	require.NoError(t, os.WriteFile("strip.csv", []byte(strings.Join(rows, "\n")+"\n"), 0o644))
}

func saveJPEG(t *testing.T, name string, img image.Image) {
	t.Helper()
	f, err := os.Create(name)
	require.NoError(t, err)
	require.NoError(t, jpeg.Encode(f, img, &jpeg.Options{Quality: 92}))
	require.NoError(t, f.Close())
}
