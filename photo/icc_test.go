package photo

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"image"
	"image/color"
	"io/fs"
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
)

// writeICC makes a matrix profile (version 2) out of three colorants, XYZ
// relative to D50, and curve tags.
func writeICC(name string, colorants [3][3]float64, curve []byte) []byte {
	tags := []struct {
		sig  string
		body []byte
	}{{"desc", append(append([]byte("desc\x00\x00\x00\x00"), 0, 0, 0, byte(len(name)+1)), append([]byte(name), make([]byte, 80)...)...)}}
	s15 := func(v float64) []byte { return binary.BigEndian.AppendUint32(nil, uint32(int32(math.Round(v*65536)))) }
	for i, c := range []string{"r", "g", "b"} {
		xyz := []byte("XYZ \x00\x00\x00\x00")
		for _, v := range colorants[i] {
			xyz = append(xyz, s15(v)...)
		}
		tags = append(tags, struct {
			sig  string
			body []byte
		}{c + "XYZ", xyz}, struct {
			sig  string
			body []byte
		}{c + "TRC", curve})
	}
	head := make([]byte, 128)
	head[8] = 2
	copy(head[12:], "mntrRGB XYZ ")
	copy(head[36:], "acsp")
	copy(head[68:], []byte{0, 0, 0xf6, 0xd6, 0, 1, 0, 0, 0, 0, 0xd3, 0x2d})
	table := binary.BigEndian.AppendUint32(nil, uint32(len(tags)))
	var bodies []byte
	for _, t := range tags {
		for len(bodies)%4 != 0 {
			bodies = append(bodies, 0)
		}
		table = append(table, t.sig...)
		table = binary.BigEndian.AppendUint32(table, uint32(132+12*len(tags)+len(bodies)))
		table = binary.BigEndian.AppendUint32(table, uint32(len(t.body)))
		bodies = append(bodies, t.body...)
	}
	out := append(append(head, table...), bodies...)
	binary.BigEndian.PutUint32(out, uint32(len(out)))
	return out
}

// p3ICC is Display P3: the colorants as phones write them (from memory, equal
// within 1e-4 to SMPTE EG 432-1's primaries brought from D65 to D50), the
// curve of sRGB as a parametric curve.
func p3ICC() []byte {
	curve := []byte("para\x00\x00\x00\x00\x00\x03\x00\x00")
	for _, v := range []float64{2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045} {
		curve = binary.BigEndian.AppendUint32(curve, uint32(math.Round(v*65536)))
	}
	return writeICC("Display P3", [3][3]float64{{0.51512, 0.2412, -0.00105}, {0.29198, 0.69225, 0.04189}, {0.1571, 0.06657, 0.78407}}, curve)
}

// devices are numbers to send through a profile: a grid and random ones.
func devices(channels int) [][]uint8 {
	steps := map[int]int{1: 101, 3: 7, 4: 4}[channels]
	var out [][]uint8
	total := int(math.Pow(float64(steps), float64(channels)))
	for i := range total {
		c := make([]uint8, channels)
		for k := range c {
			c[k] = uint8(math.Round(float64(i%steps) * 255 / float64(steps-1)))
			i /= steps
		}
		out = append(out, c)
	}
	rnd := rand.New(rand.NewPCG(11, 12))
	for range 300 {
		c := make([]uint8, channels)
		for k := range c {
			c[k] = uint8(rnd.Uint32())
		}
		out = append(out, c)
	}
	return out
}

// patches is a picture one pixel high.
func patches(values [][]uint8) image.Image {
	r := image.Rect(0, 0, len(values), 1)
	switch len(values[0]) {
	case 1:
		m := image.NewGray(r)
		for i, v := range values {
			m.Pix[i] = v[0]
		}
		return m
	case 4:
		m := &packed{dims: dims{len(values), 1}, n: 4, colors: 4, stride: 4 * len(values)}
		for _, v := range values {
			m.pix = append(m.pix, v...)
		}
		return m
	}
	m := image.NewNRGBA(r)
	for i, v := range values {
		m.Set(i, 0, color.NRGBA{v[0], v[1], v[2], 255})
	}
	return m
}

