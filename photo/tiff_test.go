package photo

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
)

// asOthers reads a file with us and with ImageMagick (which reads TIFF by
// libtiff) and compares all pixels of what both show.
func asOthers(t *testing.T, path string, limit float64) *Photo {
	t.Helper()
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	p := mustRead(t, data)
	back := path + ".png"
	run(t, "convert", path+"[0]", "-auto-orient", "-strip", "PNG64:"+back)
	want, err := os.ReadFile(back)
	require.NoError(t, err)
	q := mustRead(t, want)
	require.Equal(t, [2]int{q.Width, q.Height}, [2]int{p.Width, p.Height})
	mean, worst := meanMiss(q.Sample(Crop{}, q.Width, q.Height), p.Sample(Crop{}, p.Width, p.Height))
	require.LessOrEqual(t, worst, limit, "%s: mean %.3f", filepath.Base(path), mean)
	return p
}

// Every kind of TIFF, written by libtiff's tools and ImageMagick and read by
// ImageMagick.
func TestKindsOfTIFF(t *testing.T) {
	if testing.Short() {
		t.Skip("skipped: -short")
	}
	checker.Need(t, "convert", "tiffcp", "tiffset")
	dir := t.TempDir()
	at := func(name string) string { return filepath.Join(dir, name) }
	make := func(name string, args ...string) string {
		run(t, "convert", append(append([]string{"testdata/small.png", "-strip"}, args...), at(name))...)
		return at(name)
	}
	copied := func(from, name string, args ...string) string {
		run(t, "tiffcp", append(args, from, at(name))...)
		return at(name)
	}
	plain := make("plain.tif", "-compress", "none")
	deep := make("deep.tif", "-depth", "16", "-compress", "none")
	fax := make("fax.tif", "-threshold", "50%", "-type", "bilevel", "-compress", "none")
	gray := make("gray.tif", "-colorspace", "gray", "-compress", "none")
	alpha := at("alpha.tif")
	run(t, "convert", "testdata/alpha.png", "-strip", "-compress", "none", alpha)

	for name, args := range map[string][]string{
		"none": {"-c", "none"}, "lzw": {"-c", "lzw"}, "lzw steps": {"-c", "lzw:2"}, "zip": {"-c", "zip"}, "zip steps": {"-c", "zip:2"},
		"packbits": {"-c", "packbits"}, "planes": {"-p", "separate"}, "planes steps": {"-p", "separate", "-c", "zip:2"},
		"tiles": {"-t", "-w", "16", "-l", "16"}, "tiles in planes": {"-t", "-w", "16", "-l", "16", "-p", "separate", "-c", "lzw"},
		"strips": {"-r", "5"}, "one strip": {"-r", "100"}, "big end": {"-B", "-c", "zip:2"}, "bits from the right": {"-f", "lsb2msb"},
		"bits from the right, lzw": {"-f", "lsb2msb", "-c", "lzw"},
	} {
		for _, from := range []string{plain, deep, gray, alpha} {
			if from == deep && strings.Contains(name, "planes") {
				continue // tiffcp does not part 16 bits
			}
			name := strings.ReplaceAll(name, " ", "-") + "-" + filepath.Base(from)
			t.Run(name, func(t *testing.T) {
				p := asOthers(t, copied(from, name, args...), 0.06)
				assert.Equal(t, from == deep, p.Deep)
				assert.Equal(t, from == alpha, p.HasAlpha)
				assert.Empty(t, p.Notes)
			})
		}
	}
	for name, args := range map[string][]string{
		"g4": {"-c", "g4"}, "g3": {"-c", "g3:1d"}, "bits": {"-c", "none"}, "g4 from the right": {"-c", "g4", "-f", "lsb2msb"}, "bits from the right": {"-f", "lsb2msb"},
	} {
		for _, white := range []string{"min-is-black", "min-is-white"} {
			t.Run(name+" "+white, func(t *testing.T) {
				from := at(white + ".tif")
				run(t, "convert", fax, "-type", "bilevel", "-depth", "1", "-define", "quantum:polarity="+white, "-compress", "none", from)
				asOthers(t, copied(from, strings.ReplaceAll(name, " ", "-")+white+".tif", args...), 0.02)
			})
		}
	}
	for _, depth := range []string{"1", "2", "4", "8"} {
		t.Run("gray of "+depth, func(t *testing.T) {
			asOthers(t, make("gray"+depth+".tif", "-colorspace", "gray", "-depth", depth, "-type", "grayscale", "-define", "tiff:bits-per-sample="+depth), 0.06)
		})
	}
	t.Run("palette", func(t *testing.T) {
		path := make("palette.tif", "-colors", "16", "-type", "palette")
		asOthers(t, path, 0.02)
		// A palette of 8-bit numbers, as some programs write it.
		data, err := os.ReadFile(path)
		require.NoError(t, err)
		f, _ := newTIFF(data)
		colors := f.find(f.first, tagColors)
		require.NotEmpty(t, colors)
		want := mustRead(t, data).Sample(Crop{}, 24, 18)
		for i := 0; i < len(colors); i += 2 {
			f.order.PutUint16(colors[i:], f.order.Uint16(colors[i:])>>8)
		}
		_, worst := meanMiss(want, mustRead(t, data).Sample(Crop{}, 24, 18))
		assert.LessOrEqual(t, worst, 0.5) // the low bytes are gone
	})
	t.Run("JPEG", func(t *testing.T) {
		for i, args := range [][]string{{"-c", "jpeg:r:90"}, {"-c", "jpeg:90", "-r", "16"}, {"-c", "jpeg:90", "-t", "-w", "16", "-l", "16"}} {
			// Color differences are smoothed there and not here.
			asOthers(t, copied(plain, "jpeg"+string(rune('0'+i))+".tif", args...), []float64{1, 9, 9}[i])
		}
		asOthers(t, copied(gray, "jpeggray.tif", "-c", "jpeg:90"), 0.4)
	})
}

