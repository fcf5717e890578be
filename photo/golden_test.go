package photo

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"kitwright/internal/golden"
	"kitwright/lab"
)

// The same file gives the same colors to the last bit, on any machine, with any
// number of cores, with and without fused multiply-add: the golden file holds
// the sum of each grid. (image/jpeg is asked for cmyk.jpg only.)
func TestGridsAreTheSameEverywhere(t *testing.T) {
	if testing.Short() {
		t.Skip("skipped: -short")
	}
	var out bytes.Buffer
	add := func(name string, g *lab.Grid) {
		h := sha256.New()
		for _, c := range g.Cells {
			for _, v := range [3]float64{c.L, c.A, c.B} {
				binary.Write(h, binary.BigEndian, int64(math.Round(v*4096)))
			}
		}
		fmt.Fprintf(&out, "%x  %s\n", h.Sum(nil)[:8], name)
	}
	for _, c := range readable {
		add(c.file, mustRead(t, testFile(t, c.file)).Sample(Crop{1.3, 0.7, 21, 16}, 11, 9))
	}
	turned, err := filepath.Glob("testdata/turned/o[67].*")
	require.NoError(t, err)
	require.NotEmpty(t, turned)
	for _, name := range turned {
		data, err := os.ReadFile(name)
		require.NoError(t, err)
		add(filepath.Base(name), mustRead(t, data).Sample(Crop{}, 11, 9))
	}
	for _, c := range []struct {
		name string
		icc  []byte
	}{{"Display P3", p3ICC()}, {"a profile of tables", lutICC("Lab ", mft(2))}} {
		s, err := parseICC(c.icc, 3)
		require.NoError(t, err)
		values := devices(3)
		p := &Photo{turn: upright, px: newPixels(patches(values), s, jpegRange), toRGB: s.toRGB, Width: len(values), Height: 1}
		add(c.name, p.Sample(Crop{}, len(values), 1))
	}
	golden.Equal(t, "grids.txt", out.Bytes())
}
