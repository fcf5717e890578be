package quantize

import (
	"context"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
	"kitwright/lab"
)

// BenchmarkPeers compares the proven choice with what
// general-purpose programs find: same cells, same card (munsell), same error
// (the mean CIEDE2000 of the cells), no dithering. The programs see the grid as
// an sRGB picture of one pixel a cell and are helped twice, for they know no
// card: where two of their colors have the same nearest card color they are
// asked for more, up to 9, until k card colors remain; and each cell then takes
// the nearest of those by CIEDE2000. The least of all tries counts.
//
//	KITWRIGHT_PHOTOS=/usr/lib/python3/dist-packages/skimage/data go test ./quantize -run xxx -bench Peers -benchtime 1x
//
// ImageMagick's -colors (octree), pngquant (median cut and k-means in RGB; both
// from Debian) and, where python3-scipy is there, k-means in L*a*b* from five
// seeds.
func BenchmarkPeers(b *testing.B) {
	checker.Need(b, "convert", "pngquant")
	card := munsell(b)
	for _, photo := range photoNames {
		b.Run(photo, func(b *testing.B) {
			g := loadPhoto(b, photo, 160, 200)
			p, err := Prepare(g, card)
			require.NoError(b, err)
			peers := newPeers(b, g)
			for b.Loop() {
				least := 100.0
				var log strings.Builder
				for _, k := range []int{8, 18, 30, 60} {
					s, err := p.Select(context.Background(), Options{K: k})
					require.NoError(b, err)
					ours := float64(s.Cost) / Unit / float64(len(g.Cells))
					fmt.Fprintf(&log, "\nk %2d: ours %.3f", k, ours)
					for _, peer := range peers.all {
						mean := peers.best(b, p, card, peer, k)
						fmt.Fprintf(&log, ", %s %.3f (ours %.1f %% below)", peer.name, mean, 100*(1-ours/mean))
						least = min(least, 100*(1-ours/mean))
						if mean < ours {
							b.Errorf("%s, k %d: %s reaches %.4f, we %.4f", photo, k, peer.name, mean, ours)
						}
					}
				}
				b.Log(log.String())
				b.ReportMetric(least, "least-%-below-best-peer")
			}
		})
	}
}

// peer makes a picture of at most n colors, or several to choose from.
type peer struct {
	name string
	make func(n int) [][]lab.Color
}

type peers struct {
	all []peer
	dir string
}

func newPeers(b *testing.B, g *lab.Grid) *peers {
	p := &peers{dir: b.TempDir()}
	file := func(name string) string { return filepath.Join(p.dir, name) }
	img := image.NewNRGBA(image.Rect(0, 0, g.Cols, g.Rows))
	for i, c := range g.Cells {
		rgb, _ := c.SRGB()
		img.SetNRGBA(i%g.Cols, i/g.Cols, color.NRGBA{rgb[0], rgb[1], rgb[2], 255})
	}
	f, err := os.Create(file("in.png"))
	require.NoError(b, err)
	require.NoError(b, png.Encode(f, img))
	require.NoError(b, f.Close())
	run := func(args ...string) {
		out, err := exec.Command(args[0], args[1:]...).CombinedOutput()
		require.NoError(b, err, "%v: %s", args, out)
	}
	colors := func() [][]lab.Color {
		f, err := os.Open(file("out.png"))
		require.NoError(b, err)
		defer f.Close()
		img, err := png.Decode(f)
		require.NoError(b, err)
		seen := map[color.NRGBA]bool{}
		var list []lab.Color
		for y := range g.Rows {
			for x := range g.Cols {
				c := color.NRGBAModel.Convert(img.At(x, y)).(color.NRGBA)
				if !seen[c] {
					seen[c] = true
					list = append(list, lab.FromSRGB([3]uint8{c.R, c.G, c.B}))
				}
			}
		}
		return [][]lab.Color{list}
	}
	p.all = []peer{
		{"ImageMagick", func(n int) [][]lab.Color {
			run("convert", file("in.png"), "-dither", "None", "-colors", fmt.Sprint(n), "png24:"+file("out.png"))
			return colors()
		}},
		{"pngquant", func(n int) [][]lab.Color {
			run("pngquant", "--force", "--nofs", "--speed", "1", "--output", file("out.png"), fmt.Sprint(n), file("in.png"))
			return colors()
		}},
	}
	for _, python := range []string{"/usr/bin/python3", "python3"} {
		if exec.Command(python, "-c", "import scipy.cluster.vq").Run() == nil {
			p.all = append(p.all, peer{"k-means", func(n int) [][]lab.Color { return kmeans(b, python, g, n) }})
			break
		}
	}
	return p
}

// kmeans returns the centers that scipy's k-means finds from five seeds.
func kmeans(b *testing.B, python string, g *lab.Grid, n int) (sets [][]lab.Color) {
	const program = `
import sys, numpy as np
from scipy.cluster.vq import kmeans2
n = int(sys.argv[1])
cells = np.loadtxt(sys.stdin)
for seed in range(5):
    centers, _ = kmeans2(cells, n, iter=40, minit="++", seed=seed)
    for c in centers:
        print(seed, *c)
`
	var in strings.Builder
	for _, c := range g.Cells {
		fmt.Fprintln(&in, c.L, c.A, c.B)
	}
	cmd := exec.Command(python, "-W", "ignore", "-c", program, fmt.Sprint(n))
	cmd.Stdin = strings.NewReader(in.String())
	out, err := cmd.Output()
	require.NoError(b, err)
	for line := range strings.Lines(string(out)) {
		var seed int
		var c lab.Color
		_, err := fmt.Sscan(line, &seed, &c.L, &c.A, &c.B)
		require.NoError(b, err)
		if seed == len(sets) {
			sets = append(sets, nil)
		}
		sets[seed] = append(sets[seed], c)
	}
	return sets
}

// best returns the least mean miss that a peer's colors reach, helped.
func (*peers) best(b *testing.B, p *Problem, card []lab.Color, peer peer, k int) float64 {
	best := 0.0
	for n := k; n <= k+9; n++ {
		for _, made := range peer.make(n) {
			var chosen []int
			for _, c := range made {
				near := 0
				for j := range card {
					if lab.DeltaE(c, card[j]) < lab.DeltaE(c, card[near]) {
						near = j
					}
				}
				if !slices.Contains(chosen, near) {
					chosen = append(chosen, near)
				}
			}
			if len(chosen) > k {
				continue
			}
			if mean := float64(p.Miss(chosen)) / Unit / float64(len(p.cell)); best == 0 || mean < best {
				best = mean
			}
		}
	}
	require.NotZero(b, best, "%s never stayed within %d colors", peer.name, k)
	return best
}