// CMYK for print shops goes through its profile, as in JPEG; against Little CMS
// by ImageMagick.
func TestInksInTIFF(t *testing.T) {
	if testing.Short() {
		t.Skip("skipped: -short")
	}
	checker.Need(t, "convert", "tiffcp")
	press, screen := "/usr/share/color/icc/ghostscript/default_cmyk.icc", "/usr/share/color/icc/ghostscript/srgb.icc"
	for _, f := range []string{press, screen} {
		if _, err := os.Stat(f); err != nil {
			checker.Missing(t, f+" (Debian package libgs-common)")
		}
	}
	dir := t.TempDir()
	for _, depth := range []string{"8", "16"} {
		path, back := filepath.Join(dir, "inks"+depth+".tif"), filepath.Join(dir, "back.png")
		run(t, "convert", "testdata/small.png", "-strip", "-profile", screen, "-profile", press, "-depth", depth, "-compress", "lzw", path)
		run(t, "convert", path, "-intent", "relative", "+black-point-compensation", "-profile", screen, "-strip", "PNG48:"+back)
		paths := []string{path}
		if depth == "8" { // tiffcp does not part 16 bits
			paths = append(paths, filepath.Join(dir, "planes.tif"))
			run(t, "tiffcp", "-p", "separate", path, paths[1])
		}
		for _, path := range paths {
			data, err := os.ReadFile(path)
			require.NoError(t, err)
			p := mustRead(t, data)
			assert.Empty(t, p.Notes)
			want, err := os.ReadFile(back)
			require.NoError(t, err)
			mean, worst := meanMiss(mustRead(t, want).Sample(Crop{}, 24, 18), p.Sample(Crop{}, 24, 18))
			assert.Less(t, mean, 0.25)
			assert.Less(t, worst, 1.5)
		}
	}
	bare := filepath.Join(dir, "bare.tif")
	run(t, "convert", "testdata/small.png", "-strip", "-colorspace", "CMYK", bare)
	data, err := os.ReadFile(bare)
	require.NoError(t, err)
	p := mustRead(t, data)
	assert.Contains(t, strings.Join(p.Notes, ""), "CMYK")
	mean, _ := meanMiss(mustRead(t, testFile(t, "small.png")).Sample(Crop{}, 24, 18), p.Sample(Crop{}, 24, 18))
	assert.Less(t, mean, 0.5, "ImageMagick's inks without a profile are what is missing of red, green and blue")
}

// Some writers keep the orientation in a BYTE.
func TestOrientationAsByte(t *testing.T) {
	data := testFile(t, "turned/o6.tif")
	f, ok := newTIFF(data)
	require.True(t, ok)
	entries, _ := f.entries(f.first)
	for ; len(entries) >= 12; entries = entries[12:] {
		if f.order.Uint16(entries) == tagOrientation {
			v := byte(f.order.Uint16(entries[8:]))
			f.order.PutUint16(entries[2:], 1)
			copy(entries[8:12], []byte{v, 0, 0, 0})
		}
	}
	assert.Equal(t, mustRead(t, testFile(t, "turned/o6.tif")).Sample(Crop{}, 9, 12), mustRead(t, data).Sample(Crop{}, 9, 12))
}

// A TIFF that ends early, its directory being in front, shows the strips that
// are whole. (The directory is moved there by hand: Image libraries write it
// behind the picture.)
func TestBrokenOffTIFF(t *testing.T) {
	data := testFile(t, "big-endian.tif")
	whole := mustRead(t, data)
	f, _ := newTIFF(data)
	entries, _ := f.entries(f.first)
	offsets := f.numbers(f.first, tagOffsets)
	require.Len(t, offsets, 1)
	row := 24 * 3
	// A copy of the pixels goes to the end.
	moved := append(bytes.Clone(data), data[offsets[0]:int(offsets[0])+18*row]...)
	for e := entries; len(e) >= 12; e = e[12:] {
		if f.order.Uint16(e) == tagOffsets {
			at := bytes.Index(moved, e[:12])
			f.order.PutUint16(moved[at+2:], 4)
			f.order.PutUint32(moved[at+8:], uint32(len(data)))
		}
	}
	assert.Equal(t, whole.Sample(Crop{}, 24, 18), mustRead(t, moved).Sample(Crop{}, 24, 18))
	p := mustRead(t, moved[:len(moved)-5*row-1])
	assert.Equal(t, 12, p.Height)
	assert.Equal(t, whole.Sample(Crop{0, 0, 24, 12}, 24, 12), p.Sample(Crop{}, 24, 12))
	require.Len(t, p.Notes, 1)
	assert.Contains(t, p.Notes[0], "the lower 34 percent are missing")
	_, err := Read(context.Background(), bytes.NewReader(moved[:len(moved)-9*row-1]), Limits{})
	checkSaid(t, err)
	assert.ErrorContains(t, err, "ends too early")
}
