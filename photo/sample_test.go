package photo

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"math"
	"math/rand/v2"
	"runtime"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/lab"
)

// noise is a picture of random numbers, the same for the same seed, with sides
// that nothing divides and bounds that do not start at 0,0.
func noise(w, h int, seed uint64) *image.NRGBA {
	rnd := rand.New(rand.NewPCG(seed, 7))
	m := image.NewNRGBA(image.Rect(3, 5, 3+w, 5+h))
	for i := range m.Pix {
		m.Pix[i] = uint8(rnd.Uint32())
		if i%4 == 3 {
			m.Pix[i] = 255
		}
	}
	return m
}

func photoOf(m image.Image, t turn) *Photo {
	p := &Photo{Format: "test", Space: "sRGB", turn: t, px: newPixels(m, srgbSpace, jpegRange)}
	p.Width, p.Height = t.size(m.Bounds().Dx(), m.Bounds().Dy())
	p.HasAlpha = hasAlpha(p.px)
	return p
}

// plainMeans is the plain float64 way: every pixel weighs the area that it
// shares with the cell. It knows the crop as the caller gave it.
func plainMeans(p *Photo, crop Crop, cols, rows int) [][3]float64 {
	w, h := p.px.size()
	px := make([][]light, h)
	for y := range px {
		px[y] = make([]light, w)
		p.px.line(y, 0, w, px[y])
	}
	out := make([][3]float64, cols*rows)
	for cy := range rows {
		for cx := range cols {
			x0, x1 := crop.X+crop.W*float64(cx)/float64(cols), crop.X+crop.W*float64(cx+1)/float64(cols)
			y0, y1 := crop.Y+crop.H*float64(cy)/float64(rows), crop.Y+crop.H*float64(cy+1)/float64(rows)
			var sum [3]float64
			for y := int(y0); y < min(p.Height, int(math.Ceil(y1))); y++ {
				for x := int(x0); x < min(p.Width, int(math.Ceil(x1))); x++ {
					sx, sy := p.turn.source(x, y, w, h)
					area := (math.Min(x1, float64(x+1)) - math.Max(x0, float64(x))) * (math.Min(y1, float64(y+1)) - math.Max(y0, float64(y)))
					for c := range sum {
						sum[c] += area * float64(px[sy][sx][c])
					}
				}
			}
			for c := range sum {
				out[cy*cols+cx][c] = sum[c] / ((x1 - x0) * (y1 - y0))
			}
		}
	}
	return out
}

func TestMeansAgreeWithPlainFloat(t *testing.T) {
	m := noise(83, 57, 1)
	for _, c := range []struct {
		crop       Crop
		cols, rows int
		turn       turn
	}{
		{Crop{0, 0, 83, 57}, 83, 57, 1},         // as it is
		{Crop{0, 0, 83, 57}, 10, 7, 1},          // uneven
		{Crop{0, 0, 83, 57}, 1, 1, 1},           // all of it
		{Crop{0, 0, 83, 57}, 200, 3, 1},         // cells narrower than pixels
		{Crop{10.25, 3.5, 40.125, 33}, 9, 8, 1}, // fractions of pixels
		{Crop{0.75, 0.5, 0.125, 0.25}, 2, 2, 1}, // inside one pixel
		{Crop{5.5, 30.25, 30, 40.5}, 7, 11, 6},  // turned
		{Crop{5.5, 30.25, 30, 40.5}, 7, 11, 7},
	} {
		p := photoOf(m, c.turn)
		got := p.Linear(c.crop, c.cols, c.rows)
		want := plainMeans(p, c.crop, c.cols, c.rows)
		for i := range want {
			for ch := range 3 {
				require.InDelta(t, want[i][ch], got.Cells[i][ch]*lab.LinearOne, 1, "%+v cell %d channel %d", c, i, ch)
			}
		}
	}
}

// White stays exactly white and a checker of black and white gives half the
// light, which is sRGB 188 and not 128 (IEC 61966-2-1: 0.5 encodes to 187.5).
func TestStripesGiveTheGrayTheEyeSees(t *testing.T) {
	m := image.NewGray(image.Rect(0, 0, 64, 64))
	for y := range 64 {
		for x := range 64 {
			if (x+y)%2 == 0 {
				m.SetGray(x, y, color.Gray{255})
			}
		}
	}
	g := photoOf(m, upright).Sample(Crop{}, 4, 4)
	for _, c := range g.Cells {
		rgb, _ := c.SRGB()
		assert.Equal(t, [3]uint8{188, 188, 188}, rgb)
	}
	for i := range m.Pix {
		m.Pix[i] = 255
	}
	for _, c := range photoOf(m, upright).Sample(Crop{1.3, 2.7, 33.3, 44.1}, 7, 9).Cells {
		assert.Equal(t, lab.Color{L: 100}, c)
	}
}

