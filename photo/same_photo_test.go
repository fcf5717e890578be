package photo

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
)

// The demo photo in other colors and files, made by Little CMS (in ImageMagick
// and libvips), libtiff and heif-enc, gives the same target colors: to the last
// digit but one from 16 bits, within the noise of its coding from an HEIC.
func TestSamePhotoInOtherColors(t *testing.T) {
	if testing.Short() {
		t.Skip("skipped: -short")
	}
	checker.Need(t, "convert", "vips", "heif-enc", "heif-convert")
	const screen, adobe = "/usr/share/color/icc/ghostscript/srgb.icc", "/usr/share/color/icc/colord/AdobeRGB1998.icc"
	for _, profile := range []string{screen, adobe} {
		if _, err := os.Stat(profile); err != nil {
			checker.Missing(t, "the profile "+profile)
		}
	}
	dir := t.TempDir()
	file := func(name string) string { return filepath.Join(dir, name) }
	require.NoError(t, os.WriteFile(file("p3.icc"), p3ICC(), 0o666))
	run(t, "convert", "demo/cat.png", "-strip", "PNG24:"+file("cat.png"))
	run(t, "convert", file("cat.png"), "-profile", screen, "-intent", "relative", "-profile", adobe, "-depth", "16", "-compress", "zip", file("adobe.tif"))
	run(t, "convert", file("cat.png"), "-profile", screen, "-intent", "relative", "-profile", file("p3.icc"), "-depth", "16", "PNG48:"+file("p3.png"))
	run(t, "vips", "icc_transform", file("cat.png"), file("p3-8.png"), file("p3.icc"), "--input-profile", screen, "--intent", "relative")
	run(t, "heif-enc", "-q", "95", "-p", "chroma=444", file("p3-8.png"), "-o", file("p3.heic"))
	run(t, "heif-enc", "-q", "95", "-b", "10", file("p3.png"), "-o", file("p3-10.heic"))
	want := mustRead(t, Demo()).Sample(Crop{}, 120, 80)
	for _, c := range []struct {
		file, space string
		mean        float64
	}{
		{"adobe.tif", "Compatible with Adobe RGB (1998)", 0.02}, // so named by its maker
		{"p3.png", "Display P3", 0.02},
		{"p3.heic", "Display P3", 0.4},
		{"p3-10.heic", "Display P3", 0.5}, // color differences at half size
	} {
		data, err := os.ReadFile(file(c.file))
		require.NoError(t, err)
		p := mustRead(t, data)
		assert.Equal(t, c.space, p.Space)
		mean, worst := meanMiss(want, p.Sample(Crop{}, 120, 80))
		t.Logf("%s: CIEDE2000 mean %.3f worst %.3f", c.file, mean, worst)
		assert.Less(t, mean, c.mean, c.file)
	}
}
