package photo

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"hash/crc32"
	"image"
	"image/png"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
	"kitwright/lab"
)

// withChunk puts a chunk into a PNG, behind its header.
func withChunk(data []byte, kind string, body []byte) []byte {
	out := append([]byte(nil), data[:33]...)
	out = binary.BigEndian.AppendUint32(out, uint32(len(body)))
	all := append([]byte(kind), body...)
	out = append(out, all...)
	out = binary.BigEndian.AppendUint32(out, crc32.ChecksumIEEE(all))
	return append(out, data[33:]...)
}

// plainPNG is one color and nothing else said.
func plainPNG(rgb [3]uint8) []byte {
	m := image.NewNRGBA(image.Rect(0, 0, 2, 2))
	for i := range m.Pix {
		m.Pix[i] = append(rgb[:], 255)[i%4]
	}
	var b bytes.Buffer
	png.Encode(&b, m)
	return b.Bytes()
}

// Each way a PNG names its colors, and which goes first. The expected light:
// H.273's transfer 8 is linear; gAMA 1/1.8 is the exponent 1.8; Display P3's
// pure red in linear sRGB is 1.2249, -0.0421, -0.0196 (CSS Color 4's sample
// conversion code, from memory).
func TestColorsOfPNG(t *testing.T) {
	u32 := func(v ...uint32) (b []byte) {
		for _, n := range v {
			b = binary.BigEndian.AppendUint32(b, n)
		}
		return b
	}
	p3 := u32(31270, 32900, 68000, 32000, 26500, 69000, 15000, 6000)
	var packed bytes.Buffer
	z := zlib.NewWriter(&packed)
	z.Write(p3ICC())
	require.NoError(t, z.Close())
	iccp := append([]byte("name\x00\x00"), packed.Bytes()...)
	red, gray := plainPNG([3]uint8{255, 0, 0}), plainPNG([3]uint8{128, 128, 128})
	v128 := 128.0 / 255
	for name, c := range map[string]struct {
		data  []byte
		space string
		want  [3]float64
	}{
		"nothing":         {gray, "sRGB", [3]float64{lab.Decode(v128), lab.Decode(v128), lab.Decode(v128)}},
		"cICP P3":         {withChunk(red, "cICP", []byte{12, 13, 0, 1}), "Display P3", [3]float64{1.2249, -0.0421, -0.0196}},
		"cICP linear":     {withChunk(gray, "cICP", []byte{1, 8, 0, 1}), "sRGB", [3]float64{v128, v128, v128}},
		"cHRM P3":         {withChunk(red, "cHRM", p3), "PNG primaries", [3]float64{1.2249, -0.0421, -0.0196}},
		"gAMA 1.8":        {withChunk(gray, "gAMA", u32(55556)), "gamma 1.80", [3]float64{0.28911, 0.28911, 0.28911}},
		"gAMA 2.2":        {withChunk(gray, "gAMA", u32(45455)), "sRGB", [3]float64{lab.Decode(v128), lab.Decode(v128), lab.Decode(v128)}},
		"sRGB beats both": {withChunk(withChunk(red, "cHRM", p3), "sRGB", []byte{0}), "sRGB", [3]float64{1, 0, 0}},
		"cICP beats sRGB": {withChunk(withChunk(red, "sRGB", []byte{0}), "cICP", []byte{12, 13, 0, 1}), "Display P3", [3]float64{1.2249, -0.0421, -0.0196}},
		"iCCP":            {withChunk(red, "iCCP", iccp), "Display P3", [3]float64{1.2249, -0.0421, -0.0196}},
		"iCCP beats sRGB": {withChunk(withChunk(red, "sRGB", []byte{0}), "iCCP", iccp), "Display P3", [3]float64{1.2249, -0.0421, -0.0196}},
		"cICP beats iCCP": {withChunk(withChunk(red, "cICP", []byte{1, 13, 0, 1}), "iCCP", iccp), "sRGB", [3]float64{1, 0, 0}},
		"cHRM nonsense":   {withChunk(red, "cHRM", u32(0, 0, 0, 0, 0, 0, 0, 0)), "sRGB", [3]float64{1, 0, 0}},
		"gAMA nonsense":   {withChunk(red, "gAMA", u32(1)), "sRGB", [3]float64{1, 0, 0}},
	} {
		t.Run(name, func(t *testing.T) {
			p := mustRead(t, c.data)
			assert.Equal(t, c.space, p.Space)
			got := p.Linear(Crop{}, 1, 1).Cells[0]
			for i := range got {
				assert.InDelta(t, c.want[i], got[i], 2e-4)
			}
			assert.Equal(t, strings.Contains(name, "nonsense"), len(p.Notes) > 0, "%v", p.Notes)
		})
	}
}

