package look

import (
	"image"
	"image/draw"
	"math"

	"kitwright/render/letters"
)

// color is an 8-bit sRGB color.
type color = [3]uint8

var white = color{255, 255, 255}

// Colors of the sheet: a neutral gray, so that it does not change how the
// pictures are judged, and one accent far from fur and skin.
var (
	paper    = color{0xe9, 0xe9, 0xe8}
	ink      = color{0x1c, 0x1e, 0x1f}
	quiet    = color{0x55, 0x5a, 0x5c}
	hairline = color{0xcf, 0xcf, 0xcc}
	soil     = color{0xdf, 0xdf, 0xdd}
	furrow   = color{0xb4, 0xb6, 0xb5}
	accent   = color{0x0a, 0x5f, 0x6b}
)

// sheet is a picture that is drawn and written on. A sheet of no height is
// only measured: what would be drawn is not.
type sheet struct {
	img     *image.NRGBA
	letters map[letterKey]*letter
}

type letterKey struct {
	face letters.Face
	size int
	rune rune
}

func newSheet(width, height int) *sheet {
	s := &sheet{image.NewNRGBA(image.Rect(0, 0, width, height)), map[letterKey]*letter{}}
	s.fill(s.img.Rect, paper)
	return s
}

func (s *sheet) measuring() bool { return s.img.Rect.Empty() }

func (s *sheet) fill(r image.Rectangle, c color) {
	r = r.Intersect(s.img.Rect)
	for y := r.Min.Y; y < r.Max.Y; y++ {
		row := s.img.Pix[s.img.PixOffset(r.Min.X, y):][:4*r.Dx()]
		for o := 0; o < len(row); o += 4 {
			row[o], row[o+1], row[o+2], row[o+3] = c[0], c[1], c[2], 255
		}
	}
}

// blend lays a color over a pixel; cover runs from 0 to 1.
func (s *sheet) blend(x, y int, c color, cover float64) {
	if cover <= 0 || !(image.Point{X: x, Y: y}).In(s.img.Rect) {
		return
	}
	a := int(math.Round(math.Min(1, cover) * 256))
	p := s.img.Pix[s.img.PixOffset(x, y):][:3:3]
	for k := range p {
		p[k] = uint8((int(p[k])*(256-a) + int(c[k])*a + 128) >> 8)
	}
}

// Shapes. Edges are softened by the distance to them.

type point struct{ x, y float64 }

func (s *sheet) disc(x, y, r float64, c color) { s.ringShape(x, y, 0, r, c) }

// ring draws a circle of a width around the radius.
func (s *sheet) ring(x, y, r, width float64, c color) {
	s.ringShape(x, y, r-width/2, r+width/2, c)
}

func (s *sheet) ringShape(x, y, in, out float64, c color) {
	for py := int(y - out - 1); py <= int(y+out+1); py++ {
		for px := int(x - out - 1); px <= int(x+out+1); px++ {
			d := away(float64(px)+0.5-x, float64(py)+0.5-y)
			cover := math.Min(1, out+0.5-d)
			if in > 0 {
				cover = math.Min(cover, d-in+0.5)
			}
			s.blend(px, py, c, cover)
		}
	}
}

func away(x, y float64) float64 { return math.Sqrt(float64(x*x) + float64(y*y)) }

// curve draws a line through points of ascending x.
func (s *sheet) curve(points []point, width float64, c color) {
	cover := map[image.Point]float64{}
	for i := range points[1:] {
		a, b := points[i], points[i+1]
		dx, dy := b.x-a.x, b.y-a.y
		length := float64(dx*dx) + float64(dy*dy)
		for y := int(math.Min(a.y, b.y) - width); y <= int(math.Max(a.y, b.y)+width); y++ {
			for x := int(a.x - width); x <= int(b.x+width); x++ {
				px, py := float64(x)+0.5-a.x, float64(y)+0.5-a.y
				t := math.Min(1, math.Max(0, (float64(px*dx)+float64(py*dy))/length))
				v := width/2 + 0.5 - away(px-float64(t*dx), py-float64(t*dy))
				if p := (image.Point{X: x, Y: y}); v > cover[p] {
					cover[p] = math.Min(1, v)
				}
			}
		}
	}
	for p, v := range cover { // each pixel is its own: the order does not show
		s.blend(p.X, p.Y, c, v)
	}
}

// ground fills from an edge, a height for each column from left on, to the
// bottom, and hatches it.
func (s *sheet) ground(left, bottom int, edge []float64) {
	const apart, thick = 18, 2.2
	for i, top := range edge {
		x := left + i
		for y := int(top) - 1; y < bottom; y++ {
			cover := math.Min(1, math.Max(0, float64(y)+1-top))
			s.blend(x, y, soil, cover)
			at := float64((x+y)%apart) + 0.5
			s.blend(x, y, furrow, math.Min(cover, math.Min(1, thick/2+0.5-math.Abs(at-apart/2))))
			// Its surface.
			s.blend(x, y, furrow, math.Min(1, 2-math.Abs(float64(y)+0.5-top)))
		}
	}
}

// picture lays a picture down with a soft shadow.
func (s *sheet) picture(img *image.NRGBA, at image.Point) {
	const soft = 16.0
	r := image.Rectangle{Min: at, Max: at.Add(img.Rect.Size())}
	for y := r.Min.Y - soft; y < r.Max.Y+2*soft; y++ {
		for x := r.Min.X - soft; x < r.Max.X+soft; x++ {
			dx := float64(max(r.Min.X-x, x-r.Max.X+1, 0))
			dy := float64(max(r.Min.Y+6-y, y-6-r.Max.Y+1, 0))
			if d := 1 - away(dx, dy)/soft; d > 0 {
				s.blend(x, y, ink, float64(0.28*d)*d)
			}
		}
	}
	draw.Draw(s.img, r, img, img.Rect.Min, draw.Src)
}

func (s *sheet) border(r image.Rectangle, width int, c color) {
	in := r.Inset(width)
	s.fill(image.Rect(r.Min.X, r.Min.Y, r.Max.X, in.Min.Y), c)
	s.fill(image.Rect(r.Min.X, in.Max.Y, r.Max.X, r.Max.Y), c)
	s.fill(image.Rect(r.Min.X, in.Min.Y, in.Min.X, in.Max.Y), c)
	s.fill(image.Rect(in.Max.X, in.Min.Y, r.Max.X, in.Max.Y), c)
}

// loupe shows the round middle of a square picture with a ring.
func (s *sheet) loupe(img *image.NRGBA, middle, top int, c color, width float64) {
	n := img.Rect.Dx()
	r := float64(n) / 2
	for y := range n {
		for x := range n {
			p := img.Pix[img.PixOffset(x, y):]
			d := away(float64(x)+0.5-r, float64(y)+0.5-r)
			s.blend(middle-n/2+x, top+y, color{p[0], p[1], p[2]}, math.Min(1, r-d))
		}
	}
	if width > 4 {
		s.ring(float64(middle-n/2)+r, float64(top)+r, r+2, 8, paper)
	}
	s.ring(float64(middle-n/2)+r, float64(top)+r, r+width/2+math.Max(0, width-4), width, c)
}
