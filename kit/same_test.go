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
	"kitwright/photo"
)

// The demo photo carried into Adobe RGB at 16 bits by another program
// (ImageMagick, through Little CMS) gets the same colors or some that cost the
// same: two best choices within a ten-thousandth of each other are turned by the
// least difference. With the same colors the nearest is the same in all but one
// percent of the drills. (An 8-bit HEIC cannot:
// rounding alone moves colors by .2 to .3 CIEDE2000, which turns one drill in
// ten and more over to a neighboring color.) Where a soft ground is mixed of
// two colors, the least difference sets other drills of the same mixture: there
// the counts have to agree, and how far off it is from two meters. The effort is
// quick, which exchanges no color for one that lays better.
func TestSameChartFromAdobeRGB(t *testing.T) {
	checker.Slow(t)
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
	var nearest [2][]uint16
	var far, costs [2]float64
	for i, picture := range [][]byte{photo.Demo(), data} {
		p, o := prepare(t, picture, func(o *Order) { o.Grid, o.Colors, o.Effort = Cells{160, 120}, 30, EffortQuick })
		free, err := p.Kit(context.Background(), o)
		require.NoError(t, err)
		require.True(t, free.Quality.Proven)
		costs[i] = free.Quality.Cost
		if i == 0 {
			kits[i] = free
		} else {
			for _, e := range kits[0].Chart.Legend {
				o.Keep = append(o.Keep, e.Drill.Code)
			}
			kits[i], err = p.Kit(context.Background(), o)
			require.NoError(t, err)
		}
		var chosen []int
		for _, e := range kits[i].Chart.Legend {
			j, ok := p.card.Index(e.Drill.Code)
			require.True(t, ok)
			chosen = append(chosen, j)
		}
		nearest[i] = p.problem.Nearest(chosen)
		far[i] = p.farMiss(p.FarView(p.grid), kits[i].Chart.Grid())
	}
	other, moved := 0, 0
	for i, c := range nearest[0] {
		if c != nearest[1][i] {
			other++
		}
	}
	for i, e := range kits[0].Chart.Legend {
		require.Equal(t, e.Drill.Code, kits[1].Chart.Legend[i].Drill.Code)
		moved += max(e.Count-kits[1].Chart.Legend[i].Count, kits[1].Chart.Legend[i].Count-e.Count)
	}
	t.Logf("%d of 19200 drills are nearest to another color, the laid ones' counts differ by %d in all; off from two meters %.4f and %.4f", other, moved/2, far[0], far[1])
	assert.InEpsilon(t, costs[0], costs[1], .0005, "the best colors of either")
	assert.InEpsilon(t, costs[1], kits[1].Quality.Cost, .001, "its own best colors and the other's")
	assert.Less(t, other, 192)
	assert.Less(t, moved/2, 192)
	assert.InEpsilon(t, far[0], far[1], .005)
}
