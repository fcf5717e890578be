package quickjpeg

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
)

func run(t testing.TB, name string, args ...string) []byte {
	t.Helper()
	var out, errs bytes.Buffer
	cmd := exec.Command(name, args...)
	cmd.Stdout, cmd.Stderr = &out, &errs
	require.NoError(t, cmd.Run(), "%s %v: %s", name, args, errs.String())
	return out.Bytes()
}

// noise is a picture with everything in it, from flat to wild.
func noise(w, h int) image.Image {
	rnd := rand.New(rand.NewPCG(1, 2))
	m := image.NewNRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			wild := 0
			if x > w/2 {
				wild = rnd.IntN(1 + 200*y/h)
			}
			m.Set(x, y, color.NRGBA{uint8(x * 255 / w), uint8(wild), uint8(y*200/h + wild/4), 255})
		}
	}
	return m
}

func encode(t testing.TB, m image.Image, quality int) []byte {
	var b bytes.Buffer
	require.NoError(t, jpeg.Encode(&b, m, &jpeg.Options{Quality: quality}))
	return b.Bytes()
}

// Luma is the very luma of libjpeg (djpeg -dct int, Debian package
// libjpeg-turbo-progs), and colors are within one level of its own, for every
// sampling, odd sizes, restart markers, coarse and fine tables.
func TestAgainstLibjpeg(t *testing.T) {
	checker.Need(t, "cjpeg", "djpeg")
	dir := t.TempDir()
	ppm := filepath.Join(dir, "a.ppm")
	for _, size := range [][2]int{{64, 48}, {83, 57}, {1, 1}, {17, 200}} {
		m := noise(size[0], size[1])
		var b bytes.Buffer
		fmt.Fprintf(&b, "P6\n%d %d\n255\n", size[0], size[1])
		for y := range size[1] {
			for x := range size[0] {
				r, g, bl, _ := m.At(x, y).RGBA()
				b.Write([]byte{byte(r >> 8), byte(g >> 8), byte(bl >> 8)})
			}
		}
		require.NoError(t, os.WriteFile(ppm, b.Bytes(), 0o666))
		for _, args := range [][]string{
			{"-sample", "2x2"}, {"-sample", "2x1"}, {"-sample", "1x2"}, {"-sample", "1x1"}, {"-grayscale"},
			{"-quality", "5"}, {"-quality", "100", "-sample", "1x1"}, {"-optimize"}, {"-restart", "1"}, {"-restart", "3B", "-sample", "1x1"},
			{"-progressive"}, {"-progressive", "-sample", "1x1", "-quality", "98"}, {"-progressive", "-sample", "2x1", "-quality", "3"},
			{"-progressive", "-grayscale"}, {"-progressive", "-restart", "2B", "-sample", "1x2"}, {"-progressive", "-sample", "2x2", "-quality", "100"},
		} {
			data := run(t, "cjpeg", append(append([]string{"-baseline"}, args...), ppm)...)
			got, err := Decode(data, size[0], size[1])
			require.NoError(t, err, "%v %v", size, args)
			require.Equal(t, image.Rect(0, 0, size[0], size[1]), got.Bounds())
			path := filepath.Join(dir, "a.jpg")
			require.NoError(t, os.WriteFile(path, data, 0o666))
			gray := pixels(run(t, "djpeg", "-dct", "int", "-grayscale", path), size[0]*size[1])
			for i, v := range gray {
				x, y := i%size[0], i/size[0]
				var l uint8
				switch g := got.(type) {
				case *image.Gray:
					l = g.GrayAt(x, y).Y
				case *image.YCbCr:
					l = g.Y[g.YOffset(x, y)]
				}
				require.Equal(t, v, l, "%v %v at %d,%d", size, args, x, y)
			}
			if _, ok := got.(*image.Gray); ok {
				continue
			}
			rgb := pixels(run(t, "djpeg", "-dct", "int", "-nosmooth", path), 3*size[0]*size[1])
			for i := 0; i < len(rgb); i += 3 {
				r, g, b, _ := got.At(i/3%size[0], i/3/size[0]).RGBA()
				require.InDelta(t, rgb[i], r>>8, 1)
				require.InDelta(t, rgb[i+1], g>>8, 1)
				require.InDelta(t, rgb[i+2], b>>8, 1)
			}
		}
	}
}

// pixels are the last n bytes of a portable map.
func pixels(b []byte, n int) []byte { return b[len(b)-n:] }

