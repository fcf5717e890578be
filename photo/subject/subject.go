// Package subject finds which part of a photo is the pet: by transparency, by a
// plain ground, or from an ellipse drawn by hand. Begin with [Locate].
package subject

import (
	"math"

	"kitwright/photo"
)

// Hints is what a crafter says about the subject, each an ellipse in percent of
// the whole photo.
type Hints struct {
	About []photo.Ellipse // the subject: at most one; none = it has to be found by itself
	Add   []photo.Ellipse // these belong to it
	Cut   []photo.Ellipse // and these do not; where both are said, this counts
}

// Outline is what was found of a subject on a whole photo.
type Outline struct {
	By   string // "transparency", "plain ground", "ellipse"
	Weak string // where it is least sure, in words: "at the lower left"; "" = not judged

	photo *photo.Photo
	hints Hints
	win   photo.Crop // the part of the photo that was looked at
	mask  *photo.Mask
}

// Locate looks for the subject on a part of the photo, and returns nil where
// nothing tells.
//
// By itself it goes by the photo's transparency, or else by a ground of one
// plain color all around. A hand-drawn ellipse about the subject is refined by
// color and texture; it need not reach every ear and paw.
func Locate(p *photo.Photo, part photo.Crop, h Hints) *Outline {
	if part == (photo.Crop{}) {
		part = p.Whole()
	}
	w, v := fitted(part.W, part.H, plainLong)
	o := &Outline{photo: p, hints: h, win: part, mask: itself(p, part, w, v)}
	switch {
	case o.mask != nil && len(h.About) > 0:
		near(o.mask, p.Within(part, h.About[0]))
	case len(h.About) > 0:
		o.about()
	case o.mask == nil:
		return nil
	}
	o.By = o.mask.By
	return o
}

// itself finds what tells itself from its ground.
func itself(p *photo.Photo, part photo.Crop, cols, rows int) *photo.Mask {
	if m := ByOpacity(p.Opacity(part, cols, rows), cols, rows); m != nil {
		return m
	}
	w, v := fitted(float64(cols), float64(rows), plainLong)
	return resize(ByPlainGround(p.Linear(part, w, v).Grid()), cols, rows)
}

// On returns which cells of a cols x rows canvas over a part of the photo show
// the subject.
func (o *Outline) On(crop photo.Crop, cols, rows int) *photo.Mask {
	var m *photo.Mask
	if o.By != byEllipse {
		if m = itself(o.photo, crop, cols, rows); m != nil && len(o.hints.About) > 0 {
			near(m, o.photo.Within(crop, o.hints.About[0]))
		}
	}
	if m == nil {
		m = o.spread(crop, cols, rows)
	}
	o.hints.settle(o.photo, crop, m)
	return m
}

// Box returns the smallest box that holds the subject, in pixels of the photo.
func (o *Outline) Box() photo.Crop {
	m := *o.mask
	m.In = append([]bool(nil), m.In...)
	o.hints.settle(o.photo, o.win, &m)
	x0, y0, x1, y1 := m.Box()
	w, h := o.win.W/float64(m.Cols), o.win.H/float64(m.Rows)
	return photo.Crop{
		X: o.win.X + float64(float64(x0)*w), Y: o.win.Y + float64(float64(y0)*h),
		W: float64(x1-x0) * w, H: float64(y1-y0) * h,
	}
}

// settle gives the cells of a mask that the hints name to the subject or to the
// ground.
func (h Hints) settle(p *photo.Photo, crop photo.Crop, m *photo.Mask) {
	for k, all := range [2][]photo.Ellipse{h.Add, h.Cut} {
		for _, e := range all {
			e = p.Within(crop, e)
			for i := range m.In {
				if e.Center2(i, m.Cols, m.Rows) < 1 {
					m.In[i] = k == 0
				}
			}
		}
	}
}

// fitted returns a size of the same shape with a long side of so many cells.
func fitted(w, h float64, long int) (cols, rows int) {
	scale := float64(long) / math.Max(w, h)
	return max(1, int(math.Round(w*scale))), max(1, int(math.Round(h*scale)))
}

const (
	plainLong = 320  // long side, in cells, of the picture in which a plain ground is looked for
	cutLong   = 288  // of the window in which an outline is found: fine enough for a leg
	margin    = 0.35 // of the box's mean side: the window around it, from which the ground is learned
)

