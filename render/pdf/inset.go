package pdf

import (
	"image"
	"image/draw"
	"math"

	"kitwright/render/letters"
)

// inset writes a page inside another. Its operations get the very numbers that
// they have in a file of their own: one transformation at the front moves them
// by whole pages, and scales nothing.
func (d *drawing) inset(x, y float64, o Inset) {
	outer, inner := d.page.H+2*d.page.Margin(), o.Page.H+2*o.Page.Margin()
	m := o.Page.Margin()
	left, right := m+o.Frame[0], m+o.Frame[0]+o.Frame[2] // of the frame on its page, from the lower left
	top := inner - m - o.Frame[1]
	low := top - o.Frame[3]

	w := &opWriter{}
	point := func(mm float64) *opWriter { return w.real(mm / letters.PointMM) }
	w.str("q ")
	if o.Turn {
		w.str("0 1 -1 0 ")
		point(x + top)
		point(outer - y - right)
	} else {
		w.str("1 0 0 1 ")
		point(x - left)
		point(outer - y - top)
	}
	w.str("cm ")
	point(left)
	point(low)
	point(right - left)
	point(top - low)
	w.str("re W n")
	d.pen.raw(string(w.buf))

	at, box := d.at, d.pen.box
	d.at = [2]float64{m, outer - inner + m}
	if o.Box > 0 {
		d.pen.useBox(o.Box)
	}
	for _, op := range o.Page.Ops {
		d.op(op)
	}
	d.at = at
	d.pen.useBox(box)
	d.pen.raw("Q")
	d.pen.forget()
}

// inset paints a page inside another.
func (b *brush) inset(o Inset) {
	w, h := int(math.Round(o.Frame[2]*b.k)), int(math.Round(o.Frame[3]*b.k))
	if w < 1 || h < 1 {
		return
	}
	in := &brush{img: image.NewNRGBA(image.Rect(0, 0, w, h)), k: b.k, at: [2]float64{-o.Frame[0], -o.Frame[1]}, box: b.box}
	if o.Box > 0 {
		in.box = o.Box
	}
	draw.Draw(in.img, in.img.Rect, image.White, image.Point{}, draw.Src)
	for _, op := range o.Page.Ops {
		in.op(op)
	}
	is := in.img
	if o.Turn {
		is = image.NewNRGBA(image.Rect(0, 0, h, w))
		for y := range h {
			for x := range w {
				copy(is.Pix[is.PixOffset(y, w-1-x):][:4], in.img.Pix[in.img.PixOffset(x, y):][:4])
			}
		}
	}
	to := image.Pt(int(math.Round((o.X+b.at[0])*b.k)), int(math.Round((o.Y+b.at[1])*b.k)))
	draw.Draw(b.img, is.Rect.Add(to), is, image.Point{}, draw.Src)
}
