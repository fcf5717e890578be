package photo

import (
	"encoding/binary"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
)

// lutICC makes a version 4 scanner profile around one A2B0 table.
func lutICC(pcs string, tag []byte) []byte {
	head := make([]byte, 128)
	head[8], head[9] = 4, 0x20
	copy(head[12:], "scnrRGB "+pcs)
	copy(head[36:], "acsp")
	copy(head[68:], []byte{0, 0, 0xf6, 0xd6, 0, 1, 0, 0, 0, 0, 0xd3, 0x2d})
	white := []byte("XYZ \x00\x00\x00\x00\x00\x00\xf6\xd6\x00\x01\x00\x00\x00\x00\xd3\x2d")
	out := binary.BigEndian.AppendUint32(head, 2)
	out = append(out, "A2B0"...)
	out = binary.BigEndian.AppendUint32(out, 132+24+20)
	out = binary.BigEndian.AppendUint32(out, uint32(len(tag)))
	out = append(out, "wtpt"...)
	out = binary.BigEndian.AppendUint32(out, 132+24)
	out = binary.BigEndian.AppendUint32(out, 20)
	out = append(append(out, white...), tag...)
	binary.BigEndian.PutUint32(out, uint32(len(out)))
	return out
}

// wobbly is a cube of Lab numbers that rise along the diagonal and wobble.
func wobbly(grid int, put func(v float64)) {
	rnd := rand.New(rand.NewPCG(5, 6))
	for i := range grid * grid * grid {
		r, g, b := float64(i/grid/grid)/float64(grid-1), float64(i/grid%grid)/float64(grid-1), float64(i%grid)/float64(grid-1)
		put(0.1 + 0.8*(0.3*r+0.6*g+0.1*b) + 0.05*rnd.Float64())
		put(0.5 + 0.25*(r-g) + 0.05*rnd.Float64())
		put(0.5 + 0.25*(g-b) + 0.05*rnd.Float64())
	}
}

func mft(size int) []byte {
	const grid = 5
	tag := []byte("mft2\x00\x00\x00\x00\x03\x03\x05\x00")
	if size == 1 {
		tag[3] = '1'
	}
	for i := range 9 {
		v := uint32(0)
		if i%4 == 0 {
			v = 65536
		}
		tag = binary.BigEndian.AppendUint32(tag, v)
	}
	put := func(v float64) {
		if size == 1 {
			tag = append(tag, byte(math.Round(v*255)))
		} else {
			tag = binary.BigEndian.AppendUint16(tag, uint16(math.Round(v*65535)))
		}
	}
	n := 256
	if size == 2 {
		n = 33
		tag = binary.BigEndian.AppendUint16(tag, uint16(n))
		tag = binary.BigEndian.AppendUint16(tag, uint16(n))
	}
	curve := func(gamma float64) {
		for i := range n {
			put(math.Pow(float64(i)/float64(n-1), gamma))
		}
	}
	for range 3 {
		curve(0.8)
	}
	wobbly(grid, put)
	for range 3 {
		curve(1)
	}
	return tag
}

// mab is lutAToBType with all its stages, or the matrix alone.
func mab(cube bool) []byte {
	tag := []byte("mAB \x00\x00\x00\x00\x03\x03\x00\x00")
	tag = append(tag, make([]byte, 20)...)
	mark := func(i int) { binary.BigEndian.PutUint32(tag[12+4*i:], uint32(len(tag))) }
	para := func(gamma float64) {
		for range 3 {
			tag = append(tag, "para\x00\x00\x00\x00\x00\x00\x00\x00"...)
			tag = binary.BigEndian.AppendUint32(tag, uint32(math.Round(gamma*65536)))
		}
	}
	mark(0)
	para(1)
	mark(1)
	for _, v := range []float64{0.4, 0.35, 0.15, 0.2, 0.7, 0.1, 0.02, 0.1, 0.7, 0.01, 0.0, 0.01} {
		tag = binary.BigEndian.AppendUint32(tag, uint32(int32(math.Round(v*32768)))) // XYZ: 1 is about 32768
	}
	mark(2)
	para(1.8)
	if cube {
		mark(3)
		tag = append(tag, 5, 5, 5)
		tag = append(tag, make([]byte, 13)...)
		tag = append(tag, 2, 0, 0, 0)
		wobbly(5, func(v float64) { tag = binary.BigEndian.AppendUint16(tag, uint16(math.Round(v*65535))) })
		for len(tag)%4 != 0 {
			tag = append(tag, 0)
		}
		mark(4)
		para(0.9)
	}
	return tag
}

// Profiles made of tables, each kind of table once, against Little CMS.
func TestTableProfilesAgainstLittleCMS(t *testing.T) {
	checker.Need(t, "transicc")
	for name, icc := range map[string][]byte{
		"lut8": lutICC("Lab ", mft(1)), "lut16": lutICC("Lab ", mft(2)),
		"lutAToB matrix": lutICC("XYZ ", mab(false)), "lutAToB cube": lutICC("XYZ ", mab(true)),
	} {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "table.icc")
			require.NoError(t, os.WriteFile(path, icc, 0o666))
			compareICC(t, path)
		})
	}
}

// A damaged profile is read or refused, quickly, and never brings Read down.
func TestDamagedProfiles(t *testing.T) {
	rnd := rand.New(rand.NewPCG(3, 4))
	sources := map[int][][]byte{3: {p3ICC(), lutICC("Lab ", mft(2)), lutICC("XYZ ", mab(true))}}
	for channels, all := range sources {
		for _, whole := range all {
			refused := 0
			for range 2000 {
				icc := append([]byte(nil), whole...)
				for range 1 + rnd.IntN(4) {
					// Mostly the head and the tables of tags, where sizes are.
					at := rnd.IntN(len(icc))
					if rnd.IntN(3) > 0 {
						at = rnd.IntN(min(len(icc), 400))
					}
					icc[at] = byte(rnd.Uint32())
				}
				icc = icc[:len(icc)-rnd.IntN(2)*rnd.IntN(len(icc))]
				s, err := parseICC(icc, channels)
				if err != nil {
					refused++
					continue
				}
				p := &Photo{turn: upright, px: newPixels(patches(devices(3)[:40]), s, jpegRange), toRGB: s.toRGB, Width: 40, Height: 1}
				p.Sample(Crop{}, 40, 1)
			}
			assert.Greater(t, refused, 100)
			assert.Less(t, refused, 2000)
		}
	}
}
