package gauge

import (
	"image"
	"image/color"
	"math"

	"github.com/disintegration/imaging"

	"kitwright/palettes"
)

// seenSide is the longer side of the picture that shows what was read.
const seenSide = 1600

// Draw returns the picture with the areas drawn in that were read, for a
// person to judge: green for good ones, yellow for fair, red for poor; blue
// for white paper.
func (r *Reading) Draw(img *image.NRGBA) *image.NRGBA {
	b := img.Bounds()
	scale := math.Min(1, float64(seenSide)/float64(max(b.Dx(), b.Dy())))
	out := imaging.Clone(img)
	if scale < 1 {
		out = imaging.Resize(img, int(math.Round(float64(b.Dx())*scale)), 0, imaging.Box)
	}
	scale = float64(out.Bounds().Dx()) / float64(b.Dx())
	quad := func(h homography, rect Rect, c color.NRGBA) {
		var p [4]Point
		for i, at := range [4]Point{{rect.X, rect.Y}, {rect.X + rect.W, rect.Y}, {rect.X + rect.W, rect.Y + rect.H}, {rect.X, rect.Y + rect.H}} {
			q := h.at(at)
			p[i] = Point{q.X * scale, q.Y * scale}
		}
		for i := range p {
			stroke(out, p[i], p[(i+1)%4], c)
		}
	}
	for _, w := range r.sheet.Whites {
		quad(r.h, w, color.NRGBA{40, 90, 255, 255})
	}
	for i, read := range r.Reads {
		c := map[Certainty]color.NRGBA{Good: {0, 200, 60, 255}, Fair: {255, 200, 0, 255}, Poor: {255, 30, 30, 255}}[read.Certainty]
		quad(r.h, r.sheet.Patches[i].shrunk(0.9), c)
	}
	if r.opt.Target != NoTarget {
		rects, _ := targetPatches()
		for _, rect := range rects {
			quad(r.target, rect, color.NRGBA{255, 0, 255, 255})
		}
	}
	return out
}

// Ends returns the codes whose places lie nearest to the upper left and to the
// lower right corner of the picture: a person sees at once whether they do,
// which a picture that stands on its head does not tell by itself.
func (r *Reading) Ends() (upperLeft, lowerRight string) {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, p := range r.sheet.Patches {
		at, address := r.h.at(p.center()), palettes.Drill{Code: p.Code, Finish: p.Finish}.Address()
		if sum := at.X + at.Y; sum < lo {
			lo, upperLeft = sum, address
		}
		if sum := at.X + at.Y; sum > hi {
			hi, lowerRight = sum, address
		}
	}
	return upperLeft, lowerRight
}

// stroke draws a line two pixels wide.
func stroke(img *image.NRGBA, a, b Point, c color.NRGBA) {
	n := int(math.Ceil(2*distance(a, b))) + 1
	n = min(n, 20000)
	for i := range n + 1 {
		t := float64(i) / float64(n)
		x, y := int(math.Round(a.X+float64(t*(b.X-a.X)))), int(math.Round(a.Y+float64(t*(b.Y-a.Y))))
		for dy := range 2 {
			for dx := range 2 {
				if (image.Point{x + dx, y + dy}).In(img.Bounds()) {
					img.SetNRGBA(x+dx, y+dy, c)
				}
			}
		}
	}
}