// A whole photo agrees with image/jpeg within what two ways of rounding differ.
func TestAgainstImageJPEG(t *testing.T) {
	data := encode(t, noise(640, 480), 90)
	got, err := Decode(data, 640, 480)
	require.NoError(t, err)
	want, err := jpeg.Decode(bytes.NewReader(data))
	require.NoError(t, err)
	a, b := got.(*image.YCbCr), want.(*image.YCbCr)
	require.Equal(t, b.SubsampleRatio, a.SubsampleRatio)
	sum, n := 0, 0
	for y := range 480 {
		for x := range 640 {
			d := int(a.Y[a.YOffset(x, y)]) - int(b.Y[b.YOffset(x, y)])
			require.LessOrEqual(t, max(d, -d), 2)
			sum += max(d, -d)
			n++
		}
	}
	assert.Less(t, float64(sum)/float64(n), 0.1)
}

func TestCoresDoNotMatter(t *testing.T) {
	data := encode(t, noise(333, 222), 75)
	want, err := Decode(data, 333, 222)
	require.NoError(t, err)
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	for _, n := range []int{1, 3} {
		runtime.GOMAXPROCS(n)
		got, err := Decode(data, 333, 222)
		require.NoError(t, err)
		require.Equal(t, want, got)
	}
}

// What is not for this package is left alone: cut short before the picture
// ends, CMYK, not a JPEG.
func TestOthers(t *testing.T) {
	data := encode(t, noise(40, 40), 90)
	for n := range len(data) - 2 {
		_, err := Decode(data[:n], 40, 40)
		require.ErrorIs(t, err, ErrOther, "cut to %d of %d", n, len(data))
	}
	progressive, err := os.ReadFile(filepath.Join("..", "..", "photo", "testdata", "progressive.jpg"))
	require.NoError(t, err)
	_, err = Decode(progressive, 24, 18)
	require.NoError(t, err)
	for n := range len(progressive) - 1 {
		_, err := Decode(progressive[:n], 24, 18)
		require.ErrorIs(t, err, ErrOther, "cut to %d of %d", n, len(progressive))
	}
	for _, name := range []string{"cmyk.jpg", "small.png"} {
		data, err := os.ReadFile(filepath.Join("..", "..", "photo", "testdata", name))
		require.NoError(t, err)
		_, err = Decode(data, 24, 18)
		assert.ErrorIs(t, err, ErrOther, name)
	}
}

// Damage never panics, here or in a helper, where nobody could catch it.
func TestDamage(t *testing.T) {
	rnd := rand.New(rand.NewPCG(8, 9))
	for _, q := range []int{10, 95} {
		whole := encode(t, noise(50, 30), q)
		for range 3000 {
			data := bytes.Clone(whole)
			for range 1 + rnd.IntN(5) {
				data[rnd.IntN(len(data))] = byte(rnd.Uint32())
			}
			Decode(data, 50, 30)
		}
	}
	progressive, err := os.ReadFile(filepath.Join("..", "..", "photo", "testdata", "progressive.jpg"))
	require.NoError(t, err)
	for range 6000 {
		data := bytes.Clone(progressive)
		for range 1 + rnd.IntN(5) {
			data[rnd.IntN(len(data))] = byte(rnd.Uint32())
		}
		Decode(data, 24, 18)
	}
}

func FuzzDecode(f *testing.F) {
	f.Add(encode(f, noise(20, 20), 50))
	f.Add(encode(f, noise(9, 33), 100))
	progressive, err := os.ReadFile(filepath.Join("..", "..", "photo", "testdata", "progressive.jpg"))
	require.NoError(f, err)
	f.Add(progressive)
	f.Fuzz(func(t *testing.T, data []byte) {
		c, err := jpeg.DecodeConfig(bytes.NewReader(data))
		if err != nil || c.Width*c.Height > 1<<20 {
			return
		}
		Decode(data, c.Width, c.Height)
	})
}

func BenchmarkDecode(b *testing.B) {
	data := encode(b, noise(2000, 1500), 90)
	b.Run("here", func(b *testing.B) {
		b.SetBytes(3_000_000)
		for b.Loop() {
			if _, err := Decode(data, 2000, 1500); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("image/jpeg", func(b *testing.B) {
		b.SetBytes(3_000_000)
		for b.Loop() {
			if _, err := jpeg.Decode(bytes.NewReader(data)); err != nil {
				b.Fatal(err)
			}
		}
	})
}
