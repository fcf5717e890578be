package kit

import (
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
	"kitwright/lab"
	"kitwright/photo"
)

// The demo photo carried into Adobe RGB at 16 bits by another program
// (ImageMagick, through Little CMS) gives the same chart within one percent of
// the drills. (An 8-bit HEIC cannot: rounding alone moves colors by .2 to .3
// CIEDE2000, which turns one drill in ten and more over to a neighboring color.)
func TestSameChartFromAdobeRGB(t *testing.T) {
	checker.Need(t, "convert")
	const screen, adobe = "/usr/share/color/icc/ghostscript/srgb.icc", "/usr/share/color/icc/colord/AdobeRGB1998.icc"
	for _, profile := range []string{screen, adobe} {
		if _, err := os.Stat(profile); err != nil {
			checker.Missing(t, "the profile "+profile)
		}
	}
	dir := t.TempDir()
	cat, tiff := filepath.Join(dir, "cat.png"), filepath.Join(dir, "cat.tif")
	require.NoError(t, os.WriteFile(cat, photo.Demo(), 0o666))
	out, err := exec.Command("convert", cat, "-strip", "-profile", screen, "-intent", "relative", "-profile", adobe, "-depth", "16", "-compress", "zip", tiff).CombinedOutput()
	require.NoError(t, err, string(out))
	data, err := os.ReadFile(tiff)
	require.NoError(t, err)

	var kits [2]*Kit
	for i, picture := range [][]byte{photo.Demo(), data} {
		p, o := prepare(t, picture, func(o *Order) { o.Grid, o.Colors = Cells{160, 120}, 30 })
		kits[i], err = p.Kit(context.Background(), o)
		require.NoError(t, err)
	}
	other := 0
	for y := range 120 {
		for x := range 160 {
			if kits[0].Chart.At(x, y).Drill.Code != kits[1].Chart.At(x, y).Drill.Code {
				other++
			}
		}
	}
	// Where a soft ground is mixed of two colors, the least difference sets
	// other drills of the same mixture: judged from two meters, and by counts.
	far := lab.MeanMiss(lab.FarMiss(kits[0].Chart.Grid(), kits[1].Chart.Grid(), lab.CellsPerDegree(2.5, 2000)))
	moved := 0
	for i, e := range kits[0].Chart.Legend {
		require.Equal(t, e.Drill.Code, kits[1].Chart.Legend[i].Drill.Code)
		moved += max(e.Count-kits[1].Chart.Legend[i].Count, kits[1].Chart.Legend[i].Count-e.Count)
	}
	t.Logf("%d of 19200 drills differ, their counts by %d in all, %.3f from two meters", other, moved/2, far)
	assert.Less(t, far, .45) // one is just noticed
	assert.Less(t, moved/2, 192)
}