// A profile is found in every container that can hold one; the files are
// tagged by exiftool and webpmux (Debian packages libimage-exiftool-perl and
// webp), the long profile to make JPEG cut it into pieces.
func TestProfileInEachFormat(t *testing.T) {
	if testing.Short() {
		t.Skip("skipped: -short")
	}
	checker.Need(t, "exiftool", "webpmux")
	dir := t.TempDir()
	short := filepath.Join(dir, "p3.icc")
	require.NoError(t, os.WriteFile(short, p3ICC(), 0o666))
	long := filepath.Join(dir, "long.icc")
	icc := append(p3ICC(), make([]byte, 150_000)...)
	binary.BigEndian.PutUint32(icc, uint32(len(icc)))
	require.NoError(t, os.WriteFile(long, icc, 0o666))
	for _, file := range []string{"small.png", "deep.png", "alpha.png", "palette.png", "small.jpg", "progressive.jpg", "small.tif", "deep.tif", "big-endian.tif", "lossless.webp", "lossy.webp", "alpha.webp"} {
		for _, profile := range []string{short, long} {
			t.Run(file+" "+filepath.Base(profile), func(t *testing.T) {
				out := filepath.Join(t.TempDir(), file)
				if strings.HasSuffix(file, ".webp") {
					run(t, "webpmux", "-set", "icc", profile, filepath.Join("testdata", file), "-o", out)
				} else {
					run(t, "exiftool", "-q", "-icc_profile<="+profile, filepath.Join("testdata", file), "-o", out)
				}
				data, err := os.ReadFile(out)
				require.NoError(t, err)
				p, plain := mustRead(t, data), mustRead(t, testFile(t, file))
				require.Equal(t, "Display P3", p.Space, "%v", p.Notes)
				require.Equal(t, "sRGB", plain.Space)
				// The same numbers, read as P3: light times the P3 matrix.
				m := displayP3.toRGB()
				got, want := p.Linear(Crop{}, 4, 3), plain.Linear(Crop{}, 4, 3)
				for i := range got.Cells {
					v := m.times(want.Cells[i])
					for ch := range v {
						require.InDelta(t, v[ch], got.Cells[i][ch], 2e-3)
					}
				}
			})
		}
	}
}

func TestBrokenProfileIsNamedAndIgnored(t *testing.T) {
	checker.Need(t, "exiftool")
	icc := p3ICC()
	copy(icc[bytes.Index(icc, []byte("rXYZ")):], "xxxx")
	dir := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(dir, "p.icc"), icc, 0o666))
	run(t, "exiftool", "-q", "-icc_profile<="+filepath.Join(dir, "p.icc"), "testdata/small.jpg", "-o", filepath.Join(dir, "a.jpg"))
	data, err := os.ReadFile(filepath.Join(dir, "a.jpg"))
	require.NoError(t, err)
	p := mustRead(t, data)
	assert.Equal(t, "sRGB", p.Space)
	require.Len(t, p.Notes, 1)
	assert.Contains(t, p.Notes[0], `"Display P3"`)
	assert.Equal(t, mustRead(t, testFile(t, "small.jpg")).Sample(Crop{}, 5, 5), p.Sample(Crop{}, 5, 5))
}