// All eight orientations give the very numbers of the picture turned by hand.
func TestTurnedPhotosSampleExactlyAlike(t *testing.T) {
	up := noise(41, 29, 2)
	want := photoOf(up, upright)
	for o := turn(1); o <= 8; o++ {
		w, h := o.size(41, 29)
		stored := image.NewNRGBA(image.Rect(0, 0, w, h))
		for y := range 29 {
			for x := range 41 {
				sx, sy := o.source(x, y, w, h)
				stored.Set(sx, sy, up.At(x+3, y+5))
			}
		}
		p := photoOf(stored, o)
		require.Equal(t, [2]int{41, 29}, [2]int{p.Width, p.Height})
		crop := Crop{2.3, 1.9, 30.7, 25.2}
		assert.Equal(t, want.Linear(crop, 7, 5), p.Linear(crop, 7, 5), "orientation %d", o)
		assert.Equal(t, want.Picture(crop, 20, 20), p.Picture(crop, 20, 20), "orientation %d", o)
	}
}

func TestCoresDoNotMatter(t *testing.T) {
	p := photoOf(noise(120, 90, 3), 6)
	want := p.Sample(Crop{}, 31, 37)
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	for _, n := range []int{1, 2, 5} {
		runtime.GOMAXPROCS(n)
		require.Equal(t, want, p.Sample(Crop{}, 31, 37))
	}
}

// Every kind of picture a decoder gives reads the same color out of it.
func TestEveryKindOfPixels(t *testing.T) {
	want := [3]uint8{200, 120, 40}
	opaque := color.NRGBA{200, 120, 40, 255}
	rect := image.Rect(0, 0, 5, 3)
	ycc := image.NewYCbCr(rect, image.YCbCrSubsampleRatio420)
	yccA := image.NewNYCbCrA(rect, image.YCbCrSubsampleRatio440)
	y, cb, cr := color.RGBToYCbCr(200, 120, 40)
	for _, m := range []*image.YCbCr{ycc, &yccA.YCbCr} {
		fill(m.Y, y)
		fill(m.Cb, cb)
		fill(m.Cr, cr)
	}
	fill(yccA.A, 255)
	pal := image.NewPaletted(rect, color.Palette{opaque})
	pal.Pix[3] = 0
	// Inks leave of the paper what the color is; the last is black.
	inks := &packed{dims: dims{5, 3}, n: 4, colors: 4, stride: 20, pix: bytes.Repeat([]byte{55, 135, 215, 0}, 15)}
	packedRGB := &packed{dims: dims{5, 3}, n: 3, colors: 3, stride: 15, pix: bytes.Repeat([]byte{200, 120, 40}, 15)}
	pictures := map[string]image.Image{"ycc": ycc, "yccA": yccA, "paletted": pal, "nrgba": image.NewNRGBA(rect), "rgba": image.NewRGBA(rect), "nrgba64": image.NewNRGBA64(rect), "rgba64": image.NewRGBA64(rect), "inks": inks, "packed": packedRGB}
	for name, m := range pictures {
		if set, ok := m.(interface{ Set(x, y int, c color.Color) }); ok && name != "paletted" {
			for i := range 15 {
				set.Set(i%5, i/5, opaque)
			}
		}
		t.Run(name, func(t *testing.T) {
			p := photoOf(m, upright)
			assert.False(t, p.HasAlpha)
			for _, c := range p.Sample(Crop{}, 5, 3).Cells {
				rgb, _ := c.SRGB()
				for ch := range rgb {
					assert.InDelta(t, want[ch], rgb[ch], 1.01)
				}
			}
		})
	}
	for _, m := range []image.Image{grayOf(99), gray16Of(99 * 257)} {
		rgb, _ := photoOf(m, upright).Sample(Crop{}, 1, 1).Cells[0].SRGB()
		assert.Equal(t, [3]uint8{99, 99, 99}, rgb)
	}
}

func fill(b []byte, v byte) {
	for i := range b {
		b[i] = v
	}
}

func grayOf(v uint8) *image.Gray {
	m := image.NewGray(image.Rect(0, 0, 3, 2))
	fill(m.Pix, v)
	return m
}

func gray16Of(v uint16) *image.Gray16 {
	m := image.NewGray16(image.Rect(0, 0, 3, 2))
	for i := range 6 {
		m.SetGray16(i%3, i/3, color.Gray16{v})
	}
	return m
}

