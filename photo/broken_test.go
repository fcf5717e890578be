package photo

import (
	"bytes"
	"compress/zlib"
	"context"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
)

// catJPEG is the demo photo as JPEG.
func catJPEG(t *testing.T, args ...string) []byte {
	t.Helper()
	checker.Need(t, "convert")
	path := filepath.Join(t.TempDir(), "cat.jpg")
	run(t, "convert", append(append([]string{"demo/cat.png", "-strip", "-quality", "90"}, args...), path)...)
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	return data
}

// A file that is broken off shows what is there, and says how much is not; from
// less than half of the picture nothing is made.
func TestBrokenOffJPEG(t *testing.T) {
	data := catJPEG(t)
	whole := mustRead(t, data)
	p := mustRead(t, data[:len(data)*8/10])
	require.Less(t, p.Height, whole.Height)
	require.Len(t, p.Notes, 1)
	assert.Regexp(t, `broken off or damaged: the lower \d\d percent are missing`, p.Notes[0])
	h := p.Height
	assert.Equal(t, whole.Sample(Crop{0, 0, float64(whole.Width), float64(h)}, 20, 20), p.Sample(Crop{}, 20, 20))
	assert.Empty(t, mustRead(t, data[:len(data)-2]).Notes, "only its end mark is missing")
	_, err := Read(context.Background(), bytes.NewReader(data[:len(data)/3]), Limits{})
	checkSaid(t, err)
	assert.ErrorContains(t, err, "ends too early")

	data = catJPEG(t, "-interlace", "JPEG")
	whole = mustRead(t, data)
	assert.Empty(t, mustRead(t, data[:len(data)-2]).Notes, "only its end mark is missing")
	p = mustRead(t, data[:len(data)*8/10])
	assert.Equal(t, whole.Height, p.Height)
	require.Len(t, p.Notes, 1)
	assert.Contains(t, p.Notes[0], "less sharp")
	mean, _ := meanMiss(whole.Sample(Crop{}, 60, 40), p.Sample(Crop{}, 60, 40))
	assert.Less(t, mean, 1.0)
	_, err = Read(context.Background(), bytes.NewReader(data[:len(data)/10]), Limits{})
	checkSaid(t, err)
}

// cuts are places to cut a file of n bytes at: every seventh, and all in the
// last 30, where trailers lie.
func cuts(n int) (at []int) {
	for k := range n {
		if k%7 == 0 || k >= n-30 {
			at = append(at, k)
		}
	}
	return at
}

// A PNG shows the rows that are whole, whatever they hold.
func TestBrokenOffPNG(t *testing.T) {
	for _, file := range []string{"small.png", "deep.png", "alpha.png", "palette.png"} {
		data := testFile(t, file)
		whole := mustRead(t, data)
		shown := 0
		for _, n := range cuts(len(data)) {
			p, err := Read(context.Background(), bytes.NewReader(data[:n]), Limits{})
			if err != nil {
				checkSaid(t, err)
				continue
			}
			shown++
			require.GreaterOrEqual(t, p.Height, 9)
			want := whole.Sample(Crop{0, 0, 24, float64(p.Height)}, 24, p.Height)
			require.Equal(t, want, p.Sample(Crop{}, 24, p.Height), "%s cut to %d", file, n)
			require.Equal(t, p.Height < 18, len(p.Notes) > 0, "%v", p.Notes)
		}
		assert.Greater(t, shown, 12, file)
	}
}

// A GIF shows the rows that are whole, one with a see-through color and a place
// on its canvas, too.
func TestBrokenOffGIF(t *testing.T) {
	for _, file := range []string{"small.gif", "animated.gif"} {
		data := testFile(t, file)
		whole := mustRead(t, data)
		shown := 0
		for _, n := range cuts(len(data)) {
			p, err := Read(context.Background(), bytes.NewReader(data[:n]), Limits{})
			if err != nil {
				checkSaid(t, err)
				continue
			}
			require.GreaterOrEqual(t, 2*p.Height, whole.Height)
			require.Equal(t, p.Height < whole.Height, len(p.Notes) > 0 && strings.Contains(p.Notes[0], "the lower"), "%v", p.Notes)
			if p.Height < whole.Height {
				shown++
			}
			want := whole.Sample(Crop{0, 0, float64(whole.Width), float64(p.Height)}, whole.Width, p.Height)
			require.Equal(t, want, p.Sample(Crop{}, whole.Width, p.Height), "%s cut to %d", file, n)
		}
		assert.Greater(t, shown, 3, file)
	}
}

