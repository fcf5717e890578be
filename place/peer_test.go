package place

import (
	"context"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"maps"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"sort"
	"testing"

	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
	"kitwright/lab"
	"kitwright/palettes"
)

// BenchmarkPlaceAgainstDither lays 18 and 30 colors of the munsell card into
// the four open photos that come with scikit-image (KITWRIGHT_PHOTOS names its
// data folder) and compares with the best that ImageMagick and pngquant do by
// dithering in at most as many colors of the same card. Blurred is the mean
// CIEDE2000 after a Gaussian blur of linear light over one cell, confetti the
// share of drills with no like neighbor. The best peer is the one with the
// least blurred difference; one of them gets our own colors to work with.
func BenchmarkPlaceAgainstDither(b *testing.B) {
	checker.Need(b, "convert", "pngquant")
	folder := checker.Folder(b, "KITWRIGHT_PHOTOS")
	card, err := palettes.Named("munsell")
	require.NoError(b, err)
	all := make([]lab.Color, len(card.Drills))
	for i, d := range card.Drills {
		all[i] = d.Lab
	}
	for _, photo := range []string{"chelsea.png", "astronaut.png", "coffee.png", "rocket.jpg"} {
		g := photoGrid(b, filepath.Join(folder, photo), 180)
		for _, k := range []int{18, 30} {
			b.Run(fmt.Sprintf("%s-%d", photo[:len(photo)-4], k), func(b *testing.B) {
				colors := fairColors(g, all, k)
				peer, peerBlurred, peerLone := "", math.Inf(1), 0.0
				made := ditherPeers(b, g, all, colors, k)
				for _, name := range slices.Sorted(maps.Keys(made)) {
					made := made[name]
					blurred, lone := blurredMiss(g, made.grid), loneShare(made.cells, g.Cols, g.Rows)
					b.Logf("%-34s blurred %.3f, confetti %4.1f %%, mean %.3f", name, blurred, 100*lone, meanDifference(g, made.grid))
					if blurred < peerBlurred {
						peer, peerBlurred, peerLone = name, blurred, lone
					}
				}
				opt := Options{Blend: 1, Smooth: 1, Lone: 2}
				for b.Loop() {
					_, err := Place(context.Background(), g, colors, nil, opt)
					require.NoError(b, err)
				}
				for _, named := range []struct {
					name string
					opt  Options
				}{{"Calm .5", Options{Calm: .5}}, {"Blend 1, Smooth 1, Lone 2", opt}} {
					at := lay(b, g, colors, named.opt)
					made := painted(g, colors, at)
					blurred, lone := blurredMiss(g, made), loneShare(at, g.Cols, g.Rows)
					b.Logf("ours, %-28s blurred %.3f, confetti %4.1f %%, mean %.3f", named.name, blurred, 100*lone, meanDifference(g, made))
					if named.opt.Calm > 0 {
						b.ReportMetric(blurred/peerBlurred, "blurred/peer-calm.5")
						b.ReportMetric(lone/peerLone, "confetti/peer-calm.5")
						continue
					}
					b.ReportMetric(blurred/peerBlurred, "blurred/peer")
					b.ReportMetric(lone/peerLone, "confetti/peer")
					if blurred >= peerBlurred || lone >= peerLone {
						b.Errorf("%s is better in one: blurred %.3f, confetti %.1f %%", peer, peerBlurred, 100*peerLone)
					}
				}
			})
		}
	}
}

// fairColors picks k colors of a card: greedily, then exchanging each in turn,
// on the picture's cells in bins of 3 units.
func fairColors(g *lab.Grid, card []lab.Color, k int) []lab.Color {
	sums := map[[3]int]*[4]float64{}
	var keys [][3]int
	for _, c := range g.Cells {
		key := [3]int{int(math.Floor(c.L / 3)), int(math.Floor(c.A / 3)), int(math.Floor(c.B / 3))}
		s := sums[key]
		if s == nil {
			s = new([4]float64)
			sums[key] = s
			keys = append(keys, key)
		}
		s[0], s[1], s[2], s[3] = s[0]+c.L, s[1]+c.A, s[2]+c.B, s[3]+1
	}
	cost := make([][]float64, len(card))
	for j, c := range card {
		cost[j] = make([]float64, len(keys))
		for i, key := range keys {
			s := sums[key]
			cost[j][i] = s[3] * lab.DeltaE(c, lab.Color{L: s[0] / s[3], A: s[1] / s[3], B: s[2] / s[3]})
		}
	}
	var picked []int
	best := func(others []int) int {
		near := make([]float64, len(keys))
		for i := range near {
			near[i] = math.Inf(1)
			for _, j := range others {
				near[i] = math.Min(near[i], cost[j][i])
			}
		}
		least, at := math.Inf(1), 0
		for j := range card {
			var s float64
			for i, c := range cost[j] {
				s += math.Min(near[i], c)
			}
			if s < least {
				least, at = s, j
			}
		}
		return at
	}
	for len(picked) < k {
		picked = append(picked, best(picked))
	}
	for range 2 {
		for i := range picked {
			picked[i] = best(append(append([]int(nil), picked[:i]...), picked[i+1:]...))
		}
	}
	colors := make([]lab.Color, k)
	for i, j := range picked {
		colors[i] = card[j]
	}
	return colors
}

