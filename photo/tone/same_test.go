package tone

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/photo"
	"kitwright/photo/subject"
)

// The subject and the toned colors of the demo photo, as one number each: the
// same on any machine, with any number of cores and any processor's
// arithmetic. A change here changes every chart made with them.
func TestSubjectAndToneAreTheSameEverywhere(t *testing.T) {
	cat, err := photo.Read(context.Background(), bytes.NewReader(photo.Demo()), photo.Limits{})
	require.NoError(t, err)
	m := subject.Locate(cat, photo.Crop{}, subject.Hints{About: []photo.Ellipse{{X: 2, Y: 5, W: 80, H: 90}}}).On(photo.Crop{}, 160, 106)
	assert.Equal(t, "8f8a6cc22fd1a3c1", hash(m.In), "subject")

	dark := scaled(cat.Linear(photo.Crop{}, 160, 106), func(int, [3]float64) float64 { return 0.05 })
	toned, _ := Apply(dark, m, false)
	var cells []int32
	for _, c := range toned.Grid().Cells {
		for _, v := range [3]float64{c.L, c.A, c.B} {
			cells = append(cells, int32(math.Round(v*4096)))
		}
	}
	assert.Equal(t, "db8016b62e3547e1", hash(cells), "tone")
}

func hash(v any) string {
	h := sha256.New()
	binary.Write(h, binary.LittleEndian, v)
	return fmt.Sprintf("%x", h.Sum(nil)[:8])
}
