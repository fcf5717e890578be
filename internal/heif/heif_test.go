package heif

import (
	"bytes"
	"context"
	"encoding/binary"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
)

func run(t testing.TB, name string, args ...string) {
	t.Helper()
	out, err := exec.Command(name, args...).CombinedOutput()
	require.NoError(t, err, "%s %v: %s", name, args, out)
}

// coded codes a piece of the demo photo with x265 (Debian package x265) and
// returns the decoder record and the coded picture.
func coded(t testing.TB, x, y, w, h int, args ...string) (hvcC, data []byte) {
	t.Helper()
	f, err := os.Open("../../photo/demo/cat.png")
	require.NoError(t, err)
	defer f.Close()
	cat, err := png.Decode(f)
	require.NoError(t, err)
	m := image.NewYCbCr(image.Rect(0, 0, w, h), image.YCbCrSubsampleRatio420)
	for j := range h {
		for i := range w {
			r, g, b, _ := cat.At(x+i, y+j).RGBA()
			m.Y[m.YOffset(i, j)], m.Cb[m.COffset(i, j)], m.Cr[m.COffset(i, j)] = color.RGBToYCbCr(byte(r>>8), byte(g>>8), byte(b>>8))
		}
	}
	dir := t.TempDir()
	yuv, out := filepath.Join(dir, "a.yuv"), filepath.Join(dir, "a.hevc")
	require.NoError(t, os.WriteFile(yuv, slices.Concat(m.Y, m.Cb, m.Cr), 0o666))
	run(t, "x265", append([]string{"--input", yuv, "--input-res", fmt.Sprintf("%dx%d", w, h), "--fps", "1", "--frames", "1", "--crf", "8", "--keyint", "1", "-o", out}, args...)...)
	stream, err := os.ReadFile(out)
	require.NoError(t, err)
	return record(t, stream)
}

// record splits a stream at its start codes (H.265, annex B) into parameter
// sets for an hvcC box and the picture with lengths in front.
func record(t testing.TB, stream []byte) (hvcC, data []byte) {
	sets := map[byte][][]byte{}
	for _, nal := range bytes.Split(stream, []byte{0, 0, 1}) {
		nal = bytes.TrimRight(nal, "\x00")
		if len(nal) < 3 {
			continue
		}
		switch kind := nal[0] >> 1 & 0x3F; {
		case kind >= 32 && kind <= 34:
			sets[kind] = append(sets[kind], nal)
		case kind < 32:
			data = binary.BigEndian.AppendUint32(data, uint32(len(nal)))
			data = append(data, nal...)
		}
	}
	require.Len(t, sets[33], 1)
	profile := unescape(sets[33][0])[3:15]
	var w writer
	w.u8(1)
	w.u8(profile...)
	w.u8(0xF0, 0, 0xFC, 0xFC|1, 0xF8, 0xF8, 0, 0, 0x0F, 3)
	for _, kind := range []byte{32, 33, 34} {
		w.u8(0x80 | kind)
		w.u16(len(sets[kind]))
		for _, nal := range sets[kind] {
			w.u16(len(nal))
			w.u8(nal...)
		}
	}
	return w, data
}

// rgb turns a decoded picture into red, green and blue by the plain formulas
// of ITU-T H.273, section 8.3.
func rgb(p *Picture) func(x, y int) [3]float64 {
	if d, ok := p.Image.(*Deep); ok {
		return func(x, y int) (v [3]float64) {
			c := d.At(d.Rect.Min.X+x, d.Rect.Min.Y+y).(color.NRGBA64)
			return [3]float64{float64(c.R) / 257, float64(c.G) / 257, float64(c.B) / 257}
		}
	}
	m := p.Image.(*image.YCbCr)
	gain, low, chroma := 1.0, 0.0, 1.0
	if p.Video {
		gain, low, chroma = 255.0/219, 16, 255.0/224
	}
	return func(x, y int) [3]float64 {
		c := m.YCbCrAt(m.Rect.Min.X+x, m.Rect.Min.Y+y)
		l, b, r := gain*(float64(c.Y)-low), chroma*(float64(c.Cb)-128), chroma*(float64(c.Cr)-128)
		red, blue := l+2*(1-p.Kr)*r, l+2*(1-p.Kb)*b
		return [3]float64{red, (l - p.Kr*red - p.Kb*blue) / (1 - p.Kr - p.Kb), blue}
	}
}

