package main

import (
	"bytes"
	"image"
	"image/color"
	"image/jpeg"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/disintegration/imaging"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
	"kitwright/palettes"
	"kitwright/photo"
)

// The README's chapter "Your own drills" is true: each of its commands runs,
// in order, in a folder that holds what the chapter says it does.
func TestOwnDrillsLineByLine(t *testing.T) {
	checker.Slow(t)
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

// The chapters before it are true, too: each command runs, those inside a
// sentence as well, and the picture is the one that its command makes.
func TestReadmeFromTheBeginning(t *testing.T) {
	if testing.Short() {
		t.Skip("skipped: makes a dozen kits")
	}
	text, err := os.ReadFile("../../README.md")
	require.NoError(t, err)
	picture, err := filepath.Abs("../../docs/cat.png")
	require.NoError(t, err)
	before, after, ok := strings.Cut(string(text), "\n## Your own drills\n")
	require.True(t, ok)
	_, after, ok = strings.Cut(after, "\n## From file")
	require.True(t, ok)
	after, _, _ = strings.Cut(after, "\n## ") // what follows has tests of its own
	home := into(t, nil)
	t.Setenv("HOME", home)
	t.Setenv("XDG_DATA_HOME", "")
	t.Setenv("LOCALAPPDATA", home)
	t.Setenv("LC_ALL", "en_GB.UTF-8")
	img, err := imaging.Decode(bytes.NewReader(photo.Demo()))
	require.NoError(t, err)
	saveJPEG(t, "ginger.jpg", img)

	typed := regexp.MustCompile("(?m)^    (?:\\./kitwright|go run \\./cmd/kitwright) (.*)$|`kitwright ([^`]*)`")
	quoted := regexp.MustCompile(`"[^"]*"|[^" ]+(?:="[^"]*")?`)
	ran := 0
	for _, m := range typed.FindAllStringSubmatch(before+after, -1) {
		command := m[1] + m[2]
		if slices.Contains([]string{"completion bash", "man", "licenses", "serve"}, command) {
			continue // their own tests have more, and serve has no end
		}
		var args []string
		for _, w := range quoted.FindAllString(command, -1) {
			args = append(args, strings.ReplaceAll(w, `"`, ""))
		}
		// Places where a kit may stand from the command before.
		require.NoError(t, os.RemoveAll("cat-kit"))
		require.NoError(t, os.RemoveAll("ginger-kit-print"))
		require.NoError(t, os.RemoveAll("testprint.pdf"))
		if args[0] == "chart" && slices.Contains(args, "--force") && len(args) == 2 {
			args = append(args, "--like", "ginger-kit")
		}
		code, _, errs := kitwright(t, args...)
		if strings.HasPrefix(command, "edit --swap") { // the color is an example
			assert.Contains(t, []int{0, 2}, code, "%s\n%s", command, errs)
			continue
		}
		assert.Equal(t, 0, code, "%s\n%s", command, errs)
		if strings.Contains(command, "--grid 64x48") {
			made, err := imaging.Open("cat-kit/preview.png")
			require.NoError(t, err)
			if os.Getenv("UPDATE") != "" { // as golden files are
				b, err := os.ReadFile("cat-kit/preview.png")
				require.NoError(t, err)
				require.NoError(t, os.WriteFile(picture, b, 0o644))
			}
			shown, err := imaging.Open(picture)
			require.NoError(t, err)
			assert.True(t, bytes.Equal(imaging.Clone(made).Pix, imaging.Clone(shown).Pix), "docs/cat.png is another picture")
			ran += 100
		}
		ran++
	}
	assert.Greater(t, ran, 112)
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
