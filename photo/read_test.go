package photo

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"image"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/image/webp"

	"kitwright/internal/checker"
	"kitwright/internal/say"
	"kitwright/lab"
)

func testFile(t testing.TB, name string) []byte {
	t.Helper()
	data, err := os.ReadFile(filepath.Join("testdata", name))
	require.NoError(t, err)
	return data
}

func mustRead(t testing.TB, data []byte) *Photo {
	t.Helper()
	p, err := Read(context.Background(), bytes.NewReader(data), Limits{})
	require.NoError(t, err)
	return p
}

// meanMiss is the mean and worst CIEDE2000 between two grids.
func meanMiss(a, b *lab.Grid) (mean, worst float64) {
	for i := range a.Cells {
		d := lab.DeltaE(a.Cells[i], b.Cells[i])
		mean += d
		worst = max(worst, d)
	}
	return mean / float64(len(a.Cells)), worst
}

var readable = []struct {
	file, format string
	deep, alpha  bool
	note         string
	miss         float64 // allowed mean CIEDE2000 against small.png
}{
	{"small.png", "PNG", false, false, "", 0},
	{"deep.png", "PNG", true, false, "", 0},
	{"palette.png", "PNG", false, false, "", 3},
	{"alpha.png", "PNG", false, true, "", 100},
	{"small.jpg", "JPEG", false, false, "", 3},
	{"progressive.jpg", "JPEG", false, false, "", 3},
	{"gray.jpg", "JPEG", false, false, "", 100},
	{"cmyk.jpg", "JPEG", false, false, "", 3},
	{"small.gif", "GIF", false, false, "", 3},
	{"animated.gif", "GIF", false, false, "only the first", 3},
	{"small.bmp", "BMP", false, false, "", 0},
	{"small.tif", "TIFF", false, false, "", 0},
	{"big-endian.tif", "TIFF", false, false, "", 0},
	{"deep.tif", "TIFF", true, false, "", 0},
	{"lossy.webp", "WebP", false, false, "", 4},
	{"lossless.webp", "WebP", false, false, "", 0},
	{"alpha.webp", "WebP", false, true, "", 100},
	{"animated.webp", "WebP", false, false, "only the first", 5},
	{"small.heic", "HEIC", false, false, "", 3},
	{"deep.heic", "HEIC", true, false, "", 3},
	{"alpha.heic", "HEIC", false, true, "", 100},
	{"gray.heic", "HEIC", false, false, "", 100},
	{"small.avif", "AVIF", false, false, "", 3},
	{"limited.avif", "AVIF", false, false, "", 3},
	{"deep.avif", "AVIF", true, false, "", 3},
	{"alpha.avif", "AVIF", false, true, "", 100},
}

func TestReadEachFormat(t *testing.T) {
	want := mustRead(t, testFile(t, "small.png")).Sample(Crop{}, 12, 9)
	for _, c := range readable {
		t.Run(c.file, func(t *testing.T) {
			if testing.Short() && (c.format == "HEIC" || c.format == "AVIF") {
				t.Skip("skipped: -short") // compiling their decoders takes a while under the race detector
			}
			p := mustRead(t, testFile(t, c.file))
			assert.Equal(t, c.format, p.Format)
			assert.Equal(t, [2]int{24, 18}, [2]int{p.Width, p.Height})
			assert.Equal(t, c.deep, p.Deep)
			assert.Equal(t, c.alpha, p.HasAlpha)
			assert.Contains(t, strings.Join(p.Notes, ". "), c.note)
			mean, worst := meanMiss(want, p.Sample(Crop{}, 12, 9))
			assert.LessOrEqual(t, mean, c.miss, "worst %.2f", worst)
		})
	}
}