// DCF's optional color space: Exif says "R03" and no profile is there.
func TestCameraAdobeRGB(t *testing.T) {
	checker.Need(t, "exiftool", "transicc")
	out := filepath.Join(t.TempDir(), "dcf.jpg")
	run(t, "exiftool", "-q", "-InteropIndex=R03", "-ColorSpace=Uncalibrated", "testdata/small.jpg", "-o", out)
	data, err := os.ReadFile(out)
	require.NoError(t, err)
	p := mustRead(t, data)
	assert.Equal(t, "Adobe RGB", p.Space)

	const profile = "/usr/share/color/icc/colord/AdobeRGB1998.icc"
	if _, err := os.Stat(profile); err != nil {
		checker.Missing(t, "the profile "+profile)
	}
	values := devices(3)
	s := adobeRGB()
	q := &Photo{turn: upright, px: newPixels(patches(values), s, jpegRange), toRGB: s.toRGB, Width: len(values), Height: 1}
	var worst float64
	for i, want := range transicc(t, profile, values) {
		worst = max(worst, lab.DeltaE(want, q.Sample(Crop{}, len(values), 1).Cells[i]))
		if i > 60 {
			break
		}
	}
	assert.Less(t, worst, 0.2)
}

// A CMYK JPEG with a press profile against ImageMagick, which converts through
// Little CMS; the same file without the profile is a guess, and says so.
func TestCMYKThroughItsProfile(t *testing.T) {
	checker.Need(t, "convert", "transicc")
	const press, screen = "/usr/share/color/icc/ghostscript/default_cmyk.icc", "/usr/share/color/icc/ghostscript/srgb.icc"
	if _, err := os.Stat(press); err != nil {
		checker.Missing(t, "the profile "+press)
	}
	dir := t.TempDir()
	inks, back := filepath.Join(dir, "inks.jpg"), filepath.Join(dir, "back.png")
	run(t, "convert", "demo/cat.png", "-strip", "-profile", screen, "-profile", press, "-quality", "95", inks)
	run(t, "convert", inks, "-intent", "relative", "+black-point-compensation", "-profile", screen, "-strip", back)
	data, err := os.ReadFile(inks)
	require.NoError(t, err)
	p := mustRead(t, data)
	assert.Equal(t, "Artifex CMYK SWOP Profile", p.Space)
	assert.Empty(t, p.Notes)
	want, err := os.ReadFile(back)
	require.NoError(t, err)
	mean, worst := meanMiss(mustRead(t, want).Sample(Crop{}, 45, 30), p.Sample(Crop{}, 45, 30))
	t.Logf("CIEDE2000 mean %.3f worst %.3f", mean, worst)
	assert.Less(t, mean, 0.3)

	guess := mustRead(t, testFile(t, "cmyk.jpg"))
	assert.Contains(t, strings.Join(guess.Notes, " "), "CMYK")
}

// AVIF as avifenc (Debian package libavif-bin) marks it: by codes and by a
// profile.
func TestColorsOfAVIF(t *testing.T) {
	if testing.Short() {
		t.Skip("skipped: -short")
	}
	checker.Need(t, "avifenc")
	dir := t.TempDir()
	profile := filepath.Join(dir, "p3.icc")
	require.NoError(t, os.WriteFile(profile, p3ICC(), 0o666))
	plain := mustRead(t, testFile(t, "small.png")).Linear(Crop{}, 4, 3)
	m := displayP3.toRGB()
	for _, args := range [][]string{{"--cicp", "12/13/1"}, {"--icc", profile}, {"--cicp", "9/13/9", "--icc", profile, "-d", "12"}} {
		out := filepath.Join(dir, "a.avif")
		run(t, "avifenc", append(append([]string{"-s", "8", "-y", "444", "--min", "0", "--max", "2"}, args...), "testdata/small.png", out)...)
		data, err := os.ReadFile(out)
		require.NoError(t, err)
		p := mustRead(t, data)
		assert.Equal(t, "Display P3", p.Space, "%v", args)
		got := p.Linear(Crop{}, 4, 3)
		for i := range got.Cells {
			want := m.times(plain.Cells[i])
			for ch := range want {
				assert.InDelta(t, want[ch], got.Cells[i][ch], 0.01, "%v", args)
			}
		}
	}
}