// agrees compares with what heif-convert (libheif, Debian package
// libheif-examples) makes of a file, in blocks of 4 x 4: that one smooths the
// color differences, which evens out there.
func agrees(t *testing.T, file []byte, limit float64) {
	t.Helper()
	dir := t.TempDir()
	in, out := filepath.Join(dir, "a.heic"), filepath.Join(dir, "a.png")
	require.NoError(t, os.WriteFile(in, file, 0o666))
	run(t, "heif-convert", in, out)
	b, err := os.ReadFile(out)
	require.NoError(t, err)
	want, err := png.Decode(bytes.NewReader(b))
	require.NoError(t, err)
	f, err := Parse(file)
	require.NoError(t, err)
	p, err := f.Decode(t.Context())
	require.NoError(t, err)
	w, h := want.Bounds().Dx(), want.Bounds().Dy()
	require.Equal(t, image.Pt(w, h), p.Image.Bounds().Size())
	at := rgb(p)
	var sum, worst float64
	n := 0
	for y := 0; y+4 <= h; y += 4 {
		for x := 0; x+4 <= w; x += 4 {
			var d [3]float64
			for i := range 16 {
				c := color.NRGBAModel.Convert(want.At(x+i%4, y+i/4)).(color.NRGBA)
				got := at(x+i%4, y+i/4)
				for k, v := range [3]byte{c.R, c.G, c.B} {
					d[k] += (math.Min(255, math.Max(0, got[k])) - float64(v)) / 16
				}
			}
			for _, v := range d {
				sum += math.Abs(v)
				worst = max(worst, math.Abs(v))
				n++
			}
		}
	}
	t.Logf("levels: mean %.3f worst %.2f", sum/float64(n), worst)
	assert.Less(t, sum/float64(n), limit)
}

// Range and matrix, told by the picture itself where the container is silent.
func TestRangeAndMatrixOfThePicture(t *testing.T) {
	if testing.Short() {
		t.Skip("skipped: -short")
	}
	checker.Need(t, "x265", "heif-convert")
	for _, c := range []struct {
		args  []string
		video bool
		kr    float64
	}{
		{[]string{"--range", "full", "--colormatrix", "smpte170m"}, false, 0.299},
		{[]string{"--range", "limited", "--colormatrix", "smpte170m"}, true, 0.299},
		{[]string{"--range", "full", "--colormatrix", "bt709"}, false, 0.2126},
		{[]string{"--range", "limited", "--colormatrix", "bt709", "--scaling-list", "default", "--sar", "1:1"}, true, 0.2126},
		{[]string{"--range", "limited", "--colormatrix", "bt2020nc", "--overscan", "show"}, true, 0.2627},
	} {
		t.Run(fmt.Sprint(c.args), func(t *testing.T) {
			hvcC, data := coded(t, 0, 0, 448, 296, c.args...)
			file := single(hvcC, data, 448, 296)
			f, err := Parse(file)
			require.NoError(t, err)
			p, err := f.Decode(t.Context())
			require.NoError(t, err)
			assert.Equal(t, c.video, p.Video)
			assert.Equal(t, c.kr, p.Kr)
			agrees(t, file, 0.7)
		})
	}
}

// Sizes that fit no block, and narrow pictures, whose rows libheif pads.
func TestSizes(t *testing.T) {
	if testing.Short() {
		t.Skip("skipped: -short")
	}
	checker.Need(t, "x265", "heif-convert")
	for _, s := range [][2]int{{64, 64}, {66, 70}, {90, 120}, {126, 64}, {130, 66}, {200, 298}} {
		hvcC, data := coded(t, 100, 0, s[0], s[1], "--range", "full", "--ctu", "16")
		agrees(t, single(hvcC, data, s[0], s[1]), 0.7)
	}
}