// A file cut short anywhere is read or refused with a sentence and a hint.
func TestReadTruncatedAnywhere(t *testing.T) {
	for _, c := range readable {
		t.Run(c.file, func(t *testing.T) {
			data := testFile(t, c.file)
			refused, step := 0, 1
			if testing.Short() {
				step = 7
			}
			for n := 0; n < len(data); n += step {
				p, err := Read(context.Background(), bytes.NewReader(data[:n]), Limits{})
				if err == nil {
					p.Sample(Crop{}, 5, 4)
					continue
				}
				refused++
				checkSaid(t, err)
			}
			// Trailers may be missing; most of the picture may not, nor may the
			// first details of a progressive one.
			assert.Greater(t, refused, len(data)/3/step)
		})
	}
}

func checkSaid(t *testing.T, err error) {
	t.Helper()
	var e *say.Error
	require.True(t, errors.As(err, &e), "%T %v", err, err)
	require.NotEmpty(t, e.What)
	require.NotEmpty(t, e.Try)
	require.False(t, e.Usage)
	require.NotContains(t, e.What, "%!")
	require.NotContains(t, e.What, "\n")
}

// claim is a small PNG whose header promises a picture of w x h.
func claim(w, h uint32, depth, kind byte) []byte {
	var b bytes.Buffer
	b.WriteString("\x89PNG\r\n\x1a\n")
	chunk := func(kind string, body []byte) {
		binary.Write(&b, binary.BigEndian, uint32(len(body)))
		all := append([]byte(kind), body...)
		b.Write(all)
		binary.Write(&b, binary.BigEndian, crc32.ChecksumIEEE(all))
	}
	head := binary.BigEndian.AppendUint32(nil, w)
	head = binary.BigEndian.AppendUint32(head, h)
	chunk("IHDR", append(head, depth, kind, 0, 0, 0))
	chunk("IDAT", []byte{0x78, 0x9c, 3, 0, 0, 0, 0, 1})
	chunk("IEND", nil)
	return b.Bytes()
}

