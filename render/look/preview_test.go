package look

import (
	"bytes"
	"crypto/sha256"
	"fmt"
	"image/png"
	"math"
	"runtime"
	"testing"

	"github.com/lucasb-eyer/go-colorful"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/golden"
	"kitwright/lab"
)

// swatches are the corners, edges and middle grays of sRGB and a spread of
// colors between.
func swatches() [][3]uint8 {
	var c [][3]uint8
	for _, r := range []uint8{0, 64, 128, 191, 255} {
		for _, g := range []uint8{0, 64, 128, 191, 255} {
			for _, b := range []uint8{0, 64, 128, 191, 255} {
				c = append(c, [3]uint8{r, g, b})
			}
		}
	}
	for _, v := range []uint8{1, 5, 12, 25, 40, 90, 160, 210, 235, 250, 254} {
		c = append(c, [3]uint8{v, v, v})
	}
	return append(c, [3]uint8{205, 133, 63}, [3]uint8{54, 27, 8}, [3]uint8{255, 250, 205}, [3]uint8{170, 20, 34})
}

// every swatch four times, so that it lies in several tilts.
func swatchStones(round, coat bool) Stones {
	c := swatches()
	s := Stones{Cols: len(c), Rows: 4, RGB: c, Round: round}
	for range s.Rows {
		for i := range c {
			s.Cells = append(s.Cells, uint16(i))
			s.AB = append(s.AB, coat)
		}
	}
	return s
}

// coverOf says how much of each pixel is stone, from the outline alone.
func coverOf(round bool, px int) []float64 {
	cover := make([]float64, px*px)
	inside := func(i int) float64 {
		from, to := float64(i)/float64(px)-.5, float64(i+1)/float64(px)-.5
		return (math.Min(to, squareHalf) - math.Max(from, -squareHalf)) * float64(px)
	}
	for i := range cover {
		if !round {
			cover[i] = inside(i%px) * inside(i/px)
			continue
		}
		const n = 50
		for k := range n * n {
			x := (float64(i%px)+(float64(k%n)+.5)/n)/float64(px) - .5
			y := (float64(i/px)+(float64(k/n)+.5)/n)/float64(px) - .5
			if math.Hypot(x, y) <= roundHalf {
				cover[i] += 1. / (n * n)
			}
		}
	}
	return cover
}

// The picture's 8-bit pixels, made linear again, and with what shows beside
// the stone taken off, must average to the drill's own color. The difference
// is CIEDE2000 by go-colorful.
func TestStonesKeepTheirDrillsColor(t *testing.T) {
	for _, round := range []bool{false, true} {
		for px := minPreviewPx; px <= maxPreviewPx; px++ {
			if testing.Short() && px%4 != 0 {
				continue
			}
			cover := coverOf(round, px)
			for _, coat := range []bool{false, true} {
				s := swatchStones(round, coat)
				img := Paint(s, px)
				worst, at := 0.0, [3]uint8{}
				for cell, index := range s.Cells {
					want := s.RGB[index]
					var mean [3]float64
					var all float64
					for i, a := range cover {
						x, y := cell%s.Cols*px+i%px, cell/s.Cols*px+i/px
						all += a
						for k := range mean {
							beside := .02
							if round {
								beside = .55 * float64(lab.Linear[want[k]]) / lab.LinearOne
							}
							seen := float64(lab.Linear[img.Pix[img.PixOffset(x, y)+k]]) / lab.LinearOne
							mean[k] += seen - (1-a)*beside
						}
					}
					got := colorful.LinearRgb(mean[0]/all, mean[1]/all, mean[2]/all)
					is := colorful.Color{R: float64(want[0]) / 255, G: float64(want[1]) / 255, B: float64(want[2]) / 255}
					if d := 100 * is.DistanceCIEDE2000(got); d > worst {
						worst, at = d, want
					}
				}
				assert.Less(t, worst, 1.0, "round %v, coat %v, %d px: %v", round, coat, px, at)
				t.Logf("round %v, coat %v, %d px: at most %.3f (%v)", round, coat, px, worst, at)
			}
		}
	}
}

