package gauge

import (
	"image"
	"math"
)

// Point is a place in a picture, in pixels, or on a sheet, in its own units.
type Point struct{ X, Y float64 }

// Rect is an upright rectangle on a sheet.
type Rect struct{ X, Y, W, H float64 }

func (r Rect) center() Point { return Point{r.X + float64(r.W/2), r.Y + float64(r.H/2)} }

// shrunk returns the middle of a rectangle, so much of each side.
func (r Rect) shrunk(share float64) Rect {
	return Rect{r.X + float64(r.W*(1-share)/2), r.Y + float64(r.H*(1-share)/2), r.W * share, r.H * share}
}

// homography leads from a sheet to a picture.
type homography [9]float64

// newHomography returns the one that takes four points to four others (direct
// linear transform); false where three of them lie on a line.
func newHomography(from, to [4]Point) (h homography, ok bool) {
	var a [8][9]float64
	for i := range from {
		x, y, u, v := from[i].X, from[i].Y, to[i].X, to[i].Y
		a[2*i] = [9]float64{x, y, 1, 0, 0, 0, -x * u, -y * u, u}
		a[2*i+1] = [9]float64{0, 0, 0, x, y, 1, -x * v, -y * v, v}
	}
	rows := make([][]float64, 8)
	for i := range a {
		rows[i] = a[i][:]
	}
	x, ok := solve(rows)
	if !ok {
		return h, false
	}
	copy(h[:], x)
	h[8] = 1
	return h, true
}

func (h homography) at(p Point) Point {
	w := float64(h[6]*p.X) + float64(h[7]*p.Y) + h[8]
	return Point{
		(float64(h[0]*p.X) + float64(h[1]*p.Y) + h[2]) / w,
		(float64(h[3]*p.X) + float64(h[4]*p.Y) + h[5]) / w,
	}
}

func distance(a, b Point) float64 { return math.Hypot(a.X-b.X, a.Y-b.Y) }

// convex says whether four points go around clockwise as a picture is seen (y
// down), with no corner straight or bent inward.
func convex(p [4]Point) bool {
	for i := range p {
		a, b, c := p[i], p[(i+1)%4], p[(i+2)%4]
		if float64((b.X-a.X)*(c.Y-b.Y))-float64((b.Y-a.Y)*(c.X-b.X)) <= 0 {
			return false
		}
	}
	return true
}

func area(p [4]Point) float64 {
	sum := 0.0
	for i := range p {
		q := p[(i+1)%4]
		sum += float64(p[i].X*q.Y) - float64(q.X*p[i].Y)
	}
	return math.Abs(sum) / 2
}

// picture is what colors are read from.
type picture struct {
	pix    []uint8 // r, g, b, a
	stride int
	w, h   int
}

func newPicture(img *image.NRGBA) picture {
	b := img.Bounds()
	return picture{img.Pix[img.PixOffset(b.Min.X, b.Min.Y):], img.Stride, b.Dx(), b.Dy()}
}

// at returns encoded sRGB, 0 to 1, between the pixels around a place; the
// middle of a pixel lies at a half. Beyond the edge it is the edge.
func (p picture) at(q Point) (v [3]float64) {
	x, y := q.X-0.5, q.Y-0.5
	x0, y0 := math.Floor(x), math.Floor(y)
	fx, fy := x-x0, y-y0
	for dy := range 2 {
		for dx := range 2 {
			wx, wy := 1-fx, 1-fy
			if dx == 1 {
				wx = fx
			}
			if dy == 1 {
				wy = fy
			}
			i := min(max(int(y0)+dy, 0), p.h-1)*p.stride + 4*min(max(int(x0)+dx, 0), p.w-1)
			for c := range v {
				v[c] += float64(float64(wx*wy) * float64(p.pix[i+c]))
			}
		}
	}
	for c := range v {
		v[c] /= 255
	}
	return v
}

func (p picture) holds(q Point) bool {
	return q.X >= 0 && q.Y >= 0 && q.X <= float64(p.w) && q.Y <= float64(p.h)
}

// window reads the picture about once a pixel over a rectangle of the sheet.
func (p picture) window(h homography, r Rect) [][3]float64 {
	const most = 64 // samples along a side; more add nothing to a mode
	a, b, c := h.at(Point{r.X, r.Y}), h.at(Point{r.X + r.W, r.Y}), h.at(Point{r.X, r.Y + r.H})
	nx := min(max(int(math.Round(distance(a, b))), 3), most)
	ny := min(max(int(math.Round(distance(a, c))), 3), most)
	out := make([][3]float64, 0, nx*ny)
	for j := range ny {
		for i := range nx {
			at := Point{r.X + float64(r.W*(float64(i)+0.5)/float64(nx)), r.Y + float64(r.H*(float64(j)+0.5)/float64(ny))}
			out = append(out, p.at(h.at(at)))
		}
	}
	return out
}
