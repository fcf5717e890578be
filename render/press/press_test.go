package press_test

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
	"kitwright/lab"
	"kitwright/render/press"
)

const debian = "/usr/share/color/icc/"

// offset is a profile of offset printing on coated paper, made by Argyll's
// colprof from the characterization data FOGRA39L (both of Debian: argyll,
// icc-profiles-free).
func offset(t *testing.T) string {
	t.Helper()
	checker.Need(t, "colprof")
	data, err := os.ReadFile(debian + "FOGRA39L.ti3")
	if err != nil {
		checker.Missing(t, "Debian's icc-profiles-free")
	}
	dir := t.TempDir()
	base := filepath.Join(dir, "f39")
	require.NoError(t, os.WriteFile(base+".ti3", data, 0o666))
	out, err := exec.Command("colprof", "-ql", "-S", debian+"sRGB.icc", "-cmt", "-dpp", "-D", "coated", "-O", base+".icc", base).CombinedOutput()
	require.NoError(t, err, "%s", out)
	return base + ".icc"
}

// inkjet is a profile of a printer that takes red, green and blue: its
// measurements are simulated by Argyll through a wide space (Debian
// icc-profiles-free; those of colord-data are of version 4, which it cannot read).
func inkjet(t *testing.T) string {
	t.Helper()
	checker.Need(t, "targen", "fakeread", "colprof")
	space := debian + "compatibleWithAdobeRGB1998.icc"
	if _, err := os.Stat(space); err != nil {
		checker.Missing(t, "Debian's icc-profiles-free")
	}
	base := filepath.Join(t.TempDir(), "jet")
	for _, call := range [][]string{{"targen", "-d2", "-f120", base}, {"fakeread", space, base}, {"colprof", "-ql", "-D", "jet", "-O", base + ".icc", base}} {
		out, err := exec.Command(call[0], call[1:]...).CombinedOutput()
		require.NoError(t, err, "%v: %s", call, out)
	}
	data, err := os.ReadFile(base + ".icc")
	require.NoError(t, err)
	copy(data[12:], "prtr") // colprof calls every machine of red, green and blue a screen
	require.NoError(t, os.WriteFile(base+".icc", data, 0o666))
	return base + ".icc"
}

func read(t *testing.T, path string) *press.Profile {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		checker.Missing(t, path)
	}
	p, err := press.Read(filepath.Base(path), data)
	require.NoError(t, err)
	return p
}

// Screen colors come to the inks that Little CMS 2 comes to (Debian
// liblcms2-utils, transicc), by both ways, told by what the inks look like.
func TestLittleCMS(t *testing.T) {
	if testing.Short() {
		t.Skip("making the profiles takes half a minute")
	}
	checker.Need(t, "transicc")
	for _, x := range []struct{ name, path string }{{"offset", offset(t)}, {"Ghostscript's", debian + "ghostscript/default_cmyk.icc"}, {"ink jet", inkjet(t)}} {
		p := read(t, x.path)
		rng := rand.New(rand.NewPCG(39, 1))
		colors := []press.Color{{}, {255, 255, 255}, {128, 128, 128}, {255, 0, 0}, {0, 0, 255}}
		for len(colors) < 400 {
			colors = append(colors, press.Color{uint8(rng.IntN(256)), uint8(rng.IntN(256)), uint8(rng.IntN(256))})
		}
		for _, way := range []struct {
			intent press.Intent
			flags  []string
		}{{press.Relative, []string{"-t1", "-b"}}, {press.Perceptual, []string{"-t0"}}} {
			var in bytes.Buffer
			for _, c := range colors {
				fmt.Fprintln(&in, c[0], c[1], c[2])
			}
			cmd := exec.Command("transicc", append([]string{"-n", "-c0", "-i", "*sRGB", "-o", x.path}, way.flags...)...)
			cmd.Stdin = &in
			out, err := cmd.Output()
			require.NoError(t, err)
			full := 100.0 // of inks
			if p.Inks == 3 {
				full = 255
			}
			var sum, worst float64
			i := 0
			for line := range strings.Lines(string(out)) {
				var theirs [4]float64
				n, _ := fmt.Sscan(line, &theirs[0], &theirs[1], &theirs[2], &theirs[3])
				if n < p.Inks {
					continue
				}
				for j := range theirs {
					theirs[j] /= full
				}
				d := lab.DeltaE(p.Seen(theirs), p.Seen(p.Device(colors[i], way.intent)))
				sum, worst = sum+d, math.Max(worst, d)
				i++
			}
			require.Equal(t, len(colors), i)
			t.Logf("%s, %s: mean %.3f, worst %.3f", x.name, way.intent, sum/float64(i), worst)
			assert.Less(t, sum/float64(i), 0.05, "%s, %s", x.name, way.intent)
			assert.Less(t, worst, 0.2, "%s, %s", x.name, way.intent)
		}
	}
}

