package main

import (
	"bytes"
	"fmt"
	"os"
	"testing"

	"github.com/disintegration/imaging"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
	"kitwright/photo"
)

// Parts of a photo named in pixels are the same parts as in percent.
func TestBoxesInPixels(t *testing.T) {
	checker.Slow(t)
	inTemp(t)
	img, err := imaging.Decode(bytes.NewReader(photo.Demo()))
	require.NoError(t, err)
	w, h := img.Bounds().Dx(), img.Bounds().Dy()
	px := fmt.Sprintf("%dpx,%dpx,%dpx,%dpx", w/4, h/5, w/2, h/5)
	pc := fmt.Sprintf("%.10g,%.10g,%.10g,%.10g", 100*float64(w/4)/float64(w), 100*float64(h/5)/float64(h), 100*float64(w/2)/float64(w), 100*float64(h/5)/float64(h))
	for i, box := range []string{px, pc} {
		code, _, errs := kitwright(t, "chart", "--demo", "--grid", "40x30", "--colors", "8", "--effort", "quick", "--subject", box, "--focus", box+",5", "--focus", "C4-F7", "-o", fmt.Sprint("kit", i))
		require.Equal(t, 0, code, errs)
	}
	a, err := os.ReadFile("kit0/chart.csv")
	require.NoError(t, err)
	b, err := os.ReadFile("kit1/chart.csv")
	require.NoError(t, err)
	assert.Equal(t, string(b), string(a))

	code, out, errs := kitwright(t, "look", "--demo", "--focus", px+";C4-F7")
	require.Equal(t, 0, code, errs)
	assert.Contains(t, out, px, "the next step has them, too")
	for box, want := range map[string]string{
		"10px,10px,10px":         "not a part of a photo in pixels",
		"10px,10,10px,10px":      "not a part of a photo in pixels",
		"90000px,10px,10px,10px": "reaches outside the photo",
		"10px,10px,0px,10px":     "above 0",
	} {
		code, _, errs := kitwright(t, "look", "--demo", "--force", "--crop-to", box)
		assert.Equal(t, 2, code, box)
		assert.Contains(t, errs, want, box)
		assert.Contains(t, errs, "Try: ", box)
	}
}