// Half-opaque black over white is half the light, in every kind of picture
// that has an alpha channel; what is not there at all is white.
func TestAlphaLiesOverWhite(t *testing.T) {
	rect := image.Rect(0, 0, 4, 2)
	ycc := image.NewNYCbCrA(rect, image.YCbCrSubsampleRatio420)
	fill(ycc.Cb, 128)
	fill(ycc.Cr, 128)
	pal := image.NewPaletted(rect, color.Palette{color.NRGBA{}, color.NRGBA{A: 128}})
	pictures := map[string]image.Image{"ycc": ycc, "paletted": pal, "nrgba": image.NewNRGBA(rect), "rgba": image.NewRGBA(rect), "nrgba64": image.NewNRGBA64(rect), "rgba64": image.NewRGBA64(rect)}
	for name, m := range pictures {
		t.Run(name, func(t *testing.T) {
			for i := range 4 { // the upper row is half there
				switch m := m.(type) {
				case *image.NYCbCrA:
					m.A[i] = 128
				case *image.Paletted:
					m.Pix[i] = 1
				case interface{ Set(x, y int, c color.Color) }:
					m.Set(i, 0, color.NRGBA{A: 128})
				}
			}
			p := photoOf(m, upright)
			require.True(t, p.HasAlpha)
			got := p.Linear(Crop{}, 2, 2)
			assert.InDelta(t, 127.0/255, got.Cells[0][1], 1e-4)
			assert.Equal(t, [3]float64{1, 1, 1}, got.Cells[3])
			opaque := p.Opacity(Crop{}, 2, 2)
			assert.InDelta(t, 128.0/255, opaque[1], 1e-4)
			assert.Zero(t, opaque[2])
		})
	}
	assert.Nil(t, photoOf(grayOf(7), upright).Opacity(Crop{}, 2, 2))
}

// 16-bit numbers keep what 8 bits would lose: in a dark ramp every one of 64
// steps inside one 8-bit step gives another color.
func TestSixteenBitsAreKept(t *testing.T) {
	m := image.NewGray16(image.Rect(0, 0, 64, 1))
	for x := range 64 {
		m.SetGray16(x, 0, color.Gray16{uint16(40*257 + 4*x)})
	}
	p := photoOf(m, upright)
	l := p.Linear(Crop{}, 64, 1)
	for x := range 64 {
		assert.InDelta(t, lab.Decode(float64(40*257+4*x)/65535), l.Cells[x][0], 1e-7)
	}
}

func TestPictureGivesTheNumbersBack(t *testing.T) {
	m := noise(31, 17, 4)
	got := photoOf(m, upright).Picture(Crop{}, 1000, 1000)
	require.Equal(t, image.Rect(0, 0, 31, 17), got.Rect)
	for y := range 17 {
		for x := range 31 {
			require.Equal(t, m.NRGBAAt(3+x, 5+y), got.NRGBAAt(x, y))
		}
	}
	small := photoOf(m, 6).Picture(Crop{0, 0, 17, 20}, 10, 10)
	assert.Equal(t, image.Rect(0, 0, 9, 10), small.Rect)
}

func TestCropsAreChecked(t *testing.T) {
	p := photoOf(noise(40, 30, 5), upright)
	for _, c := range []Crop{{}, p.Whole(), p.Percent(0, 0, 100, 100), p.Percent(33.3, 33.3, 66.7, 66.7)} {
		assert.NoError(t, p.Check(c), "%+v", c)
	}
	for _, c := range []Crop{{0, 0, 41, 30}, {-1, 0, 10, 10}, {0, 0, 0, 10}, {0, 25, 10, 10}, {math.NaN(), 0, 1, 1}, {0, 0, math.Inf(1), 1}} {
		assert.Error(t, p.Check(c), "%+v", c)
		assert.NotPanics(t, func() { p.Sample(c, 2, 2) })
	}
}

// A photo of one pixel gives that pixel's color everywhere.
func TestOnePixel(t *testing.T) {
	m := image.NewNRGBA(image.Rect(0, 0, 1, 1))
	m.Set(0, 0, color.NRGBA{10, 200, 30, 255})
	for _, o := range []turn{1, 6} {
		g := photoOf(m, o).Sample(Crop{}, 120, 160)
		for _, c := range g.Cells {
			require.Equal(t, lab.FromSRGB([3]uint8{10, 200, 30}).Round(), c)
		}
	}
}

func TestColorDifferencesAtOddPlaces(t *testing.T) {
	for _, ratio := range []image.YCbCrSubsampleRatio{image.YCbCrSubsampleRatio444, image.YCbCrSubsampleRatio422, image.YCbCrSubsampleRatio420, image.YCbCrSubsampleRatio440, image.YCbCrSubsampleRatio411, image.YCbCrSubsampleRatio410} {
		m := image.NewYCbCr(image.Rect(0, 0, 13, 7), ratio)
		rnd := rand.New(rand.NewPCG(9, 9))
		for _, plane := range [][]byte{m.Y, m.Cb, m.Cr} {
			for i := range plane {
				plane[i] = byte(rnd.Uint32())
			}
		}
		p := newYCC(m, nil, 0, jpegRange, srgb)
		out := make([]light, 13)
		for y := range 7 {
			for x0 := range 13 {
				for x1 := x0 + 1; x1 <= 13; x1++ {
					p.line(y, x0, x1, out)
					for x := x0; x < x1; x++ {
						c := m.YCbCrAt(x, y)
						require.Equal(t, p.at(c.Y, c.Cb, c.Cr), out[x-x0], fmt.Sprint(ratio, x0, x1, x, y))
					}
				}
			}
		}
	}
}