// What inks look like is what Little CMS says, absolute numbers aside.
func TestSeenAsLittleCMS(t *testing.T) {
	checker.Need(t, "transicc")
	path := debian + "ghostscript/default_cmyk.icc"
	p := read(t, path)
	var in bytes.Buffer
	var inks [][4]float64
	rng := rand.New(rand.NewPCG(7, 7))
	for range 200 {
		var v [4]float64
		for j := range v {
			v[j] = float64(rng.IntN(101)) / 100
		}
		inks = append(inks, v)
		fmt.Fprintln(&in, 100*v[0], 100*v[1], 100*v[2], 100*v[3])
	}
	cmd := exec.Command("transicc", "-n", "-i", path, "-o", "*Lab", "-t1")
	cmd.Stdin = &in
	out, err := cmd.Output()
	require.NoError(t, err)
	i, worst := 0, 0.0
	for line := range strings.Lines(string(out)) {
		var l, a, b float64
		if n, _ := fmt.Sscan(line, &l, &a, &b); n == 3 {
			worst = math.Max(worst, lab.DeltaE(lab.Relative(l, a, b, [3]float64{0.9642, 1, 0.8249}), p.Seen(inks[i])))
			i++
		}
	}
	require.Equal(t, len(inks), i)
	assert.Less(t, worst, 0.3)
}

func TestGrayIsAsLightInBlackAlone(t *testing.T) {
	p := read(t, debian+"ghostscript/default_cmyk.icc")
	last := 2.0
	for v := 0; v < 256; v += 15 {
		k := p.Gray(uint8(v))
		assert.LessOrEqual(t, k, last)
		last = k
		if k < 0.999 { // lighter than the ink alone can be dark
			want := lab.FromSRGB([3]uint8{uint8(v), uint8(v), uint8(v)}).L
			assert.InDelta(t, want, p.Seen([4]float64{0, 0, 0, k}).L, 0.6, "%d", v)
		}
	}
}

func TestProfilesThatTellNothing(t *testing.T) {
	for _, x := range []struct{ file, want string }{{"sRGB.icc", "of a screen"}, {"ghostscript/default_gray.icc", ""}, {"ghostscript/lab.icc", ""}} {
		data, err := os.ReadFile(debian + x.file)
		if err != nil {
			checker.Missing(t, "Debian's icc-profiles-free and libgs-common")
		}
		_, err = press.Read(x.file, data)
		assert.ErrorContains(t, err, x.want, x.file)
	}
	data, err := os.ReadFile(debian + "ghostscript/default_cmyk.icc")
	require.NoError(t, err)
	for _, end := range []int{0, 50, 131, 200, 3000, len(data) / 2} {
		_, err := press.Read("cut.icc", data[:end])
		assert.Error(t, err, "%d", end)
	}
	rng := rand.New(rand.NewPCG(1, 9))
	for range 300 { // what is spoiled is refused or read, never a panic
		bad := bytes.Clone(data)
		for range 1 + rng.IntN(8) {
			bad[rng.IntN(4000)] = byte(rng.IntN(256))
		}
		if p, err := press.Read("bad.icc", bad); err == nil {
			p.Device(press.Color{1, 2, 3}, press.Relative)
		}
	}
}
