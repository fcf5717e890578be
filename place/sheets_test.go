package place_test

import (
	"encoding/csv"
	"image"
	"image/color"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/disintegration/imaging"
	"github.com/stretchr/testify/require"

	"kitwright/lab"
)

// TestSheets makes a contact sheet of each photo in the folder that
// KITWRIGHT_SHEETS names, to be looked at: photo, nearest colors, error
// diffusion, what the kitwright that KITWRIGHT_BEFORE names makes of it, and with
// colors exchanged calm 0, the default and calm 1; near above, as from two meters below.
func TestSheets(t *testing.T) {
	folder := os.Getenv("KITWRIGHT_SHEETS")
	if folder == "" {
		t.Skip("skipped: KITWRIGHT_SHEETS names no folder for the sheets")
	}
	require.NoError(t, os.MkdirAll(folder, 0o777))
	for _, path := range photos(t) {
		t.Run(nameOf(path), func(t *testing.T) { sheet(t, sampleOf(t, path), folder) })
	}
}

// sheet makes the contact sheet of a photo.
func sheet(t *testing.T, s *sample, folder string) {
	pictures := []*lab.Grid{s.grid, s.made(s.nearest()), s.made(s.diffused())}
	if before := os.Getenv("KITWRIGHT_BEFORE"); before != "" {
		pictures = append(pictures, chartOf(t, before, s))
	}
	s.exchange(t)
	for _, calm := range []float64{0, .5, 1} {
		pictures = append(pictures, s.made(s.lay(t, calm)))
	}
	const scale, gap = 4, 8
	w, h := s.grid.Cols*scale+gap, s.grid.Rows*scale+gap
	sheet := imaging.New(w*len(pictures), 2*h, color.White)
	for i, g := range pictures {
		for row, g := range []*lab.Grid{g, lab.FarPicture(g, lab.CellsPerDegree(2.5, 2000))} {
			sheet = imaging.Paste(sheet, imaging.Resize(pictureOf(g), g.Cols*scale, 0, imaging.NearestNeighbor), image.Pt(i*w, row*h))
		}
	}
	require.NoError(t, imaging.Save(sheet, filepath.Join(folder, s.name+".png")))
}

func pictureOf(g *lab.Grid) image.Image {
	img := image.NewNRGBA(image.Rect(0, 0, g.Cols, g.Rows))
	for i, c := range g.Cells {
		rgb, _ := c.SRGB()
		img.SetNRGBA(i%g.Cols, i/g.Cols, color.NRGBA{rgb[0], rgb[1], rgb[2], 255})
	}
	return img
}

// chartOf is the picture that another kitwright makes of a photo.
func chartOf(t *testing.T, program string, s *sample) *lab.Grid {
	dir := filepath.Join(t.TempDir(), "kit")
	out, err := exec.Command(program, "chart", s.path, "--grid", "160x120", "--colors", "24", "--quiet", "--out", dir).CombinedOutput()
	require.NoError(t, err, string(out))
	read := func(name string) [][]string {
		f, err := os.Open(filepath.Join(dir, name))
		require.NoError(t, err)
		defer f.Close()
		rows, err := csv.NewReader(f).ReadAll()
		require.NoError(t, err)
		return rows
	}
	colors := map[string]lab.Color{}
	for _, row := range read("kit.csv")[1:] {
		for _, field := range row {
			if len(field) == 7 && field[0] == '#' {
				v, err := strconv.ParseUint(field[1:], 16, 24)
				require.NoError(t, err)
				colors[row[0]] = lab.FromSRGB([3]uint8{uint8(v >> 16), uint8(v >> 8), uint8(v)})
			}
		}
	}
	rows := read("chart.csv")
	g := lab.NewGrid(len(rows[0]), len(rows))
	for y, row := range rows {
		for x, number := range row {
			c, ok := colors[number]
			require.True(t, ok, "number %q", number)
			g.Set(x, y, c)
		}
	}
	return g
}