// about looks for the subject in a window about what was drawn: the same
// window whatever part of the photo is charted, and finer for a small animal.
func (o *Outline) about() {
	p, e := o.photo, o.hints.About[0]
	x, y := float64(p.Width)/100, float64(p.Height)/100
	wide := float64(margin * math.Sqrt(e.W*x*e.H*y))
	x0, y0 := math.Max(0, math.Floor(float64(e.X*x)-wide)), math.Max(0, math.Floor(float64(e.Y*y)-wide))
	x1, y1 := math.Min(float64(p.Width), math.Ceil(float64((e.X+e.W)*x)+wide)), math.Min(float64(p.Height), math.Ceil(float64((e.Y+e.H)*y)+wide))
	o.win = photo.Crop{X: x0, Y: y0, W: x1 - x0, H: y1 - y0}
	w, v := fitted(o.win.W, o.win.H, min(cutLong, int(math.Max(o.win.W, o.win.H))))
	d := draw(p.Within(o.win, e), p.Within(o.win, photo.Ellipse{W: 100, H: 100}), w, v)
	for k, all := range [2][]photo.Ellipse{o.hints.Add, o.hints.Cut} {
		for _, e := range all {
			d.said(int8(1-2*k), p.Within(o.win, e), w, v)
		}
	}
	var score []int32
	o.mask, score = cut(p.Linear(o.win, w, v), p.Linear(o.win, 2*w, 2*v), d)
	tidy(o.mask)
	o.Weak = weakest(o.mask, score)
}

// spread carries the outline over to the cells of a canvas: a cell is subject
// if at least half of the points in it are.
func (o *Outline) spread(crop photo.Crop, cols, rows int) *photo.Mask {
	const points = 4 // each way
	if crop == (photo.Crop{}) {
		crop = o.photo.Whole()
	}
	at := func(i, n int, from, length, winFrom, winLength float64, cells int) int {
		pixel := from + float64((float64(i)+0.5)*length)/float64(points*n)
		return int(math.Floor((pixel - winFrom) * float64(cells) / winLength))
	}
	out := &photo.Mask{Cols: cols, Rows: rows, In: make([]bool, cols*rows), By: o.By}
	m := o.mask
	for i := range out.In {
		n := 0
		for k := range points * points {
			x := at(i%cols*points+k%points, cols, crop.X, crop.W, o.win.X, o.win.W, m.Cols)
			y := at(i/cols*points+k/points, rows, crop.Y, crop.H, o.win.Y, o.win.H, m.Rows)
			if x >= 0 && y >= 0 && x < m.Cols && y < m.Rows && m.In[y*m.Cols+x] {
				n++
			}
		}
		out.In[i] = 2*n >= points*points
	}
	return out
}

// weakest says where along the outline color and texture tell least, by
// thirds of the subject's box.
func weakest(m *photo.Mask, score []int32) string {
	x0, y0, x1, y1 := m.Box()
	var sum, n [9]int
	for i, in := range m.In {
		x, y := i%m.Cols, i/m.Cols
		if !in || x < x0+1 || y < y0+1 {
			continue
		}
		for _, j := range neighbors(i, m.Cols, m.Rows) {
			if j >= 0 && !m.In[j] {
				third := 3*min(2, 3*(y-y0)/(y1-y0)) + min(2, 3*(x-x0)/(x1-x0))
				sum[third] += int(max(0, score[i])) + int(max(0, -score[j]))
				n[third]++
			}
		}
	}
	least := -1
	for k := range n {
		if n[k] >= 8 && (least < 0 || sum[k]*n[least] < sum[least]*n[k]) {
			least = k
		}
	}
	if least < 0 {
		return ""
	}
	return [9]string{
		"at the upper left", "at the top", "at the upper right", "on the left", "in the middle", "on the right",
		"at the lower left", "at the bottom", "at the lower right",
	}[least]
}

const byEllipse = "ellipse"

// ByOpacity returns the cells that are at least half opaque ([photo.Photo.Opacity]);
// nil where that leaves no subject or no ground.
func ByOpacity(opacity []float64, cols, rows int) *photo.Mask {
	m := &photo.Mask{Cols: cols, Rows: rows, In: make([]bool, cols*rows), By: "transparency"}
	for i, o := range opacity {
		m.In[i] = o >= 0.5
	}
	return useful(m)
}
