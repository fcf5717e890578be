package place_test

import (
	"image"
	"image/color"
	"math"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/disintegration/imaging"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
	"kitwright/lab"
)

// ways lays the colors by other programs and in other ways, beside calm 0.
func (s *sample) ways(t testing.TB) map[string][]uint16 {
	out := map[string][]uint16{
		"calm 0": s.lay(t, 0), "pngquant, its own colors": s.quant(t),
		"direct binary search": s.searched(), "blue-noise mask": s.masked(),
	}
	for _, method := range []string{"FloydSteinberg", "Riemersma"} {
		out["ImageMagick "+method] = s.magick(t, method)
	}
	return out
}

// Beside other programs and the ways of the literature, on one photo: calm 0 is
// closer from two meters than any of them, with less than half the lone drills.
func TestBesideOtherDithers(t *testing.T) {
	if testing.Short() {
		t.Skip("skipped: -short")
	}
	checker.Need(t, "convert", "pngquant")
	s := samples(t, 1)[0].middle(96, 72)
	ways := s.ways(t)
	ours := s.judge(ways["calm 0"])
	for name, cells := range ways {
		f := s.judge(cells)
		t.Logf("%-28s 2 m %.3f  4 m %.3f  lone %4.1f %%", name, f.two, f.four, 100*f.confetti)
		if name != "calm 0" {
			assert.Less(t, ours.two, f.two, name)
			assert.Less(t, 2*ours.confetti, f.confetti, name)
		}
	}
}

// middle is a part of the sample, with its colors.
func (s *sample) middle(cols, rows int) *sample {
	part := *s
	part.grid = lab.NewGrid(cols, rows)
	for i := range part.grid.Cells {
		part.grid.Cells[i] = s.grid.At((s.grid.Cols-cols)/2+i%cols, (s.grid.Rows-rows)/2+i/cols)
	}
	for i, meters := range []float64{2, 4} {
		part.far[i] = lab.NewFarView(part.grid, lab.CellsPerDegree(2.5, meters*1000))
	}
	return &part
}

// BenchmarkDithers logs the same of four photos.
func BenchmarkDithers(b *testing.B) {
	checker.Need(b, "convert", "pngquant")
	list := samples(b, 4)
	for b.Loop() {
		sum := map[string]*figures{}
		for _, s := range list {
			for name, cells := range s.ways(b) {
				if sum[name] == nil {
					sum[name] = new(figures)
				}
				f := s.judge(cells)
				sum[name].two += f.two
				sum[name].four += f.four
				sum[name].confetti += f.confetti
			}
		}
		n := float64(len(list))
		for name, f := range sum {
			b.Logf("%-28s 2 m %.3f  4 m %.3f  lone %4.1f %%", name, f.two/n, f.four/n, 100*f.confetti/n)
			if name != "calm 0" && f.confetti < 2*sum["calm 0"].confetti {
				b.Errorf("%s has hardly more lone drills", name)
			}
		}
	}
}

// magick lays the colors by ImageMagick's dither on the same palette.
func (s *sample) magick(t testing.TB, method string) []uint16 {
	dir := t.TempDir()
	in, strip, out := filepath.Join(dir, "in.png"), filepath.Join(dir, "strip.png"), filepath.Join(dir, "out.png")
	palette := lab.NewGrid(len(s.colors), 1)
	copy(palette.Cells, s.colors)
	require.NoError(t, imaging.Save(pictureOf(s.grid), in))
	require.NoError(t, imaging.Save(pictureOf(palette), strip))
	text, err := exec.Command("convert", in, "-dither", method, "-remap", strip, out).CombinedOutput()
	require.NoError(t, err, string(text))
	return s.read(t, out)
}

// quant lays by pngquant, which chooses as many colors of its own; each then
// gives way to the nearest of ours.
func (s *sample) quant(t testing.TB) []uint16 {
	dir := t.TempDir()
	in, out := filepath.Join(dir, "in.png"), filepath.Join(dir, "out.png")
	require.NoError(t, imaging.Save(pictureOf(s.grid), in))
	text, err := exec.Command("pngquant", "--force", "--speed", "1", "--output", out, strconv.Itoa(len(s.colors)), in).CombinedOutput()
	require.NoError(t, err, string(text))
	return s.read(t, out)
}

func (s *sample) read(t testing.TB, path string) []uint16 {
	img, err := imaging.Open(path)
	require.NoError(t, err)
	require.Equal(t, image.Pt(s.grid.Cols, s.grid.Rows), img.Bounds().Size())
	known := map[color.NRGBA]uint16{}
	cells := make([]uint16, len(s.grid.Cells))
	for i := range cells {
		c := color.NRGBAModel.Convert(img.At(i%s.grid.Cols, i/s.grid.Cols)).(color.NRGBA)
		at, ok := known[c]
		if !ok {
			at = closest(lab.FromSRGB([3]uint8{c.R, c.G, c.B}), s.colors)
			known[c] = at
		}
		cells[i] = at
	}
	return cells
}

