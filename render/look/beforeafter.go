package look

import (
	"image"
	"io"

	"kitwright/internal/par"
	"kitwright/kit"
	"kitwright/lab"
	"kitwright/render/letters"
)

// toneLong is the long side, in pixels, of each of the two pictures.
const toneLong = 1000

// BeforeAfter writes a picture of the photo, one color a drill, before and after its
// light was brought to what drills can show, side by side.
func BeforeAfter(w io.Writer, p *kit.Prepared, toned *kit.Picture) error {
	px := max(1, toneLong/max(p.Before.Cols, p.Before.Rows))
	width, height := p.Before.Cols*px, p.Before.Rows*px
	const top = 150
	s := newSheet(3*ladderMargin+2*width, top+height+ladderMargin)
	for i, side := range []struct {
		title, note string
		picture     *lab.Grid
	}{
		{"Your photo", "as it was, one color a drill", p.Before},
		{"Toned", toned.Tone.Words() + "; --tone none leaves it out", toned.After},
	} {
		x := ladderMargin + i*(width+ladderMargin)
		s.write(float64(x), 86, letters.Bold, 34, ink, side.title, alignLeftEdge)
		s.write(float64(x), 124, letters.Regular, 24, quiet, side.note, alignLeftEdge)
		s.picture(cellsPicture(side.picture, px), image.Pt(x, top))
	}
	return WritePNG(w, s.img)
}

// cellsPicture paints a grid as plain squares.
func cellsPicture(g *lab.Grid, px int) *image.NRGBA {
	img := image.NewNRGBA(image.Rect(0, 0, g.Cols*px, g.Rows*px))
	par.Rows(g.Rows, func(y int) {
		for x := range g.Cols {
			rgb, _ := g.At(x, y).SRGB()
			for dy := range px {
				for dx := range px {
					copy(img.Pix[img.PixOffset(x*px+dx, y*px+dy):], []uint8{rgb[0], rgb[1], rgb[2], 255})
				}
			}
		}
	})
	return img
}
