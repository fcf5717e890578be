package photo

import (
	"bytes"
	"context"
	"testing"
)

// FuzzRead damages a small file of each format. Whatever comes out is a photo
// that can be sampled, or a sentence and a hint.
func FuzzRead(f *testing.F) {
	for _, c := range readable {
		if testing.Short() && (c.format == "HEIC" || c.format == "AVIF") {
			continue
		}
		f.Add(testFile(f, c.file))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		p, err := Read(context.Background(), bytes.NewReader(data), Limits{Pixels: 1 << 20})
		if err != nil {
			checkSaid(t, err)
			return
		}
		p.Sample(Crop{}, 3, 2)
		p.Picture(Crop{}, 5, 5)
		p.Opacity(Crop{}, 2, 2)
	})
}