// writer builds boxes.
type writer []byte

func (w *writer) u8(v ...byte) { *w = append(*w, v...) }
func (w *writer) u16(v int)    { *w = binary.BigEndian.AppendUint16(*w, uint16(v)) }
func (w *writer) u32(v int)    { *w = binary.BigEndian.AppendUint32(*w, uint32(v)) }
func (w *writer) text(s string) {
	*w = append(*w, s...)
}

// box appends a box that fill fills.
func (w *writer) box(kind string, fill func()) {
	at := len(*w)
	w.u32(0)
	w.text(kind)
	fill()
	binary.BigEndian.PutUint32((*w)[at:], uint32(len(*w)-at))
}

// single is a file that holds one coded picture and nothing else.
func single(hvcC, data []byte, w, h int) []byte {
	var b writer
	b.box("ftyp", func() { b.text("heic\x00\x00\x00\x00mif1heic") })
	place := 0
	b.box("meta", func() {
		b.u32(0)
		b.box("hdlr", func() { b.u32(0); b.u32(0); b.text("pict"); b.u8(make([]byte, 13)...) })
		b.box("pitm", func() { b.u32(0); b.u16(1) })
		b.box("iinf", func() {
			b.u32(0)
			b.u16(1)
			b.box("infe", func() { b.u32(2 << 24); b.u16(1); b.u16(0); b.text("hvc1\x00") })
		})
		b.box("iprp", func() {
			b.box("ipco", func() {
				b.box("hvcC", func() { b.u8(hvcC...) })
				b.box("ispe", func() { b.u32(0); b.u32(w); b.u32(h) })
			})
			b.box("ipma", func() { b.u32(0); b.u32(1); b.u16(1); b.u8(2, 0x81, 2) })
		})
		b.box("iloc", func() {
			b.u32(0)
			b.u16(0x4400)
			b.u16(1)
			b.u16(1)
			b.u16(0)
			b.u16(1)
			place = len(b)
			b.u32(0)
			b.u32(len(data))
		})
	})
	b.box("mdat", func() {
		binary.BigEndian.PutUint32(b[place:], uint32(len(b)))
		b.u8(data...)
	})
	return b
}

// tiled is a file as phones write it: a grid of tiles, of which the last
// column and row hang over, under a brand that names no codec.
func tiled(t testing.TB, cols, rows, w, h int, hvcC []byte, tiles [][]byte, tw, th int) []byte {
	var b writer
	b.box("ftyp", func() { b.text("mif1\x00\x00\x00\x00mif1heic") })
	n := cols * rows
	var places []int
	b.box("meta", func() {
		b.u32(0)
		b.box("hdlr", func() { b.u32(0); b.u32(0); b.text("pict"); b.u8(make([]byte, 13)...) })
		b.box("pitm", func() { b.u32(0); b.u16(n + 1) })
		b.box("iinf", func() {
			b.u32(0)
			b.u16(n + 1)
			for i := range n {
				b.box("infe", func() { b.u32(2<<24 | 1); b.u16(i + 1); b.u16(0); b.text("hvc1\x00") })
			}
			b.box("infe", func() { b.u32(2 << 24); b.u16(n + 1); b.u16(0); b.text("grid\x00") })
		})
		b.box("iref", func() {
			b.u32(0)
			b.box("dimg", func() {
				b.u16(n + 1)
				b.u16(n)
				for i := range n {
					b.u16(i + 1)
				}
			})
		})
		b.box("iprp", func() {
			b.box("ipco", func() {
				b.box("hvcC", func() { b.u8(hvcC...) })
				b.box("ispe", func() { b.u32(0); b.u32(tw); b.u32(th) })
				b.box("ispe", func() { b.u32(0); b.u32(w); b.u32(h) })
			})
			b.box("ipma", func() {
				b.u32(0)
				b.u32(n + 1)
				for i := range n {
					b.u16(i + 1)
					b.u8(2, 0x81, 2)
				}
				b.u16(n + 1)
				b.u8(1, 3)
			})
		})
		b.box("idat", func() { b.u8(0, 0, byte(rows-1), byte(cols-1)); b.u16(w); b.u16(h) })
		b.box("iloc", func() {
			b.u32(1 << 24)
			b.u16(0x4400)
			b.u16(n + 1)
			for i := range n {
				b.u16(i + 1)
				b.u16(0)
				b.u16(0)
				b.u16(1)
				places = append(places, len(b))
				b.u32(0)
				b.u32(len(tiles[i]))
			}
			b.u16(n + 1)
			b.u16(1)
			b.u16(0)
			b.u16(1)
			b.u32(0)
			b.u32(8)
		})
	})
	b.box("mdat", func() {
		for i, tile := range tiles {
			binary.BigEndian.PutUint32(b[places[i]:], uint32(len(b)))
			b.u8(tile...)
		}
	})
	return b
}

