package pdf

import (
	"image"
	"image/color"
	"image/draw"
	"math"

	"golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
	"golang.org/x/image/vector"

	"kitwright/chart/symbols"
	"kitwright/render/letters"
)

// Taker is a writer that takes a document as it was decided, instead of the
// file it makes: to look at its pages before they are made.
type Taker interface{ Take(d *Document) error }

// Paint returns a picture of a page, its longer side long pixels: the same
// operations as in the file, drawn by pixels. It is for looking at a page
// before it is made, never for paper; symbols too small to be seen only darken
// their drill.
func (d *Document) Paint(page, long int) *image.NRGBA {
	p := d.Pages[page]
	w, h := p.W+2*p.Margin(), p.H+2*p.Margin()
	k := float64(long) / math.Max(w, h)
	b := &brush{
		img: image.NewNRGBA(image.Rect(0, 0, max(1, int(math.Round(w*k))), max(1, int(math.Round(h*k))))),
		k:   k, at: [2]float64{p.Margin(), p.Margin()}, box: d.Box,
	}
	if b.box == 0 {
		b.box = symbols.Box
	}
	draw.Draw(b.img, b.img.Rect, image.White, image.Point{}, draw.Src)
	for _, o := range p.Ops {
		b.op(o)
	}
	return b.img
}

// brush draws operations in millimeters into pixels.
type brush struct {
	img *image.NRGBA
	k   float64    // pixels a millimeter
	at  [2]float64 // of the trimmed page's corner, mm
	box float64
	ras vector.Rasterizer
}

func (b *brush) op(o Op) {
	switch o := o.(type) {
	case Rect:
		if o.Fill != nil {
			b.path(*o.Fill, [][2]float64{{o.X, o.Y}, {o.X + o.W, o.Y}, {o.X + o.W, o.Y + o.H}, {o.X, o.Y + o.H}})
		}
		if o.Edge != nil {
			for _, l := range [][4]float64{{o.X, o.Y, o.X + o.W, o.Y}, {o.X, o.Y + o.H, o.X + o.W, o.Y + o.H}, {o.X, o.Y, o.X, o.Y + o.H}, {o.X + o.W, o.Y, o.X + o.W, o.Y + o.H}} {
				b.line(Line{X1: l[0], Y1: l[1], X2: l[2], Y2: l[3], W: o.Line, Ink: *o.Edge})
			}
		}
	case Line:
		b.line(o)
	case Poly:
		b.path(o.Fill, o.Points)
	case Circle:
		if o.Fill != nil {
			b.path(*o.Fill, ring(o.X, o.Y, o.R))
		}
		if o.Edge != nil {
			pts := ring(o.X, o.Y, o.R)
			for i := range pts {
				n := pts[(i+1)%len(pts)]
				b.line(Line{X1: pts[i][0], Y1: pts[i][1], X2: n[0], Y2: n[1], W: o.Line, Ink: *o.Edge})
			}
		}
	case Glyph:
		b.glyph(o.Rune, o.X, o.Y, o.Cell, o.Ink)
	case Text:
		b.text(o)
	case Area:
		b.area(o)
	case Inset:
		b.inset(o)
	}
}

func ring(x, y, r float64) [][2]float64 {
	const n = 48
	pts := make([][2]float64, n)
	for i := range pts {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / n)
		pts[i] = [2]float64{x + float64(r*cos), y + float64(r*sin)}
	}
	return pts
}

// path fills contours, each closed, by the non-zero rule.
func (b *brush) path(ink Color, contours ...[][2]float64) {
	lo, hi := [2]float64{math.Inf(1), math.Inf(1)}, [2]float64{math.Inf(-1), math.Inf(-1)}
	px := func(p [2]float64) [2]float64 { return [2]float64{(p[0] + b.at[0]) * b.k, (p[1] + b.at[1]) * b.k} }
	for _, c := range contours {
		for _, p := range c {
			q := px(p)
			for i := range q {
				lo[i], hi[i] = math.Min(lo[i], q[i]), math.Max(hi[i], q[i])
			}
		}
	}
	r := image.Rect(int(math.Floor(lo[0])), int(math.Floor(lo[1])), int(math.Ceil(hi[0])), int(math.Ceil(hi[1]))).Intersect(b.img.Rect)
	if r.Empty() {
		return
	}
	b.ras.Reset(r.Dx(), r.Dy())
	for _, c := range contours {
		for i, p := range c {
			q := px(p)
			x, y := float32(q[0]-float64(r.Min.X)), float32(q[1]-float64(r.Min.Y))
			if i == 0 {
				b.ras.MoveTo(x, y)
			} else {
				b.ras.LineTo(x, y)
			}
		}
		b.ras.ClosePath()
	}
	b.ras.Draw(b.img, r, image.NewUniform(color.NRGBA{ink[0], ink[1], ink[2], 255}), image.Point{})
}

