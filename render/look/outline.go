package look

import (
	"image"
	"io"
	"math"

	"kitwright/internal/par"
	"kitwright/kit"
	"kitwright/photo"
	"kitwright/render/letters"
)

// outlineLong is the long side, in pixels, of the picture of an outline.
const outlineLong = 1200

// Outline writes a picture of the part of the photo that is charted, with the
// outline of the subject, the rest of it dimmed, and what is to be known about
// it below.
func Outline(w io.Writer, p *kit.Prepared, pic *kit.Picture) error {
	m := pic.Subject
	px := max(1, outlineLong/max(m.Cols, m.Rows))
	width, height := m.Cols*px, m.Rows*px
	words := p.OutlineWords(pic)
	const top, below, size = 110, 40, 24
	written := func(s *sheet) int {
		y := top + height + below
		for _, t := range words {
			y = s.paragraph(ladderMargin, y, width, letters.Regular, size, ink, t.Words(func(name string) string { return "--" + name })) + 6
		}
		return y
	}
	s := newSheet(2*ladderMargin+width, written(newSheet(0, 0))+ladderMargin/2)
	s.write(ladderMargin, 76, letters.Bold, 34, ink, "Your pet's outline", alignLeftEdge)
	at := image.Pt(ladderMargin, top)
	s.picture(outlined(p.Photo.Picture(p.Layout.Crop, width, height), m, width, height), at)
	if e, ok := p.Drawn(); ok {
		s.oval(at, width, height, e)
	}
	written(s)
	return WritePNG(w, s.img)
}

// outlined paints a photo at a size, dims what is not in the mask, and draws
// the line between: white, with a dark seam on either side.
func outlined(img *image.NRGBA, m *photo.Mask, width, height int) *image.NRGBA {
	out := image.NewNRGBA(image.Rect(0, 0, width, height))
	in := func(x, y int) bool {
		x, y = min(max(x, 0), width-1), min(max(y, 0), height-1)
		return m.In[y*m.Rows/height*m.Cols+x*m.Cols/width]
	}
	b := img.Bounds()
	par.Rows(height, func(y int) {
		for x := range width {
			from := img.PixOffset(x*b.Dx()/width, y*b.Dy()/height)
			to := out.PixOffset(x, y)
			inside := in(x, y)
			for k := range 3 {
				v := int(img.Pix[from+k])
				if !inside {
					v = (3*v + 2*int(paper[k])) / 5
				}
				out.Pix[to+k] = uint8(v)
			}
			out.Pix[to+3] = 255
			switch {
			case differs(in, x, y, 2):
				copy(out.Pix[to:], white[:])
			case differs(in, x, y, 4):
				copy(out.Pix[to:], ink[:])
			}
		}
	})
	return out
}

// differs says whether a pixel within a reach lies on the other side.
func differs(in func(x, y int) bool, x, y, reach int) bool {
	here := in(x, y)
	return here != in(x+reach, y) || here != in(x-reach, y) || here != in(x, y+reach) || here != in(x, y-reach)
}

// oval draws the ellipse that was drawn by hand, in percent of the picture, as
// a dotted line.
func (s *sheet) oval(at image.Point, width, height int, e photo.Ellipse) {
	const dots = 120
	for k := range dots {
		sin, cos := math.Sincos(2 * math.Pi * float64(k) / dots)
		x := (e.X + float64(e.W/2*(1+cos))) * float64(width) / 100
		y := (e.Y + float64(e.H/2*(1+sin))) * float64(height) / 100
		if x > 3 && y > 3 && x < float64(width-3) && y < float64(height-3) {
			s.disc(float64(at.X)+x, float64(at.Y)+y, 3.5, white)
			s.disc(float64(at.X)+x, float64(at.Y)+y, 2.2, accent)
		}
	}
}