func TestTilesOfAPhone(t *testing.T) {
	checker.Need(t, "x265", "heif-convert")
	var tiles [][]byte
	var hvcC []byte
	for i := range 6 {
		var data []byte
		hvcC, data = coded(t, i%3*128, i/3*128, 128, 128, "--range", "full", "--colormatrix", "smpte170m")
		tiles = append(tiles, data)
	}
	file := tiled(t, 3, 2, 330, 200, hvcC, tiles, 128, 128)
	f, err := Parse(file)
	require.NoError(t, err)
	assert.Equal(t, [2]int{330, 200}, [2]int{f.Width, f.Height})
	assert.False(t, f.Several)
	agrees(t, file, 0.7)

	// Broken off in the last row of tiles: the first one can be shown.
	whole, err := f.Decode(t.Context())
	require.NoError(t, err)
	assert.Equal(t, 200, whole.Rows)
	cut, err := Parse(file[:len(file)-20])
	require.NoError(t, err)
	p, err := cut.Decode(t.Context())
	require.NoError(t, err)
	assert.Equal(t, 128, p.Rows)
	require.Equal(t, image.Rect(0, 0, 330, 128), p.Image.Bounds())
	assert.Equal(t, whole.Image.At(200, 100), p.Image.At(200, 100))
	// In the first one: nothing is there.
	cut, err = Parse(file[:len(file)-len(tiles[5])-len(tiles[4])-len(tiles[3])-20])
	require.NoError(t, err)
	_, err = cut.Decode(t.Context())
	assert.ErrorIs(t, err, ErrShort)
}

// A decoder ends when the work around it does, in the middle of a picture.
func TestDecodeEndsWithItsContext(t *testing.T) {
	for _, name := range []string{"small.heic", "small.avif"} {
		data, err := os.ReadFile("../../photo/testdata/" + name)
		require.NoError(t, err)
		f, err := Parse(data)
		require.NoError(t, err)
		ctx := &countdown{Context: t.Context(), left: 1 << 30}
		_, err = f.Decode(ctx)
		require.NoError(t, err)
		asked := 1<<30 - ctx.left
		require.Greater(t, asked, 3, name)
		ended := 0
		for n := range asked {
			if _, err = f.Decode(&countdown{Context: t.Context(), left: n}); err != nil {
				ended++
				assert.ErrorIs(t, err, context.Canceled, "%s: after %d", name, n)
			}
		}
		assert.Equal(t, asked, ended, name)
	}
}

// countdown is a context that ends when it was asked so many times.
type countdown struct {
	context.Context
	mu   sync.Mutex
	left int
}

func (c *countdown) Err() error {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.left <= 0 {
		return context.Canceled
	}
	c.left--
	return nil
}

// Tiles in several pieces, as writers that stream leave them, come out whole.
func TestItemsInPieces(t *testing.T) {
	f := &File{data: []byte("abcdefgh")}
	it := &item{extents: []extent{{6, 2}, {0, 3}}}
	for range 2 {
		b, err := f.bytes(it)
		require.NoError(t, err)
		assert.Equal(t, "ghabc", string(b))
	}
	_, err := f.bytes(&item{extents: []extent{{6, 3}}})
	assert.ErrorIs(t, err, ErrShort)
	_, err = f.bytes(&item{extents: []extent{{1, 1 << 63}, {1, 1 << 63}}})
	assert.ErrorIs(t, err, ErrShort)
	_, err = f.bytes(&item{})
	assert.Error(t, err)
}