func TestReadRefusesClaimsOfHugePictures(t *testing.T) {
	bmp := func(w, h uint32) []byte {
		b := testFile(t, "small.bmp")
		binary.LittleEndian.PutUint32(b[18:], w)
		binary.LittleEndian.PutUint32(b[22:], h)
		return b
	}
	gif := testFile(t, "small.gif")
	binary.LittleEndian.PutUint16(gif[6:], 65000)
	binary.LittleEndian.PutUint16(gif[8:], 65000)
	jpg := testFile(t, "small.jpg")
	sof := bytes.Index(jpg, []byte{0xFF, 0xC0})
	binary.BigEndian.PutUint16(jpg[sof+5:], 65000)
	binary.BigEndian.PutUint16(jpg[sof+7:], 65000)
	// Progressive, as large as fits, filled up by a comment.
	progressive := testFile(t, "progressive.jpg")
	sof = bytes.Index(progressive, []byte{0xFF, 0xC2})
	require.Positive(t, sof)
	binary.BigEndian.PutUint16(progressive[sof+5:], 10900)
	binary.BigEndian.PutUint16(progressive[sof+7:], 10900)
	progressive = slices.Concat([]byte("\xff\xd8\xff\xfe\xc3\x52"), make([]byte, 50000), progressive[2:])
	// Four inks, progressive, filled up so that its size could be honest: it
	// would take over a gigabyte.
	inks := testFile(t, "cmyk.jpg")
	sof = bytes.Index(inks, []byte{0xFF, 0xC0})
	require.Positive(t, sof)
	inks[sof+1] = 0xC2
	binary.BigEndian.PutUint16(inks[sof+5:], 10900)
	binary.BigEndian.PutUint16(inks[sof+7:], 10900)
	inks = append(inks, make([]byte, 1_900_000)...)
	webp := testFile(t, "lossless.webp")
	binary.LittleEndian.PutUint32(webp[21:], binary.LittleEndian.Uint32(webp[21:])|0x0FFFFFFF)
	alpha := testFile(t, "alpha.webp")
	copy(alpha[24:], []byte{0xFF, 0x3F, 0, 0xFF, 0x3F, 0})
	// Every size in the container, and HEIC's in the coded picture as well.
	sides := func(name string, w, h uint32) []byte {
		b := testFile(t, name)
		for at := 0; ; at++ {
			i := bytes.Index(b[at:], []byte("ispe"))
			if i < 0 {
				return b
			}
			at += i
			binary.BigEndian.PutUint32(b[at+8:], w)
			binary.BigEndian.PutUint32(b[at+12:], h)
		}
	}
	grid := sides("small.heic", 60000, 60000)
	i := bytes.Index(grid, []byte("idat")) + 8
	binary.BigEndian.PutUint32(grid[i:], 60000<<16|60000)
	cases := map[string][]byte{
		"avif": sides("small.avif", 60000, 60000), "avif within the budget": sides("small.avif", 10000, 10000),
		"heic": sides("small.heic", 60000, 60000), "heic grid": grid,
		"png 60000": claim(60000, 60000, 8, 6), "png 16 bit": claim(9000, 9000, 16, 6), "png within the budget": claim(10000, 11000, 8, 2),
		"png of no width": claim(0, 10, 8, 6), "png of one long row": claim(2_000_000, 10, 8, 0), "png over 31 bits": claim(1<<31, 1<<31, 8, 6),
		"bmp": bmp(60000, 60000), "bmp within the budget": bmp(10000, 10000), "bmp negative": bmp(1<<31, 1<<31), "bmp none": bmp(0, 0),
		"gif": gif, "jpeg": jpg, "jpeg within the budget": progressive, "jpeg of inks": inks, "webp": webp, "webp with alpha": alpha, "tiff": tiffClaim(t, 60000), "tiff within the budget": tiffClaim(t, 10000),
	}
	for name, data := range cases {
		t.Run(name, func(t *testing.T) {
			var before, after runtime.MemStats
			runtime.ReadMemStats(&before)
			start := time.Now()
			_, err := Read(context.Background(), bytes.NewReader(data), Limits{})
			require.Error(t, err)
			checkSaid(t, err)
			runtime.ReadMemStats(&after)
			assert.Less(t, after.TotalAlloc-before.TotalAlloc, uint64(100<<20), "bytes made")
			// A hang shows here; the true time is under a millisecond.
			assert.Less(t, time.Since(start), time.Minute)
		})
	}
}

// tiffClaim sets width and height of a TIFF to a side.
func tiffClaim(t *testing.T, side uint32) []byte {
	data := testFile(t, "small.tif")
	f, ok := newTIFF(data)
	require.True(t, ok)
	entries, _ := f.entries(f.first)
	for ; len(entries) >= 12; entries = entries[12:] {
		if tag := f.order.Uint16(entries); tag == 256 || tag == 257 {
			f.order.PutUint16(entries[2:], 4)
			f.order.PutUint32(entries[8:], side)
		}
	}
	return data
}

func TestReadHonorsLimits(t *testing.T) {
	data := testFile(t, "small.png")
	_, err := Read(context.Background(), bytes.NewReader(data), Limits{Pixels: 24*18 - 1})
	checkSaid(t, err)
	_, err = Read(context.Background(), bytes.NewReader(data), Limits{Bytes: int64(len(data)) - 1})
	checkSaid(t, err)
	_, err = Read(context.Background(), bytes.NewReader(data), Limits{Bytes: int64(len(data)), Pixels: 24 * 18})
	assert.NoError(t, err)
}

