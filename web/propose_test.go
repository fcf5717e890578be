package web

import (
	"bytes"
	"image"
	"image/color"
	"image/png"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A photo that tells where the pet is gets a first ellipse about it and a crop
// that holds it; nothing of the order goes by them unasked.
func TestAFirstProposal(t *testing.T) {
	img := image.NewNRGBA(image.Rect(0, 0, 400, 300))
	for y := range 300 {
		for x := range 400 {
			v := color.NRGBA{uint8(90 + x/8), uint8(130 + y/6 + (x*7+y*13)%23), 110, 255} // grass, uneven
			if dx, dy := float64(x-260)/60, float64(y-170)/70; dx*dx+dy*dy < 1 {
				v = color.NRGBA{200, 120, 50, 255}
			}
			img.SetNRGBA(x, y, v)
		}
	}
	var file bytes.Buffer
	require.NoError(t, png.Encode(&file, img))
	o := openTable(t, Config{})
	o.want("POST", "/api/kits?name=pet.png", file.Bytes(), nil)
	var c struct {
		First *struct{ Subject, Crop []float64 }
	}
	o.want("GET", "/api/kits/pet/canvas", nil, &c)
	require.NotNil(t, c.First)
	s := c.First.Subject
	assert.InDelta(t, 65, s[0]+s[2]/2, 6, "its middle across")
	assert.InDelta(t, 57, s[1]+s[3]/2, 6, "its middle down")
	assert.InDelta(t, 30, s[2], 14)
	assert.Less(t, c.First.Crop[0], s[0])
	assert.Greater(t, c.First.Crop[0]+c.First.Crop[2], s[0]+s[2])
	assert.Empty(t, o.kitOf("pet").kept().Order["subject"])
	o.want("POST", "/api/kits/pet/order", map[string]any{"order": map[string]string{"subject": "50,30,30,50"}}, nil)
	c.First = nil
	o.want("GET", "/api/kits/pet/canvas", nil, &c)
	assert.Nil(t, c.First, "she has drawn her own")
}