func (b *brush) line(l Line) {
	dx, dy := l.X2-l.X1, l.Y2-l.Y1
	n := math.Hypot(dx, dy)
	if n == 0 {
		return
	}
	half := math.Max(l.W, 0.6/b.k) / 2 // no thinner than can be seen
	nx, ny := -dy/n*half, dx/n*half
	piece := func(a, z float64) {
		x1, y1, x2, y2 := l.X1+float64(dx*a), l.Y1+float64(dy*a), l.X1+float64(dx*z), l.Y1+float64(dy*z)
		b.path(l.Ink, [][2]float64{{x1 + nx, y1 + ny}, {x2 + nx, y2 + ny}, {x2 - nx, y2 - ny}, {x1 - nx, y1 - ny}})
	}
	if l.Dash <= 0 || l.Dash*b.k < 1 {
		piece(0, 1)
		return
	}
	for a := 0.0; a < n; a += 2 * l.Dash {
		piece(a/n, math.Min(1, (a+l.Dash)/n))
	}
}

// glyph draws a symbol in its cell.
func (b *brush) glyph(r rune, x, y, cell float64, ink Color) {
	s, ok := symbols.ByRune(r)
	if !ok {
		if r == symbols.Disc {
			b.path(ink, ring(x+cell/2, y+cell/2, cell*symbols.DiscShare/2))
		}
		return
	}
	px := int(math.Round(cell * b.k))
	if px < 3 || px > 400 {
		return
	}
	b.stamp(s.Coverage(px, b.box), px, int(math.Round((x+b.at[0])*b.k)), int(math.Round((y+b.at[1])*b.k)), ink)
}

// stamp inks a square by how much of each pixel is covered.
func (b *brush) stamp(cover []uint8, px, x0, y0 int, ink Color) {
	for j := range px {
		for i := range px {
			if a := int(cover[j*px+i]); a > 0 {
				b.mix(x0+i, y0+j, ink, a)
			}
		}
	}
}

func (b *brush) mix(x, y int, ink Color, a int) {
	if !(image.Point{X: x, Y: y}).In(b.img.Rect) {
		return
	}
	p := b.img.Pix[b.img.PixOffset(x, y):]
	for k := range 3 {
		p[k] = uint8((int(p[k])*(255-a) + int(ink[k])*a + 127) / 255)
	}
}

// text draws a line of text.
func (b *brush) text(t Text) {
	size := t.Size * letters.PointMM // mm an em
	width := letters.Width(t.Face, t.Size, t.S)
	x := map[Align]float64{Left: 0, Center: -width / 2, Right: -width}[t.Align]
	sin, cos := math.Sincos(-float64(t.Turn) * math.Pi / 180)
	const ppem = 1024
	var buf sfnt.Buffer
	var contours [][][2]float64
	for _, r := range t.S {
		f, i, err := letters.Outline(t.Face, r)
		if err != nil {
			continue
		}
		seg, err := f.LoadGlyph(&buf, i, fixed.I(ppem), nil)
		if err != nil {
			continue
		}
		at := func(p fixed.Point26_6) [2]float64 {
			gx, gy := x+float64(p.X)/64/ppem*size, float64(p.Y)/64/ppem*size
			return [2]float64{t.X + float64(gx*cos) - float64(gy*sin), t.Y + float64(gx*sin) + float64(gy*cos)}
		}
		var now [][2]float64
		for _, s := range seg {
			switch s.Op {
			case sfnt.SegmentOpMoveTo:
				if len(now) > 0 {
					contours = append(contours, now)
				}
				now = [][2]float64{at(s.Args[0])}
			case sfnt.SegmentOpLineTo:
				now = append(now, at(s.Args[0]))
			case sfnt.SegmentOpQuadTo:
				p0, p1, p2 := now[len(now)-1], at(s.Args[0]), at(s.Args[1])
				for k := 1; k <= 3; k++ {
					u := float64(k) / 3
					v := 1 - u
					now = append(now, [2]float64{float64(v*v*p0[0]) + float64(2*u*v*p1[0]) + float64(u*u*p2[0]), float64(v*v*p0[1]) + float64(2*u*v*p1[1]) + float64(u*u*p2[1])})
				}
			case sfnt.SegmentOpCubeTo:
				p0, p1, p2, p3 := now[len(now)-1], at(s.Args[0]), at(s.Args[1]), at(s.Args[2])
				for k := 1; k <= 4; k++ {
					u := float64(k) / 4
					v := 1 - u
					var p [2]float64
					for i := range p {
						p[i] = float64(v*v*v*p0[i]) + float64(3*u*v*v*p1[i]) + float64(3*u*u*v*p2[i]) + float64(u*u*u*p3[i])
					}
					now = append(now, p)
				}
			}
		}
		if len(now) > 0 {
			contours = append(contours, now)
		}
		adv, _ := f.GlyphAdvance(&buf, i, fixed.I(ppem), font.HintingNone)
		x += float64(adv) / 64 / ppem * size
	}
	if len(contours) > 0 {
		b.path(t.Ink, contours...)
	}
}

