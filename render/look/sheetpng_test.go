package look

import (
	"bytes"
	"errors"
	"image"
	"image/draw"
	"image/png"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
)

// Go's decoder, which checks every sum of a file, sees each pixel as it was.
func TestSheetIsReadBack(t *testing.T) {
	rng := rand.New(rand.NewPCG(41, 41))
	for _, size := range []image.Point{{1, 1}, {3, 1}, {1, 5}, {70, 40}, {400, 300}} {
		img := image.NewNRGBA(image.Rectangle{Max: size})
		for i := range img.Pix {
			img.Pix[i] = uint8(rng.IntN(256))
			if i%4 == 3 {
				img.Pix[i] = 255
			}
			if y := i / img.Stride; y%3 > 0 { // every other two rows are as the one above
				img.Pix[i] = img.Pix[i-img.Stride]
			}
		}
		var file bytes.Buffer
		require.NoError(t, writeSheet(&file, img))
		back, err := png.Decode(&file)
		require.NoError(t, err)
		require.Equal(t, img.Rect, back.Bounds())
		again := image.NewNRGBA(img.Rect)
		draw.Draw(again, again.Rect, back, image.Point{}, draw.Src)
		require.Equal(t, img.Pix, again.Pix, "%v", size)
	}
}

// full is a disk that takes so many bytes.
type full int

func (f *full) Write(data []byte) (int, error) {
	if *f -= full(len(data)); *f < 0 {
		return 0, errors.New("the disk is full")
	}
	return len(data), nil
}

func TestSheetOnAFullDisk(t *testing.T) {
	img := image.NewNRGBA(image.Rect(0, 0, 40, 30))
	var file bytes.Buffer
	require.NoError(t, writeSheet(&file, img))
	for _, n := range []int{0, 8, 30, 40, file.Len() - 13, file.Len() - 1} {
		room := full(n)
		require.Error(t, writeSheet(&room, img), "%d of %d bytes", n, file.Len())
	}
}
