package quickjpeg

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
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

// show decodes a file and wraps the planes, for gray and for luma with color
// differences, as a picture of package image.
func show(data []byte) (image.Image, error) {
	p, err := Decode(context.Background(), data)
	if err != nil {
		return nil, err
	}
	rect := image.Rect(0, 0, p.Width, p.Rows)
	y := p.Planes[0]
	if p.Colors == Gray {
		return &image.Gray{Pix: y.Pix, Stride: y.Stride, Rect: rect}, nil
	}
	ratio := map[[2]int]image.YCbCrSubsampleRatio{
		{1, 1}: image.YCbCrSubsampleRatio444, {2, 1}: image.YCbCrSubsampleRatio422,
		{2, 2}: image.YCbCrSubsampleRatio420, {1, 2}: image.YCbCrSubsampleRatio440,
		{4, 1}: image.YCbCrSubsampleRatio411,
	}
	c := p.Planes[1]
	return &image.YCbCr{Y: y.Pix, Cb: c.Pix, Cr: p.Planes[2].Pix, YStride: y.Stride, CStride: c.Stride, SubsampleRatio: ratio[[2]int{c.H, c.V}], Rect: rect}, nil
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
			got, err := show(data)
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
	got, err := show(data)
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
	want, err := show(data)
	require.NoError(t, err)
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	for _, n := range []int{1, 3} {
		runtime.GOMAXPROCS(n)
		got, err := show(data)
		require.NoError(t, err)
		require.Equal(t, want, got)
	}
}

// A file cut anywhere gives the rows that are whole, equal to those of the whole
// file, or says why not; a progressive one also all rows, coarser.
func TestCutAnywhere(t *testing.T) {
	for _, name := range []string{"small.jpg", "progressive.jpg", "cmyk.jpg", "gray.jpg"} {
		data, err := os.ReadFile(filepath.Join("..", "..", "photo", "testdata", name))
		require.NoError(t, err)
		whole, err := Decode(t.Context(), data)
		require.NoError(t, err)
		require.Equal(t, 18, whole.Rows)
		require.False(t, whole.Coarse)
		shown, before := 0, 0
		for n := range len(data) - 1 {
			p, err := Decode(t.Context(), data[:n])
			if err != nil {
				require.True(t, errors.Is(err, ErrShort) || errors.Is(err, ErrDamaged), "%v", err)
				continue
			}
			shown++
			require.Positive(t, p.Rows)
			require.GreaterOrEqual(t, p.Rows, before, "more data, fewer rows")
			before = p.Rows
			if p.Coarse {
				continue
			}
			for i, plane := range p.Planes {
				rows := p.Rows / plane.V
				require.Equal(t, whole.Planes[i].Pix[:rows*plane.Stride], plane.Pix[:rows*plane.Stride], "%s cut to %d", name, n)
			}
		}
		assert.Positive(t, shown, name)
		p, err := Decode(t.Context(), data[:len(data)-2])
		require.NoError(t, err, "without its EOI")
		assert.Equal(t, whole, p)
	}
}

// Tables that are redefined between the frame and its scan count as they are
// at the scan (T.81, B.2.4.1), Huffman tables that never come are the usual
// ones (K.3), and colors may come in scans of their own: as libjpeg has it.
func TestTablesAtTheScan(t *testing.T) {
	checker.Need(t, "cjpeg", "djpeg")
	m := noise(83, 57)
	data := cjpeg(t, m, "-quality", "60", "-sample", "2x1")
	sos := bytes.Index(data, []byte{0xFF, 0xDA})
	other := cjpeg(t, m, "-quality", "20")
	dqt := bytes.Index(other, []byte{0xFF, 0xDB})
	late := slices.Concat(data[:sos], other[dqt:dqt+2+131], data[sos:])
	sameAsLibjpeg(t, late)

	var bare []byte // without any Huffman table
	for at := 2; ; {
		kind, body, next, err := segment(data, at)
		require.NoError(t, err)
		if kind == 0xDA {
			bare = slices.Concat([]byte{0xFF, 0xD8}, bare, data[next-len(body)-4:])
			break
		}
		if kind != 0xC4 {
			bare = append(bare, data[next-len(body)-4:next]...)
		}
		at = next
	}
	require.NotContains(t, string(bare), "\xff\xc4")
	want, err := Decode(t.Context(), data)
	require.NoError(t, err)
	got, err := Decode(t.Context(), bare)
	require.NoError(t, err)
	assert.Equal(t, want, got)

	scans := filepath.Join(t.TempDir(), "scans")
	require.NoError(t, os.WriteFile(scans, []byte("0;\n1;\n2;\n"), 0o666))
	sameAsLibjpeg(t, cjpeg(t, m, "-scans", scans, "-sample", "2x2"))
	sameAsLibjpeg(t, cjpeg(t, m, "-scans", scans, "-sample", "4x1"))
	sameAsLibjpeg(t, cjpeg(t, m, "-rgb"))
	sameAsLibjpeg(t, cjpeg(t, m, "-progressive", "-rgb", "-sample", "1x1"))
}