// A stone is no flat patch: facets and glint differ, and stones from each other.
func TestStonesHaveFacets(t *testing.T) {
	for _, round := range []bool{false, true} {
		s := Stones{Cols: 12, Rows: 12, Cells: make([]uint16, 144), RGB: [][3]uint8{{150, 100, 60}}, Round: round}
		img := Paint(s, 12)
		tops := map[uint8]bool{}
		for cell := range s.Cells {
			tops[img.NRGBAAt(cell%12*12+6, cell/12*12+6).R] = true
		}
		assert.Greater(t, len(tops), 5, "all stones lie alike")
		upper, lower := img.NRGBAAt(6, 2).R, img.NRGBAAt(6, 9).R
		assert.Greater(t, upper, lower, "light comes from above")
		coated := s
		coated.AB = []bool{true}
		assert.NotEqual(t, img.Pix, Paint(coated, 12).Pix)
	}
}

func TestWindowShowsTheSameStones(t *testing.T) {
	s := swatchStones(true, false)
	whole, part := Paint(s, 7), Paint(s.Window(5, 1, 3, 2), 7)
	for y := range 2 * 7 {
		for x := range 3 * 7 {
			require.Equal(t, whole.NRGBAAt(5*7+x, 7+y), part.NRGBAAt(x, y))
		}
	}
}

func TestPreviewPx(t *testing.T) {
	for _, c := range []struct{ cols, rows, want int }{
		{1, 1, 16}, {160, 120, 16}, {160, 200, 13}, {400, 560, 5}, {600, 625, 4}, {601, 625, 3}, {1000, 1000, 2}, {2000, 1000, 1},
	} {
		got := PreviewPx(c.cols, c.rows)
		assert.Equal(t, c.want, got, "%d x %d", c.cols, c.rows)
		assert.LessOrEqual(t, c.cols*got*c.rows*got, 6_000_000)
	}
}

// Any size works, also where a pixel holds a whole drill: that is its mean.
func TestLookWhenSmall(t *testing.T) {
	for _, px := range []int{1, 2, 3} {
		img := Paint(Stones{Cols: 1, Rows: 1, Cells: []uint16{0}, RGB: [][3]uint8{{200, 120, 40}}}, px)
		assert.Equal(t, px, img.Bounds().Dx())
		assert.InDelta(t, 195, float64(img.NRGBAAt(0, 0).R), 40, "%d px", px)
	}
}

// The same pixels on every machine and with any number of workers.
func TestLookIsTheSameEverywhere(t *testing.T) {
	var got bytes.Buffer
	for _, round := range []bool{false, true} {
		for _, px := range []int{1, 4, 9, 16} {
			s := swatchStones(round, false)
			for i := range s.AB {
				s.AB[i] = i%3 == 0
			}
			img := Paint(s, px)
			before := runtime.GOMAXPROCS(1)
			alone := Paint(s, px)
			runtime.GOMAXPROCS(before)
			require.True(t, bytes.Equal(img.Pix, alone.Pix))
			fmt.Fprintf(&got, "round %v, %d px a drill: sha256 of the pixels %x\n", round, px, sha256.Sum256(img.Pix))
		}
	}
	golden.Equal(t, "look.txt", got.Bytes())
}

func TestWritePNG(t *testing.T) {
	img := Paint(swatchStones(false, false), 4)
	var file bytes.Buffer
	require.NoError(t, WritePNG(&file, img))
	back, err := png.Decode(&file)
	require.NoError(t, err)
	assert.Equal(t, img.Bounds(), back.Bounds())
	for x := range img.Bounds().Dx() {
		r, g, b, _ := back.At(x, 3).RGBA()
		c := img.NRGBAAt(x, 3)
		require.Equal(t, [3]uint8{c.R, c.G, c.B}, [3]uint8{uint8(r >> 8), uint8(g >> 8), uint8(b >> 8)})
	}
}

func BenchmarkLook(b *testing.B) {
	for _, round := range []bool{false, true} {
		b.Run(map[bool]string{false: "square", true: "round"}[round], func(b *testing.B) {
			cols, rows := 160, 200
			px := PreviewPx(cols, rows)
			s := Stones{Cols: cols, Rows: rows, RGB: swatches(), Round: round, Cells: make([]uint16, cols*rows)}
			for i := range s.Cells {
				s.Cells[i] = uint16(i / 7 % len(s.RGB))
			}
			for b.Loop() {
				Paint(s, px)
			}
			b.ReportMetric(float64(cols*px*rows*px*b.N)/1e6/b.Elapsed().Seconds(), "Mpx/s")
		})
	}
}
