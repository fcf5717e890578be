package photo

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/lab"
)

// Eight orientations in six formats, in files of independent programs
// (testdata/turned/make.sh tells which): red, green / blue, yellow.
func TestUprightInEveryFormat(t *testing.T) {
	want := []lab.Color{
		lab.FromSRGB([3]uint8{0xc0, 0x28, 0x18}), lab.FromSRGB([3]uint8{0x20, 0x90, 0x30}),
		lab.FromSRGB([3]uint8{0x20, 0x38, 0xb0}), lab.FromSRGB([3]uint8{0xe0, 0xc0, 0x20}),
	}
	seen := 0
	formats := []string{"jpg", "png", "webp", "tif", "heic", "avif"}
	if testing.Short() {
		formats = formats[:4]
	}
	for _, format := range formats {
		for o := 1; o <= 8; o++ {
			name := fmt.Sprintf("o%d.%s", o, format)
			t.Run(name, func(t *testing.T) {
				data, err := os.ReadFile(filepath.Join("testdata", "turned", name))
				require.NoError(t, err)
				p := mustRead(t, data)
				require.Equal(t, turn(o), p.turn)
				require.Equal(t, [2]int{48, 32}, [2]int{p.Width, p.Height})
				for i, c := range p.Sample(Crop{4, 4, 40, 24}, 2, 2).Cells {
					assert.Less(t, lab.DeltaE(want[i], c), 2.5, "corner %d: %v", i, c)
				}
				seen++
			})
		}
	}
	assert.Equal(t, 8*len(formats), seen)
}

// Exif that points back at itself, has no end or lies about its size says
// nothing, or what it says before that.
func TestOddExif(t *testing.T) {
	whole := []byte("MM\x00*\x00\x00\x00\x08\x00\x02" +
		"\x01\x12\x00\x03\x00\x00\x00\x01\x00\x06\x00\x00" +
		"\x87\x69\x00\x04\x00\x00\x00\x01\x00\x00\x00\x08" + "\x00\x00\x00\x08")
	for n := range len(whole) + 1 {
		var m meta
		m.readExif(whole[:n])
		if n >= 22 { // the entry is there
			assert.Equal(t, turn(6), m.turn)
		}
	}
	for i := range whole {
		for _, v := range []byte{0, 1, 0x7F, 0xFF} {
			odd := append([]byte(nil), whole...)
			odd[i] = v
			var m meta
			assert.NotPanics(t, func() { m.readExif(odd) })
		}
	}
	var m meta
	m.readExif([]byte("II*\x00\x08\x00\x00\x00\x01\x00\x12\x01\x03\x00\x01\x00\x00\x00\x09\x00\x00\x00"))
	assert.Equal(t, upright, m.turn.known())
}