func TestReadSPSRejects(t *testing.T) {
	for n := range 60 {
		_, ok := readSPS(bytes.Repeat([]byte{0xFF}, n))
		_ = ok // must return, whatever it says
		readSPS(make([]byte, n))
	}
	_, ok := readHvcC([]byte("short"))
	assert.False(t, ok)
}

// Damage in the head of a file is read or refused; pictures are not decoded
// here, so thousands of cases take no time.
func TestDamagedHeads(t *testing.T) {
	rnd := rand.New(rand.NewPCG(21, 22))
	files, err := filepath.Glob("../../photo/testdata/turned/*.[ha][ev]i[cf]")
	require.NoError(t, err)
	require.NotEmpty(t, files)
	refused, cases := 0, 500
	if testing.Short() {
		cases = 100
	}
	for _, name := range files {
		whole, err := os.ReadFile(name)
		require.NoError(t, err)
		for range cases {
			data := bytes.Clone(whole)
			for range 1 + rnd.IntN(4) {
				data[rnd.IntN(min(len(data), 600))] = byte(rnd.Uint32())
			}
			if _, err := Parse(data); err != nil {
				refused++
			}
		}
	}
	assert.Greater(t, refused, cases*len(files)/10)
	assert.Less(t, refused, cases*len(files))
}

func TestBrand(t *testing.T) {
	for head, want := range map[string]string{
		"\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic":     "HEIC",
		"\x00\x00\x00\x18ftypmif1\x00\x00\x00\x00mif1heic":     "HEIC",
		"\x00\x00\x00\x1cftypmif1\x00\x00\x00\x00mif1avifmiaf": "AVIF",
		"\x00\x00\x00\x18ftypisom\x00\x00\x00\x00mp41mp42":     "",
		"\x00\x00\x00\x18ftypcrx \x00\x00\x00\x00mp41mp42":     "",
		"heic": "",
	} {
		assert.Equal(t, want, Brand([]byte(head)), "%q", head)
	}
}

// BenchmarkPhonePhoto decodes 12 megapixels in 90 tiles of the demo photo, at
// about the size of file that phones write. The first decoding in a process
// also compiles the module.
func BenchmarkPhonePhoto(b *testing.B) {
	checker.Need(b, "x265")
	hvcC, data := coded(b, 0, 0, 448, 296, "--range", "full", "--crf", "24")
	tiles := slices.Repeat([][]byte{data}, 90)
	file := tiled(b, 9, 10, 4032, 2960, hvcC, tiles, 448, 296)
	start := time.Now()
	in, err := hevc.module.Open(b.Context())
	require.NoError(b, err)
	in.Close()
	compile := time.Since(start)
	for b.Loop() {
		f, err := Parse(file)
		require.NoError(b, err)
		_, err = f.Decode(b.Context())
		require.NoError(b, err)
	}
	b.ReportMetric(compile.Seconds(), "compile-s")
	b.ReportMetric(float64(len(file))/1e6, "MB-file")
}

// FuzzParse damages the containers that the tests of package photo read. What
// comes out has a size, and bounds what decoding it takes.
func FuzzParse(f *testing.F) {
	for _, pattern := range []string{"*.heic", "*.avif"} {
		names, err := filepath.Glob(filepath.Join("..", "..", "photo", "testdata", pattern))
		require.NoError(f, err)
		require.NotEmpty(f, names)
		for _, name := range names {
			data, err := os.ReadFile(name)
			require.NoError(f, err)
			f.Add(data)
		}
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		p, err := Parse(data)
		if err != nil {
			return
		}
		if p.Width <= 0 || p.Height <= 0 || p.Memory() < int64(p.Width)*int64(p.Height) {
			t.Fatalf("%d x %d pixels take %d bytes", p.Width, p.Height, p.Memory())
		}
	})
}