func TestReadNamesOtherKinds(t *testing.T) {
	dng := []byte("II*\x00\x08\x00\x00\x00\x01\x00\x12\xc6\x01\x00\x04\x00\x00\x00\x01\x04\x00\x00\x00\x00\x00\x00")
	for _, c := range []struct{ data, what, try string }{
		{"", "empty", "copy"},
		{"%PDF-1.7\n", "PDF", "export"},
		{"\xff\x0a\x00\x00", "JPEG XL", "JPEG"},
		{"\x00\x00\x00\x0cJXL \r\n\x87\n", "JPEG XL", "JPEG"},
		{"\x00\x00\x00\x0cjP  \r\n\x87\n", "JPEG 2000", "JPEG"},
		{"II*\x00\x10\x00\x00\x00CR\x02\x00", "camera raw", "JPEG"},
		{"\x00\x00\x00\x18ftypcrx \x00\x00\x00\x01", "camera raw", "JPEG"},
		{string(dng), "camera raw", "JPEG"},
		{"\x00\x00\x00\x18ftypisom\x00\x00\x00\x01", "video", "frame"},
		{"RIFF\x00\x00\x00\x00AVI LIST", "video", "frame"},
		{"8BPS\x00\x01", "layered", "export"},
		{"<?xml version=\"1.0\"?><svg>", "vector", "export"},
		{"<!DOCTYPE html><html>", "web page", "save"},
		{"PK\x03\x04abc", "archive", "unpack"},
		{"Dear reader,\nthis is a letter.\n", "text", "choose"},
		{"P6\n3 3\n255\n", "pixmap", "export"},
		{"II\x1a\x00\x00\x00HEAPCCDR\x02\x00", "camera raw", "JPEG"},
		{"\x00\x00\x01\x00\x02\x00", "an icon", "export"},
		{"\x00\x00\x02\x00\x00\x00\x00\x00", "kind of photo that is not read", "choose"}, // begins like a cursor
		{strings.Repeat("ü", 400), "text", "choose"},
		{"x" + strings.Repeat("ü", 400), "text", "choose"}, // a character lies across the end of what is looked at
		{"\xff", "kind of photo that is not read", "choose"},
		{"\x00\x01\x02\x03 nothing known", "not a photo", "choose"},
	} {
		_, err := Read(context.Background(), strings.NewReader(c.data), Limits{})
		require.Error(t, err, "%q", c.data)
		checkSaid(t, err)
		var e *say.Error
		errors.As(err, &e)
		assert.Contains(t, e.What, c.what)
		assert.Contains(t, e.Try, c.try)
	}
	_, err := Read(context.Background(), failing{}, Limits{})
	checkSaid(t, err)
	assert.ErrorIs(t, err, os.ErrPermission)
}

type failing struct{}

func (failing) Read([]byte) (int, error) { return 0, os.ErrPermission }

// A palette index beyond the palette, which once brought down the library that
// turns our previews (CVE-2023-36308), is refused or read, never a panic.
func TestReadPaletteIndexBeyondThePalette(t *testing.T) {
	m := image.NewPaletted(image.Rect(0, 0, 4, 4), nil)
	fill(m.Pix, 200)
	assert.NotPanics(t, func() { photoOf(m, 6).Picture(Crop{}, 9, 9) })
}

// Lossy WebP against the reference decoder of the format (dwebp, Debian
// package webp), which smooths color differences unless told otherwise: the very
// same numbers. The Go library alone gives a washed-out picture.
func TestLossyWebPAgainstDwebp(t *testing.T) {
	if testing.Short() {
		t.Skip("skipped: -short")
	}
	checker.Need(t, "cwebp", "dwebp")
	dir := t.TempDir()
	for _, quality := range []string{"5", "75"} {
		run(t, "cwebp", "-quiet", "-q", quality, "demo/cat.png", "-o", filepath.Join(dir, "cat.webp"))
		run(t, "dwebp", "-quiet", filepath.Join(dir, "cat.webp"), "-o", filepath.Join(dir, "cat.png"))
		data, err := os.ReadFile(filepath.Join(dir, "cat.webp"))
		require.NoError(t, err)
		f, err := os.Open(filepath.Join(dir, "cat.png"))
		require.NoError(t, err)
		defer f.Close()
		want, err := png.Decode(f)
		require.NoError(t, err)
		got := mustRead(t, data).Picture(Crop{}, 10000, 10000)
		require.Equal(t, want.Bounds(), got.Bounds())
		differ := 0
		for y := range want.Bounds().Dy() {
			for x := range want.Bounds().Dx() {
				if fmt.Sprint(want.At(x, y)) != fmt.Sprint(got.At(x, y)) {
					r, g, b, _ := want.At(x, y).RGBA()
					c := got.NRGBAAt(x, y)
					if byte(r>>8) != c.R || byte(g>>8) != c.G || byte(b>>8) != c.B {
						differ++
					}
				}
			}
		}
		assert.Zero(t, differ, "pixels that differ at quality %s", quality)
		plain, err := webp.Decode(bytes.NewReader(data))
		require.NoError(t, err)
		washed, _ := meanMiss(mustRead(t, data).Sample(Crop{}, 45, 30), photoOf(plain, upright).Sample(Crop{}, 45, 30))
		assert.Greater(t, washed, 1.0, "the library has been mended: drop the detour")
	}
}

