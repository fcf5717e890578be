package photo

import (
	"bytes"
	"context"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
)

// tryToRead reads a damaged file: whatever comes out is a photo that can be sampled, or a
// sentence and a hint.
func tryToRead(t *testing.T, data []byte) {
	p, err := Read(context.Background(), bytes.NewReader(data), Limits{Pixels: 1 << 20, Memory: 64 << 20})
	if err != nil {
		checkSaid(t, err)
		return
	}
	p.Sample(Crop{}, 3, 2)
	p.Picture(Crop{}, 5, 5)
	p.Opacity(Crop{}, 2, 2)
}

// fuzz damages the small files of some formats, each read once before, so that
// no decoder is compiled while damage is tried.
func fuzz(f *testing.F, formats ...string) {
	for _, c := range readable {
		if slices.Contains(formats, c.format) {
			data := testFile(f, c.file)
			_, err := Read(context.Background(), bytes.NewReader(data), Limits{})
			require.NoError(f, err)
			f.Add(data)
		}
	}
	f.Fuzz(tryToRead)
}

func FuzzJPEG(f *testing.F) { fuzz(f, "JPEG") }
func FuzzPNG(f *testing.F)  { fuzz(f, "PNG", "GIF") }
func FuzzTIFF(f *testing.F) { fuzz(f, "TIFF") }
func FuzzBMP(f *testing.F)  { fuzz(f, "BMP") }
func FuzzWebP(f *testing.F) { fuzz(f, "WebP") }

// HEIC and AVIF are damaged in package heif: their decoders, sealed off, start
// too slowly to be tried a thousand times.
