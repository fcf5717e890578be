package kit

import (
	"bytes"
	"context"
	"image"
	"image/png"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
	"kitwright/photo"
)

// The crop moves no farther than it has to, stays on the photo, and tells what
// it cuts all the same.
func TestHolding(t *testing.T) {
	l := Layout{Crop: photo.Crop{X: 100, Y: 0, W: 200, H: 300}, part: photo.Crop{W: 400, H: 300}}
	for _, c := range []struct {
		name string
		box  photo.Crop
		x    float64
		cuts []string
	}{
		{"already inside", photo.Crop{X: 120, Y: 10, W: 100, H: 100}, 100, nil},
		{"to the left", photo.Crop{X: 60, Y: 10, W: 100, H: 100}, 60, nil},
		{"to the right", photo.Crop{X: 250, Y: 10, W: 130, H: 100}, 180, nil},
		{"at the photo's end", photo.Crop{X: 300, Y: 10, W: 100, H: 290}, 200, nil},
		{"too wide", photo.Crop{X: 20, Y: 10, W: 300, H: 100}, 70, []string{"left", "right"}},
		{"too wide, at the end", photo.Crop{X: 0, Y: 10, W: 240, H: 100}, 20, []string{"left", "right"}},
	} {
		got := l.holding(c.box)
		assert.Equal(t, c.x, got.Crop.X, c.name)
		assert.Equal(t, 0.0, got.Crop.Y, c.name)
		assert.Equal(t, c.cuts, got.CutsAt, c.name)
		assert.Equal(t, c.x != 100, got.Slid, c.name)
	}
}

// said is all that is told about a canvas and its outline.
func said(t *testing.T, change func(o *Order)) string {
	t.Helper()
	o := DefaultOrder()
	o.Grid, o.Turn = Cells{60, 40}, TurnAsked
	change(&o)
	s, err := Open(context.Background(), bytes.NewReader(photo.Demo()), photo.DemoName)
	require.NoError(t, err)
	p, err := s.Lay(context.Background(), o.Canvas, o.Light)
	require.NoError(t, err)
	var all []string
	for _, w := range append(p.Layout.Words(), p.OutlineWords(p.Picture(o.Choice))...) {
		all = append(all, w.Words(func(s string) string { return "--" + s }))
	}
	return strings.Join(all, "\n")
}

func TestOutlineWords(t *testing.T) {
	checker.Slow(t)
	assert.Empty(t, said(t, func(*Order) {}), "no subject, nothing cut")
	good := said(t, func(o *Order) { o.Subject = Box{0, 0, 86, 100} })
	assert.Regexp(t, `^Your pet's outline takes [5-9]\d % of the picture\.$`, good)
	assert.Contains(t, said(t, func(o *Order) { o.Subject, o.Background = Box{0, 0, 86, 100}, Background{Colors: 4} }),
		"--background 4 paints over all that is not inside the outline: look at subject.png before you print, first of all ")
	assert.Contains(t, said(t, func(o *Order) { o.Subject, o.Grid = Box{0, 0, 86, 100}, Cells{30, 60} }), "Your pet is cut at the left and the right edge")
	assert.Contains(t, said(t, func(o *Order) { o.Subject, o.Cut = Box{0, 0, 86, 100}, []Box{{25, 25, 40, 50}} }), "of the middle of what you drew")
	p := &Prepared{Photo: &photo.Photo{Width: 100, Height: 100}, Layout: Layout{Crop: photo.Crop{W: 100, H: 100}}, light: Light{Subject: Box{20, 20, 60, 60}}}
	m := &photo.Mask{Cols: 20, Rows: 20, In: make([]bool, 400)}
	m.In[210] = true
	doubts := p.doubts(m)
	require.Len(t, doubts, 2)
	assert.Equal(t, "The outline takes nearly nothing of what you drew: draw --subject closer about your pet, or name its parts with --add.",
		doubts[1].Words(func(s string) string { return "--" + s }))
	for i := range m.In {
		m.In[i] = i%20 >= 6 && i%20 < 14 // across the whole upper and lower sides
	}
	assert.Contains(t, p.doubts(m)[0].Words(func(s string) string { return "--" + s }), "lies across the upper and lower sides of what you drew")
	assert.Contains(t, said(t, func(o *Order) { o.Subject = Box{13, 0, 86, 100} }), "stops short of its left side")
	assert.Equal(t, []string{"left", "lower"}, Box{5, 0, 95, 90}.stopsShort())
	assert.Empty(t, Box{5, 5, 60, 60}.stopsShort(), "not most of the photo")
	assert.Contains(t, said(t, func(o *Order) { o.Subject, o.Add = Box{0, 0, 86, 100}, []Box{{0, 0, 100, 100}, {75, 0, 25, 100}} }), "takes nearly all of the picture")
	assert.Contains(t, said(t, func(o *Order) { o.Subject, o.Crop = Box{30, 20, 40, 60}, Box{30, 0, 70, 100} }), "the left edge")
}

