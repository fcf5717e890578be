package photo

import (
	"bytes"
	"context"
	"encoding/binary"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
)

// Kinds of BMP written and read by ImageMagick.
func TestKindsOfBMP(t *testing.T) {
	if testing.Short() {
		t.Skip("skipped: -short")
	}
	checker.Need(t, "convert")
	dir := t.TempDir()
	for name, args := range map[string][]string{
		"24 bits": {"BMP3:"}, "OS/2": {"BMP2:"}, "V5": {"BMP:"}, "see-through": {"BMP:"},
		"palette":        {"-colors", "20", "-type", "palette", "-compress", "none", "BMP3:"},
		"OS/2 palette":   {"-colors", "20", "-type", "palette", "-compress", "none", "BMP2:"},
		"RLE8":           {"-colors", "20", "-type", "palette", "-compress", "RLE", "BMP3:"},
		"RLE8 of bands":  {"-colors", "4", "-type", "palette", "-scale", "3x18!", "-scale", "300x18!", "-compress", "RLE", "BMP3:"},
		"4 bits":         {"-colors", "9", "-type", "palette", "-compress", "none", "BMP3:"},
		"1 bit":          {"-threshold", "50%", "-type", "bilevel", "BMP3:"},
		"16 bits 565":    {"-define", "bmp:subtype=RGB565", "BMP:"},
		"16 bits 555":    {"-define", "bmp:subtype=RGB555", "BMP:"},
		"masks and more": {"-define", "bmp:subtype=ARGB4444", "BMP:"},
		"masks, opacity": {"-define", "bmp:subtype=ARGB1555", "BMP:"},
	} {
		t.Run(name, func(t *testing.T) {
			from, path := "testdata/small.png", filepath.Join(dir, "a.bmp")
			if name == "see-through" || name == "masks and more" || name == "masks, opacity" {
				from = "testdata/alpha.png"
			}
			n := len(args) - 1
			run(t, "convert", append(append([]string{from, "-strip"}, args[:n]...), args[n]+path)...)
			switch name {
			case "16 bits 565", "16 bits 555": // ImageMagick repeats bits, we divide by the largest number
				asOthers(t, path, 1.1)
			case "masks and more", "masks, opacity": // and of these it fills no bits up, so that white is gray
				data, err := os.ReadFile(path)
				require.NoError(t, err)
				p := mustRead(t, data)
				assert.Equal(t, 1.0, p.Opacity(Crop{}, 24, 18)[0])
				mean, _ := meanMiss(mustRead(t, testFile(t, "alpha.png")).Sample(Crop{0, 0, 24, 1}, 12, 1), p.Sample(Crop{0, 0, 24, 1}, 12, 1))
				assert.Less(t, mean, 4.0)
			default:
				asOthers(t, path, 0.06)
			}
		})
	}
}

// The same picture turned upside down in the file, as a negative height says,
// cut short from either end.
func TestBrokenOffBMP(t *testing.T) {
	data := testFile(t, "small.bmp")
	whole := mustRead(t, data)
	row := 24 * 3
	at := int(binary.LittleEndian.Uint32(data[10:]))
	p := mustRead(t, data[:at+15*row+5])
	assert.Equal(t, 15, p.Height)
	assert.Equal(t, whole.Sample(Crop{0, 3, 24, 15}, 24, 15), p.Sample(Crop{}, 24, 15))
	assert.Contains(t, p.Notes[0], "the upper 17 percent are missing")

	down := bytes.Clone(data)
	binary.LittleEndian.PutUint32(down[22:], uint32(1<<32-18))
	for y := range 18 {
		copy(down[at+y*row:], data[at+(17-y)*row:at+(18-y)*row])
	}
	assert.Equal(t, whole.Sample(Crop{}, 24, 18), mustRead(t, down).Sample(Crop{}, 24, 18))
	p = mustRead(t, down[:at+9*row])
	assert.Contains(t, p.Notes[0], "the lower 50 percent are missing")
	_, err := Read(context.Background(), bytes.NewReader(down[:at+9*row-1]), Limits{})
	checkSaid(t, err)
}

// RLE4 by hand, as Microsoft's "Bitmap Compression" has it in its example:
// runs, colors as they are, a step, the end of a row and of the picture.
func TestRunsOfBMP(t *testing.T) {
	le := binary.LittleEndian
	body := []byte{
		3, 0x04, // 0 4 0
		5, 0x06, // 0 6 0 6 0
		0, 6, 0x45, 0x56, 0x67, 0x00, // 4 5 5 6 6 7, filled up
		4, 0x78, // 7 8 7 8
		0, 0, // next row
		2, 0x11, 0, 2, 3, 1, // 1 1, then 3 right and 1 up
		9, 0x1E, // 1 E 1 E 1 E 1 E 1
		0, 1,
	}
	head := []byte("BM")
	head = le.AppendUint32(head, 0)
	head = le.AppendUint32(head, 0)
	head = le.AppendUint32(head, 14+40+64)
	for _, v := range []uint32{40, 18, 3, 1 | 4<<16, 2, uint32(len(body)), 0, 0, 16, 0} {
		head = le.AppendUint32(head, v)
	}
	for i := range byte(16) {
		head = append(head, 17*i, 17*i, 17*i, 0)
	}
	want := []string{"000001E1E1E1E10000", "110000000000000000", "040060604556677878"}
	// The first five numbers of the second run are 0 6 0 6 0.
	want[2] = "040" + "06060" + "455667" + "7878"
	p := mustRead(t, append(head, body...))
	require.Equal(t, [2]int{18, 3}, [2]int{p.Width, p.Height})
	m := p.Picture(Crop{}, 18, 3)
	for y, row := range want {
		for x, c := range row {
			assert.Equal(t, 17*bytes.IndexRune([]byte("0123456789ABCDEF"), c), int(m.NRGBAAt(x, y).R), "%d,%d", x, y)
		}
	}
}