// transicc sends numbers through a profile with Little CMS (Debian package
// liblcms2-utils), relative colorimetric, and brings its Lab from D50 to D65.
func transicc(t *testing.T, profile string, values [][]uint8) []lab.Color {
	t.Helper()
	var in bytes.Buffer
	for _, v := range values {
		for _, n := range v {
			if len(v) == 4 {
				fmt.Fprintf(&in, "%.6f ", float64(n)/255*100)
			} else {
				fmt.Fprintf(&in, "%d ", n)
			}
		}
		in.WriteString("\n")
	}
	cmd := exec.Command("transicc", "-t1", "-n", "-i", profile, "-o", "*Lab4")
	cmd.Stdin = &in
	out, err := cmd.Output()
	require.NoError(t, err)
	var all []lab.Color
	for _, line := range strings.Split(strings.TrimSpace(string(out)), "\n") {
		var l, a, b float64
		_, err := fmt.Sscan(line, &l, &a, &b)
		require.NoError(t, err)
		fy := (l + 16) / 116
		xyz := [3]float64{plainUnlab(fy+a/500) * 0.9642, plainUnlab(fy), plainUnlab(fy-b/200) * 0.8249}
		// Bradford from D50 to D65 as published by B. Lindbloom ("Chromatic
		// Adaptation"), seven decimals.
		all = append(all, lab.FromXYZ(
			0.9555766*xyz[0]-0.0230393*xyz[1]+0.0631636*xyz[2],
			-0.0282895*xyz[0]+1.0099416*xyz[1]+0.0210077*xyz[2],
			0.0122982*xyz[0]-0.0204830*xyz[1]+1.3299098*xyz[2]))
	}
	require.Len(t, all, len(values))
	return all
}

func plainUnlab(t float64) float64 {
	if t > 6.0/29 {
		return t * t * t
	}
	return 3 * 36.0 / 841 * (t - 4.0/29)
}

// compareICC reads patches in a profile and wants Little CMS's colors.
func compareICC(t *testing.T, path string) {
	icc, err := os.ReadFile(path)
	require.NoError(t, err)
	channels := map[string]int{"GRAY": 1, "RGB ": 3, "CMYK": 4}[string(icc[16:20])]
	if channels == 0 || string(icc[12:16]) == "abst" || string(icc[12:16]) == "nmcl" {
		t.Skip("not a profile that pictures are stored in")
	}
	s, err := parseICC(icc, channels)
	require.NoError(t, err)
	values := devices(channels)
	p := &Photo{turn: upright, px: newPixels(patches(values), s, jpegRange), toRGB: s.toRGB, Width: len(values), Height: 1}
	got := p.Sample(Crop{}, len(values), 1).Cells
	want := transicc(t, path, values)
	var sum, worst float64
	for i := range want {
		d := lab.DeltaE(want[i], got[i])
		sum += d
		if d > worst {
			worst = d
		}
	}
	mean := sum / float64(len(want))
	t.Logf("%s: CIEDE2000 mean %.4f worst %.4f over %d", s.name, mean, worst, len(want))
	assert.LessOrEqual(t, mean, 0.05)
	assert.LessOrEqual(t, worst, 0.5)
}

// Every profile of Debian's icc-profiles-free, colord-data and libgs9-common,
// and Display P3, against Little CMS.
func TestProfilesAgainstLittleCMS(t *testing.T) {
	checker.Need(t, "transicc")
	t.Run("Display P3", func(t *testing.T) {
		path := filepath.Join(t.TempDir(), "p3.icc")
		require.NoError(t, os.WriteFile(path, p3ICC(), 0o666))
		compareICC(t, path)
	})
	const dir = "/usr/share/color/icc"
	if _, err := os.Stat(dir); err != nil {
		checker.Missing(t, "the folder "+dir)
	}
	n := 0
	require.NoError(t, filepath.WalkDir(dir, func(path string, _ fs.DirEntry, err error) error {
		if filepath.Ext(path) == ".icc" {
			n++
			t.Run(strings.TrimPrefix(path, dir+"/"), func(t *testing.T) { compareICC(t, path) })
		}
		return err
	}))
	assert.NotZero(t, n)
}