// A WebP shows the rows that do not hang on what is missing: lossy and lossless,
// with opacity and without, each the same as in the whole file.
func TestBrokenOffWebP(t *testing.T) {
	checker.Need(t, "cwebp", "convert")
	dir := t.TempDir()
	small, clear := filepath.Join(dir, "small.png"), filepath.Join(dir, "clear.png")
	run(t, "convert", "demo/cat.png", "-resize", "300x", small)
	run(t, "convert", small, "(", "-size", "300x200", "radial-gradient:white-black", ")", "-alpha", "off", "-compose", "copy-opacity", "-composite", clear)
	for _, args := range [][]string{{small, "-q", "80"}, {small, "-lossless"}, {clear, "-q", "80"}, {clear, "-lossless"}} {
		path := filepath.Join(dir, "a.webp")
		run(t, "cwebp", append([]string{"-quiet", "-o", path}, args...)...)
		data, err := os.ReadFile(path)
		require.NoError(t, err)
		whole := mustRead(t, data)
		shown := 0
		for _, n := range []int{len(data) * 6 / 10, len(data) * 8 / 10, len(data) * 95 / 100, len(data) * 98 / 100} {
			p, err := Read(context.Background(), bytes.NewReader(data[:n]), Limits{})
			if err != nil {
				checkSaid(t, err)
				continue // all opacity comes before all colors
			}
			shown++
			t.Logf("%v cut to %d of %d: %d of %d rows", args[1:], n, len(data), p.Height, whole.Height)
			require.Less(t, p.Height, whole.Height)
			require.Len(t, p.Notes, 1)
			assert.Contains(t, p.Notes[0], "the lower")
			part := Crop{0, 0, 300, float64(p.Height - 1)} // the last row is smoothed with the next one's color
			require.True(t, reflect.DeepEqual(whole.Sample(part, 300, p.Height-1), p.Sample(part, 300, p.Height-1)), "%v cut to %d", args[1:], n)
		}
		assert.GreaterOrEqual(t, shown, 2, "%v", args)
		_, err = Read(context.Background(), bytes.NewReader(data[:len(data)*3/10]), Limits{})
		checkSaid(t, err)
	}
}

// What is missing is named as it lies in the upright photo. Exif orientation 6
// is a photo to be turned clockwise: its stored lower edge lies left.
func TestWhereThePictureEnds(t *testing.T) {
	for o, side := range map[turn]string{1: "lower", 2: "lower", 3: "upper", 4: "upper", 5: "right", 6: "left", 7: "left", 8: "right"} {
		d := &decoded{lost: lost{bottom: 12, of: 100}}
		assert.Contains(t, d.note(o), "the "+side+" 12 percent", "orientation %d", o)
		// The stored lower edge, pixel by pixel.
		w, h := o.size(30, 20)
		sides := map[string]image.Point{"lower": {w / 2, h - 1}, "upper": {w / 2, 0}, "left": {0, h / 2}, "right": {w - 1, h / 2}}
		_, y := o.source(sides[side].X, sides[side].Y, 30, 20)
		assert.Equal(t, 19, y, "orientation %d", o)
	}
}