// searched is direct binary search (M. Analoui, J. P. Allebach, "Model-based
// halftoning using direct binary search", SPIE 1666 (1992) 96-108) taken to
// many colors: from error diffusion on, each cell takes the color that lowers
// the squared miss of linear light, blurred by a Gaussian of one cell and
// weighed as L* is steep there, until none does. Plain code, in floating point.
func (s *sample) searched() []uint16 {
	cols, rows := s.grid.Cols, s.grid.Rows
	cells := s.diffused()
	own := make([][3]float64, len(s.colors))
	for j, c := range s.colors {
		own[j][0], own[j][1], own[j][2] = c.LinearRGB()
	}
	var kernel [5][5]float64
	line := lab.Gaussian(1, 2)
	for y := range 5 {
		for x := range 5 {
			kernel[y][x] = line[max(y-2, 2-y)] * line[max(x-2, 2-x)]
		}
	}
	miss, weight := make([][3]float64, len(cells)), make([]float64, len(cells))
	around := func(i int, do func(j int, w float64)) {
		for y := max(0, i/cols-2); y <= min(rows-1, i/cols+2); y++ {
			for x := max(0, i%cols-2); x <= min(cols-1, i%cols+2); x++ {
				do(y*cols+x, kernel[y-i/cols+2][x-i%cols+2])
			}
		}
	}
	for i, c := range s.grid.Cells {
		var t [3]float64
		t[0], t[1], t[2] = c.LinearRGB()
		weight[i] = math.Pow(math.Max(.01, lab.Luminance(t)), -4./3)
		around(i, func(j int, w float64) {
			for k := range 3 {
				miss[j][k] += w * (own[cells[i]][k] - t[k])
			}
		})
	}
	for range 4 {
		for i := range cells {
			best, least := cells[i], -1e-12
			for c := range s.colors {
				var change float64
				around(i, func(j int, w float64) {
					for k := range 3 {
						d := w * (own[c][k] - own[cells[i]][k])
						change += weight[j] * d * (2*miss[j][k] + d)
					}
				})
				if change < least {
					best, least = uint16(c), change
				}
			}
			old := cells[i]
			around(i, func(j int, w float64) {
				for k := range 3 {
					miss[j][k] += w * (own[best][k] - own[old][k])
				}
			})
			cells[i] = best
		}
	}
	return cells
}

// masked lays by a blue-noise mask (R. Ulichney, "The void-and-cluster method
// for dither array generation", SPIE 1913 (1993) 332-343; grown from one point
// by the largest void): of the two colors whose mixture is nearest to the
// target, the mask's threshold picks one.
func (s *sample) masked() []uint16 {
	const side = 32
	var mask [side * side]float64
	var filled [side * side]bool
	var field [side * side]float64
	at := 0
	for rank := range side * side {
		mask[at] = (float64(rank) + .5) / (side * side)
		filled[at] = true
		for i := range field {
			dx, dy := (i%side-at%side+side)%side, (i/side-at/side+side)%side
			dx, dy = min(dx, side-dx), min(dy, side-dy)
			field[i] += math.Exp(-float64(dx*dx+dy*dy) / (2 * 1.5 * 1.5))
		}
		at = -1
		for i := range field {
			if !filled[i] && (at < 0 || field[i] < field[at]) {
				at = i
			}
		}
		if at < 0 {
			break
		}
	}
	cells := make([]uint16, len(s.grid.Cells))
	for i, c := range s.grid.Cells {
		first, second, share, least := closest(c, s.colors), closest(c, s.colors), 0., math.Inf(1)
		near := s.colors[first]
		for j, q := range s.colors {
			dl, da, db := q.L-near.L, q.A-near.A, q.B-near.B
			length := dl*dl + da*da + db*db
			if length == 0 || length > 15*15 {
				continue
			}
			t := ((c.L-near.L)*dl + (c.A-near.A)*da + (c.B-near.B)*db) / length
			t = math.Min(1, math.Max(0, t))
			l, a, bb := near.L+t*dl-c.L, near.A+t*da-c.A, near.B+t*db-c.B
			if d := l*l + a*a + bb*bb; d < least {
				second, share, least = uint16(j), t, d
			}
		}
		cells[i] = first
		if mask[i/s.grid.Cols%side*side+i%s.grid.Cols%side] < share {
			cells[i] = second
		}
	}
	return cells
}
