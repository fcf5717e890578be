package pdf

import (
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
)

// Little CMS, reading our profile, agrees with its own sRGB. A step of the
// profile's numbers (1/65536) is worth .05 of 255 near black, and three add up.
func TestProfileAgreesWithLittleCMS(t *testing.T) {
	checker.Need(t, "transicc")
	path := filepath.Join(t.TempDir(), "srgb.icc")
	require.NoError(t, os.WriteFile(path, srgbProfile(), 0o666))
	var in strings.Builder
	var want [][3]float64
	for r := 0; r < 256; r += 51 {
		for g := 0; g < 256; g += 51 {
			for b := 0; b < 256; b += 17 {
				fmt.Fprintf(&in, "%d\n%d\n%d\n", r, g, b)
				want = append(want, [3]float64{float64(r), float64(g), float64(b)})
			}
		}
	}
	for _, way := range [][]string{{"-i", path, "-o", "*sRGB"}, {"-i", "*sRGB", "-o", path}} {
		cmd := exec.Command("transicc", append([]string{"-t1", "-n"}, way...)...)
		cmd.Stdin = strings.NewReader(in.String())
		out, err := cmd.Output()
		require.NoError(t, err)
		worst := 0.0
		lines := strings.Split(strings.TrimSpace(string(out)), "\n")
		require.Len(t, lines, len(want))
		for i, l := range lines {
			var c [3]float64
			_, err := fmt.Sscan(l, &c[0], &c[1], &c[2])
			require.NoError(t, err, l)
			for j := range 3 {
				worst = math.Max(worst, math.Abs(c[j]-want[i][j]))
			}
		}
		assert.LessOrEqual(t, worst, 0.15, "of 255, %v", way)
		t.Logf("%v: %.4f of 255", way, worst)
	}
}
