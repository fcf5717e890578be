package pdf

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/chart/symbols"
	"kitwright/render/letters"
)

// What is painted lies where the page's operations put it.
func TestPaint(t *testing.T) {
	red, blue := Color{200, 30, 30}, Color{20, 40, 200}
	s := symbols.First(1)[0]
	p := &Page{W: 100, H: 50, Bleed: 5}
	p.Add(
		Rect{X: 10, Y: 10, W: 20, H: 10, Fill: &red},
		Circle{X: 50, Y: 25, R: 5, Fill: &blue},
		Line{X1: 60, Y1: 40, X2: 90, Y2: 40, W: 1, Ink: red},
		Poly{Points: [][2]float64{{0, 0}, {6, 0}, {0, 6}}, Fill: blue},
		Text{X: 95, Y: 20, Size: 30, Face: letters.Bold, Ink: Color{}, Align: Right, S: "I"},
		Area{X: 70, Y: 0, Pitch: 10, Lattice: &Lattice{Cols: 2, Rows: 1, Row: func(int) []uint16 { return []uint16{0, 1} }, Fill: []Color{red, blue}, Runes: []rune{s.Rune, s.Rune}, White: []bool{true, true}}},
	)
	d := &Document{Pages: []*Page{p}}
	img := d.Paint(0, 1100) // 110 x 60 mm with the bleed: ten pixels a millimeter
	require.Equal(t, 1100, img.Rect.Dx())
	require.Equal(t, 600, img.Rect.Dy())
	at := func(x, y float64) Color {
		c := img.NRGBAAt(int((x+5)*10), int((y+5)*10))
		return Color{c.R, c.G, c.B}
	}
	white := Color{255, 255, 255}
	assert.Equal(t, red, at(20, 15))
	assert.Equal(t, white, at(31, 15))
	assert.Equal(t, blue, at(50, 29))
	assert.Equal(t, white, at(54.5, 29.5), "a circle has no corners")
	assert.Equal(t, red, at(75, 40))
	assert.Equal(t, white, at(75, 41))
	assert.Equal(t, blue, at(1, 1))
	assert.Equal(t, red, at(70.2, 9.8))
	assert.Equal(t, blue, at(89.8, 9.8))
	dark := 0
	for y := 10.0; y < 20; y += 0.1 {
		for x := 88.0; x < 95; x += 0.1 {
			if at(x, y) == (Color{}) {
				dark++
			}
		}
	}
	assert.Greater(t, dark, 50, "a letter stands left of its right edge")
	inked := 0
	for y := 0.0; y < 10; y += 0.1 {
		for x := 70.0; x < 80; x += 0.1 {
			if at(x, y) == white {
				inked++
			}
		}
	}
	want := 0
	for _, a := range s.Coverage(64, symbols.Box) {
		want += int(a)
	}
	assert.InDelta(t, float64(want)/255/64/64, float64(inked)/10000, 0.03, "as much ink as the symbol has, but for its mixed edges")
}