// The first frame of an animation, smaller than its canvas, lies where it
// belongs. Made by webpmux of libwebp (RFC 9649, section 2.7.1.1).
func TestFrameOnItsCanvas(t *testing.T) {
	checker.Need(t, "cwebp", "webpmux", "convert")
	dir := t.TempDir()
	at := func(name string) string { return filepath.Join(dir, name) }
	run(t, "convert", "-size", "20x10", "xc:#c04020", at("red.png"))
	run(t, "convert", "-size", "60x40", "xc:#2040c0", at("blue.png"))
	run(t, "cwebp", "-quiet", "-lossless", at("red.png"), "-o", at("red.webp"))
	run(t, "cwebp", "-quiet", "-lossless", at("blue.png"), "-o", at("blue.webp"))
	run(t, "webpmux", "-frame", at("red.webp"), "+100+6+8+0", "-frame", at("blue.webp"), "+100+0+0+0", "-o", at("a.webp"))
	data, err := os.ReadFile(at("a.webp"))
	require.NoError(t, err)
	p := mustRead(t, data)
	require.Equal(t, [2]int{60, 40}, [2]int{p.Width, p.Height})
	assert.True(t, p.HasAlpha)
	m := p.Picture(Crop{}, 60, 40)
	red, white := color.NRGBA{0xc0, 0x40, 0x20, 255}, color.NRGBA{255, 255, 255, 255}
	for _, c := range []struct {
		x, y int
		want color.NRGBA
	}{{6, 8, red}, {25, 17, red}, {5, 8, white}, {6, 7, white}, {26, 17, white}, {25, 18, white}, {0, 0, white}, {59, 39, white}} {
		assert.Equal(t, c.want, m.NRGBAAt(c.x, c.y), "%d,%d", c.x, c.y)
	}
}

// Exif in PNG as it was kept before there was a chunk for it, plain and packed;
// exiftool reads the same orientation out of it. (ImageMagick 6 still writes it
// so where it cannot write eXIf: a name, a length and lines of hexadecimal.)
func TestOrientationInRawProfile(t *testing.T) {
	checker.Need(t, "exiftool")
	exif := "Exif\x00\x00MM\x00*\x00\x00\x00\x08\x00\x01\x01\x12\x00\x03\x00\x00\x00\x01\x00\x06\x00\x00\x00\x00\x00\x00"
	text := fmt.Sprintf("\nexif\n%8d\n", len(exif))
	for i, b := range []byte(exif) {
		if text += fmt.Sprintf("%02x", b); i%36 == 35 {
			text += "\n"
		}
	}
	var packed bytes.Buffer
	z := zlib.NewWriter(&packed)
	z.Write([]byte(text))
	require.NoError(t, z.Close())
	plain := testFile(t, "small.png")
	turned := photoOf(mustDecodePNG(t, plain), 6).Sample(Crop{}, 9, 12)
	for kind, body := range map[string]string{"tEXt": "Raw profile type exif\x00" + text + "\n", "zTXt": "Raw profile type APP1\x00\x00" + packed.String()} {
		data := withChunk(plain, kind, []byte(body))
		path := filepath.Join(t.TempDir(), "a.png")
		require.NoError(t, os.WriteFile(path, data, 0o666))
		assert.Equal(t, "6\n", string(run(t, "exiftool", "-n", "-s3", "-Orientation", path)), kind)
		assert.Equal(t, turned, mustRead(t, data).Sample(Crop{}, 9, 12), kind)
	}
	// The chunk made for it goes before.
	both := withChunk(withChunk(plain, "tEXt", []byte("Raw profile type exif\x00"+text)), "eXIf", []byte("MM\x00*\x00\x00\x00\x08\x00\x01\x01\x12\x00\x03\x00\x00\x00\x01\x00\x01\x00\x00\x00\x00\x00\x00"))
	assert.Equal(t, 24, mustRead(t, both).Width)
}

func mustDecodePNG(t *testing.T, data []byte) image.Image {
	t.Helper()
	m, err := png.Decode(bytes.NewReader(data))
	require.NoError(t, err)
	return m
}

// Deep pictures are bounded by their bytes, and told so truly.
func TestReadBoundsMemory(t *testing.T) {
	data := testFile(t, "deep.tif")
	_, err := Read(context.Background(), bytes.NewReader(data), Limits{Memory: 24 * 18 * 6})
	checkSaid(t, err)
	assert.ErrorContains(t, err, "MB of memory")
	_, err = Read(context.Background(), bytes.NewReader(data), Limits{Memory: 24*18*6*4 + int64(len(data))})
	assert.NoError(t, err)
}