func cjpeg(t *testing.T, m image.Image, args ...string) []byte {
	t.Helper()
	path := filepath.Join(t.TempDir(), "a.ppm")
	var b bytes.Buffer
	fmt.Fprintf(&b, "P6\n%d %d\n255\n", m.Bounds().Dx(), m.Bounds().Dy())
	for y := range m.Bounds().Dy() {
		for x := range m.Bounds().Dx() {
			r, g, bl, _ := m.At(x, y).RGBA()
			b.Write([]byte{byte(r >> 8), byte(g >> 8), byte(bl >> 8)})
		}
	}
	require.NoError(t, os.WriteFile(path, b.Bytes(), 0o666))
	return run(t, "cjpeg", append(args, path)...)
}

// sameAsLibjpeg compares with djpeg, which must not smooth color differences.
func sameAsLibjpeg(t *testing.T, data []byte) {
	t.Helper()
	p, err := Decode(t.Context(), data)
	require.NoError(t, err)
	path := filepath.Join(t.TempDir(), "a.jpg")
	require.NoError(t, os.WriteFile(path, data, 0o666))
	want := pixels(run(t, "djpeg", "-dct", "int", "-nosmooth", path), 3*p.Width*p.Height)
	for i := 0; i < len(want); i += 3 {
		x, y := i/3%p.Width, i/3/p.Width
		var v [3]uint8
		for c, plane := range p.Planes {
			v[c] = plane.Pix[y/plane.V*plane.Stride+x/plane.H]
		}
		if p.Colors == YCC {
			v[0], v[1], v[2] = color.YCbCrToRGB(v[0], v[1], v[2])
		}
		for c := range v {
			require.InDelta(t, want[i+c], v[c], 1, "%d,%d", x, y)
		}
	}
}

// Kinds that are not read are told from damage.
func TestOthers(t *testing.T) {
	data := encode(t, noise(40, 40), 90)
	sof := bytes.Index(data, []byte{0xFF, 0xC0})
	for kind, want := range map[byte]string{0xC3: "without loss", 0xC5: "layers", 0xC9: "arithmetically"} {
		odd := bytes.Clone(data)
		odd[sof+1] = kind
		_, err := ReadHead(odd)
		var e ErrKind
		require.ErrorAs(t, err, &e)
		assert.Contains(t, e.Error(), want)
	}
	deep := bytes.Clone(data)
	deep[sof+4] = 12
	_, err := ReadHead(deep)
	assert.ErrorContains(t, err, "more than 8 bits")
	_, err = ReadHead([]byte("\x89PNG\r\n"))
	assert.ErrorIs(t, err, ErrDamaged)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	_, err = Decode(ctx, data)
	assert.ErrorIs(t, err, context.Canceled)
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
			show(data)
		}
	}
	progressive, err := os.ReadFile(filepath.Join("..", "..", "photo", "testdata", "progressive.jpg"))
	require.NoError(t, err)
	for range 6000 {
		data := bytes.Clone(progressive)
		for range 1 + rnd.IntN(5) {
			data[rnd.IntN(len(data))] = byte(rnd.Uint32())
		}
		show(data)
	}
}

func FuzzDecode(f *testing.F) {
	f.Add(encode(f, noise(20, 20), 50))
	f.Add(encode(f, noise(9, 33), 100))
	progressive, err := os.ReadFile(filepath.Join("..", "..", "photo", "testdata", "progressive.jpg"))
	require.NoError(f, err)
	f.Add(progressive)
	f.Fuzz(func(t *testing.T, data []byte) {
		head, err := ReadHead(data)
		if err != nil || head.Memory > 4<<20 {
			return
		}
		show(data)
	})
}

func BenchmarkDecode(b *testing.B) {
	data := encode(b, noise(2000, 1500), 90)
	b.Run("here", func(b *testing.B) {
		b.SetBytes(3_000_000)
		for b.Loop() {
			if _, err := show(data); err != nil {
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
