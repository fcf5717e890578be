package photo

import (
	"image"
	"image/color"

	"kitwright/lab"
)

// placed is a picture on a larger canvas, which is see-through around it.
type placed struct {
	image  image.Image
	at     image.Point
	canvas image.Point
}

// place lays a picture on a canvas, unless it covers it as it is. What hangs
// over is cut off.
func place(m image.Image, at, canvas image.Point) image.Image {
	if at == (image.Point{}) && m.Bounds().Size() == canvas {
		return m
	}
	return &placed{m, at, canvas}
}

func (p *placed) Bounds() image.Rectangle { return image.Rect(0, 0, p.canvas.X, p.canvas.Y) }
func (p *placed) ColorModel() color.Model { return p.image.ColorModel() }
func (p *placed) At(x, y int) color.Color { return color.Black } // nobody asks for single pixels
func (p *placed) channels() int           { return 3 }

func (p *placed) light(s *space, k *lumaMatrix) pixels {
	inner := newPixels(p.image, s, k)
	if inner == nil {
		return nil
	}
	return &placedLight{dims{p.canvas.X, p.canvas.Y}, inner, p.at}
}

type placedLight struct {
	dims
	inner pixels
	at    image.Point
}

func (p *placedLight) line(y, x0, x1 int, out []light) {
	p.fill(y, x0, x1, out, light{lab.LinearOne, lab.LinearOne, lab.LinearOne}, p.inner.line)
}

func (p *placedLight) alpha(y, x0, x1 int, out []light) {
	p.fill(y, x0, x1, out, light{}, opacity{p.inner}.line)
}

// fill writes a row of what inner gives, and around it of outside.
func (p *placedLight) fill(y, x0, x1 int, out []light, outside light, inner func(y, x0, x1 int, out []light)) {
	for i := range out[:x1-x0] {
		out[i] = outside
	}
	w, h := p.inner.size()
	from, to := max(x0, p.at.X), min(x1, p.at.X+w)
	if y < p.at.Y || y >= p.at.Y+h || from >= to {
		return
	}
	inner(y-p.at.Y, from-p.at.X, to-p.at.X, out[from-x0:])
}