type peerResult struct {
	grid  *lab.Grid
	cells []uint16
}

// ditherPeers runs the other programs' dithers. All of them see the grid as an
// sRGB picture of one pixel a cell.
func ditherPeers(b *testing.B, g *lab.Grid, card, ours []lab.Color, k int) map[string]peerResult {
	dir := b.TempDir()
	file := func(name string) string { return filepath.Join(dir, name) }
	run := func(args ...string) {
		out, err := exec.Command(args[0], args[1:]...).CombinedOutput()
		require.NoError(b, err, "%v: %s", args, out)
	}
	source := image.NewNRGBA(image.Rect(0, 0, g.Cols, g.Rows))
	for i, c := range g.Cells {
		rgb, _ := c.SRGB()
		source.SetNRGBA(i%g.Cols, i/g.Cols, color.NRGBA{rgb[0], rgb[1], rgb[2], 255})
	}
	save := func(name string, img image.Image) {
		f, err := os.Create(file(name))
		require.NoError(b, err)
		require.NoError(b, png.Encode(f, img))
		require.NoError(b, f.Close())
	}
	strip := func(name string, colors []lab.Color) {
		img := image.NewNRGBA(image.Rect(0, 0, len(colors), 1))
		for i, c := range colors {
			rgb, _ := c.SRGB()
			img.SetNRGBA(i, 0, color.NRGBA{rgb[0], rgb[1], rgb[2], 255})
		}
		save(name, img)
	}
	snap := func(c lab.Color) int {
		near, at := math.Inf(1), 0
		for j, q := range card {
			if d := lab.DeltaE(c, q); d < near {
				near, at = d, j
			}
		}
		return at
	}
	// read returns a file with each of its colors replaced by the card's nearest.
	read := func(name string) peerResult {
		f, err := os.Open(file(name))
		require.NoError(b, err)
		defer f.Close()
		img, err := png.Decode(f)
		require.NoError(b, err)
		r := peerResult{lab.NewGrid(g.Cols, g.Rows), make([]uint16, len(g.Cells))}
		known := map[color.NRGBA]int{}
		used := map[int]bool{}
		for i := range g.Cells {
			c := color.NRGBAModel.Convert(img.At(i%g.Cols, i/g.Cols)).(color.NRGBA)
			at, ok := known[c]
			if !ok {
				at = snap(lab.FromSRGB([3]uint8{c.R, c.G, c.B}))
				known[c] = at
				used[at] = true
			}
			r.cells[i], r.grid.Cells[i] = uint16(at), card[at]
		}
		require.True(b, len(used) <= k || name == "card.out.png", "%s has %d colors", name, len(used))
		return r
	}
	top := func(r peerResult) []lab.Color {
		counts := map[uint16]int{}
		for _, c := range r.cells {
			counts[c]++
		}
		var order []uint16
		for c := range counts {
			order = append(order, c)
		}
		sort.Slice(order, func(i, j int) bool {
			if counts[order[i]] != counts[order[j]] {
				return counts[order[i]] > counts[order[j]]
			}
			return order[i] < order[j]
		})
		var colors []lab.Color
		for _, c := range order[:min(k, len(order))] {
			colors = append(colors, card[c])
		}
		return colors
	}
	results := map[string]peerResult{}
	dither := func(name string, colors []lab.Color) {
		strip("strip.png", colors)
		for _, method := range []string{"FloydSteinberg", "Riemersma"} {
			run("convert", file("in.png"), "-dither", method, "-remap", file("strip.png"), file("out.png"))
			results[name+", "+method] = read("out.png")
		}
	}
	save("in.png", source)
	strip("card.png", card)
	run("convert", file("in.png"), "-dither", "None", "-remap", file("card.png"), file("card.out.png"))
	dither("ImageMagick, commonest of the card", top(read("card.out.png")))
	run("convert", file("in.png"), "-dither", "None", "-colors", fmt.Sprint(k), file("colors.png"))
	dither("ImageMagick -colors, snapped", top(read("colors.png")))
	run("pngquant", "--force", "--nofs", "--speed", "1", "--output", file("q.png"), fmt.Sprint(k), file("in.png"))
	dither("pngquant's colors, snapped", top(read("q.png")))
	run("pngquant", "--force", "--speed", "1", "--output", file("q.png"), fmt.Sprint(k), file("in.png"))
	results["pngquant's own dither, snapped"] = read("q.png")
	dither("our colors", ours)
	return results
}