// An outline that the photo tells by itself is announced, and none takes it
// away.
func TestSubjectNone(t *testing.T) {
	picture := drawing(t)
	lay := func(none bool) *Prepared {
		s, err := Open(context.Background(), bytes.NewReader(picture), "drawing.png")
		require.NoError(t, err)
		o := DefaultOrder()
		o.Grid, o.Turn, o.NoSubject = Cells{80, 60}, TurnAsked, none
		p, err := s.Lay(context.Background(), o.Canvas, o.Light)
		require.NoError(t, err)
		return p
	}
	p := lay(false)
	require.NotNil(t, p.found)
	words := p.OutlineWords(p.Picture(DefaultOrder().Choice))
	require.NotEmpty(t, words)
	assert.Contains(t, words[0].Words(func(s string) string { return "--" + s }), "told by the plain ground around it: 19 % of the picture (--subject none takes no outline)")
	p = lay(true)
	assert.Nil(t, p.found)
	assert.Empty(t, p.OutlineWords(p.Picture(DefaultOrder().Choice)))
}

func TestOutlineSettings(t *testing.T) {
	o := DefaultOrder()
	fs := flags(&o)
	require.NoError(t, fs.Set("subject", "10,10,50,50"))
	require.NoError(t, fs.Set("add", "1,2,3,4"))
	require.NoError(t, fs.Set("add", "5,6,7,8;9,10,11,12"))
	require.NoError(t, fs.Set("cut", "5,6,7,8"))
	assert.Equal(t, []Box{{1, 2, 3, 4}, {5, 6, 7, 8}, {9, 10, 11, 12}}, o.Add)
	assert.Equal(t, "1,2,3,4;5,6,7,8;9,10,11,12", o.Settings()["add"])
	require.NoError(t, o.Check())
	require.NoError(t, fs.Set("subject", "none"))
	assert.Equal(t, Box{}, o.Subject)
	assert.Equal(t, "none", o.Settings()["subject"])
	assert.ErrorContains(t, o.Check(), "asks for no outline")
	require.Error(t, fs.Set("cut", "5,6,7"))

	o = DefaultOrder()
	o.Add = []Box{{1, 2, 3, 4}}
	s, err := Open(context.Background(), bytes.NewReader(photo.Demo()), photo.DemoName)
	require.NoError(t, err)
	_, err = s.Lay(context.Background(), o.Canvas, o.Light)
	assert.ErrorContains(t, err, "there is none")
}

// drawing is a rust square on white.
func drawing(t *testing.T) []byte {
	img := image.NewNRGBA(image.Rect(0, 0, 80, 60))
	for i := range img.Pix {
		img.Pix[i] = 255
		if x, y := i/4%80, i/4/80; i%4 > 0 && i%4 < 3 && x >= 20 && x < 50 && y >= 15 && y < 45 {
			img.Pix[i] = 60
		}
	}
	var b bytes.Buffer
	require.NoError(t, png.Encode(&b, img))
	return b.Bytes()
}