// area draws a part of a chart, a pixel at a time.
func (b *brush) area(a Area) {
	l := a.Lattice
	cell := a.Pitch * b.k
	x0, y0 := (a.X+b.at[0])*b.k, (a.Y+b.at[1])*b.k
	stamps := b.stamps(l, int(math.Round(cell)))
	r := image.Rect(int(math.Floor(x0)), int(math.Floor(y0)), int(math.Ceil(x0+float64(cell*float64(l.Cols)))), int(math.Ceil(y0+float64(cell*float64(l.Rows))))).Intersect(b.img.Rect)
	var row []uint16
	was := -1
	for py := r.Min.Y; py < r.Max.Y; py++ {
		fy := (float64(py) + 0.5 - y0) / cell
		cy := int(math.Floor(fy))
		if cy < 0 || cy >= l.Rows {
			continue
		}
		if cy != was {
			row, was = l.Row(cy), cy
		}
		for px := r.Min.X; px < r.Max.X; px++ {
			fx := (float64(px) + 0.5 - x0) / cell
			cx := int(math.Floor(fx))
			if cx < 0 || cx >= l.Cols || l.Clip != nil && (fx < l.Clip[0] || float64(l.Rows)-fy < l.Clip[1] || fx > l.Clip[0]+l.Clip[2] || float64(l.Rows)-fy > l.Clip[1]+l.Clip[3]) {
				continue
			}
			v := row[cx]
			b.cell(l, px, py, v, fx-float64(cx), fy-float64(cy), stamps[v], cell)
			if l.Tens && (l.FirstCol+cx)%10 == 0 && (fx-float64(cx))*cell < 1 || l.Tens && (l.FirstRow+cy)%10 == 0 && (fy-float64(cy))*cell < 1 {
				b.mix(px, py, Color{}, 130)
			}
		}
	}
}

// stamps are the symbols of a lattice at a size; at one that is too small,
// only how much of the cell is ink.
func (b *brush) stamps(l *Lattice, px int) [][]uint8 {
	n := max(len(l.Fill), len(l.Runes))
	out := make([][]uint8, n)
	for v := range out {
		if v >= len(l.Runes) {
			continue
		}
		if s, ok := symbols.ByRune(l.Runes[v]); ok {
			out[v] = s.Coverage(max(4, min(px, 64)), b.box)
		}
	}
	return out
}

// cell draws one pixel of a cell.
func (b *brush) cell(l *Lattice, px, py int, v uint16, fx, fy float64, stamp []uint8, size float64) {
	if l.Fill != nil {
		c := l.Fill[v]
		if l.Gaps != nil && math.Hypot(fx-0.5, fy-0.5) > symbols.DiscShare/2 {
			c = l.Gaps[v]
		}
		b.mix(px, py, c, 255)
	}
	if stamp != nil {
		ink := Color{}
		if l.White != nil && l.White[v] {
			ink = Color{255, 255, 255}
		}
		n := int(math.Sqrt(float64(len(stamp))))
		if size >= 4 {
			b.mix(px, py, ink, int(stamp[min(n-1, int(fy*float64(n)))*n+min(n-1, int(fx*float64(n)))]))
		} else {
			sum := 0
			for _, a := range stamp {
				sum += int(a)
			}
			b.mix(px, py, ink, sum/len(stamp))
		}
	}
	if l.Lines && size >= 5 && (fx*size < 1 || fy*size < 1) {
		b.mix(px, py, Color{}, 60)
	}
}