func run(t testing.TB, name string, args ...string) []byte {
	t.Helper()
	var out, errs bytes.Buffer
	cmd := exec.Command(name, args...)
	cmd.Stdout, cmd.Stderr = &out, &errs
	require.NoError(t, cmd.Run(), "%s %v: %s", name, args, errs.String())
	return out.Bytes()
}

// The demo photo is there, reads, and looks like a ginger cat: warm and of
// middle lightness.
func TestDemo(t *testing.T) {
	p := mustRead(t, Demo())
	assert.Equal(t, [2]int{451, 300}, [2]int{p.Width, p.Height})
	c := p.Sample(Crop{}, 1, 1).Cells[0]
	assert.Greater(t, c.A, 0.0)
	assert.Greater(t, c.B, 10.0)
}

// Linear-light downscaling against two independent programs (Debian packages
// imagemagick and libvips-tools), each told to average boxes in linear light.
func TestDownscalingAgainstOtherPrograms(t *testing.T) {
	dir := t.TempDir()
	whole := filepath.Join(dir, "whole.png") // 450x300: ten whole pixels a cell
	t.Run("ImageMagick", func(t *testing.T) {
		checker.Need(t, "convert")
		run(t, "convert", "demo/cat.png", "-crop", "450x300+0+0", "+repage", "-strip", "PNG24:"+whole)
		out := filepath.Join(dir, "im.png")
		run(t, "convert", whole, "-set", "colorspace", "sRGB", "-depth", "16", "-colorspace", "RGB", "-scale", "45x30!", "-colorspace", "sRGB", "PNG48:"+out)
		compareFiles(t, whole, out, 0.01)
	})
	t.Run("libvips", func(t *testing.T) {
		checker.Need(t, "convert", "vips")
		run(t, "convert", "demo/cat.png", "-crop", "450x300+0+0", "+repage", "-strip", "PNG24:"+whole)
		lin, small, out := filepath.Join(dir, "lin.v"), filepath.Join(dir, "small.v"), filepath.Join(dir, "vips.png")
		run(t, "vips", "colourspace", whole, lin, "scrgb")
		run(t, "vips", "shrink", lin, small, "10", "10")
		run(t, "vips", "colourspace", small, out+"16.v", "rgb16")
		run(t, "vips", "copy", out+"16.v", out)
		compareFiles(t, whole, out, 0.05)
	})
}

func compareFiles(t *testing.T, photo, small string, limit float64) {
	t.Helper()
	a, err := os.ReadFile(photo)
	require.NoError(t, err)
	b, err := os.ReadFile(small)
	require.NoError(t, err)
	want := mustRead(t, b).Sample(Crop{}, 45, 30)
	mean, worst := meanMiss(want, mustRead(t, a).Sample(Crop{}, 45, 30))
	t.Logf("CIEDE2000 mean %.4f worst %.4f", mean, worst)
	assert.Less(t, mean, limit)
	assert.Less(t, worst, 10*limit)
}
