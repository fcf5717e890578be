package subject

import (
	"math"

	"kitwright/photo"
)

// drawn is what a box drawn by hand says about each cell, before any color is
// looked at.
type drawn struct {
	place []float64  // 0 in the middle of the box, 1 on a rounded rectangle within it, more outside
	pull  []int32    // how strongly that speaks for the subject, in 1/perUnit of a natural logarithm
	later []int32    // the same once a first outline is known
	fixed []int8     // 1: said to be subject, -1: said to be ground, 0: open
	sides [4]float64 // of the box as it was drawn: left, top, right, bottom, in cells; none about a whole photo
}

const (
	perUnit   = 64   // parts of a unit of log odds: all that is weighed is whole numbers of them
	sure      = 16   // log odds that nothing outweighs
	core      = 0.12 // the very middle of what was drawn is subject in any case
	farthest  = 1.5  // beyond it nothing is subject
	ringEnd   = 1.8  // ground is learned from here inward
	ringBegin = 1.15 // as far out as an animal seldom reaches over a box drawn sloppily
	ringLeast = 0.2  // of the box's area: a ring with less begins farther in
	ringInner = 0.7  // but not within this
	inPart    = 0.9  // within it a cell is taken for subject at first
	openSide  = 0.08 // of the box: how far beyond the photo an animal goes that the photo cuts off
	touching  = 0.02 // of the box: this near, it touches the photo's edge
)

// pulls are the log odds of the subject by place: people draw a little more
// than the animal, and sometimes leave an ear out. (Our choice, on the photos
// that the tests call tuned: the middle may be ground between two animals, and
// once color and texture have spoken the inside counts a little more, so that
// a dark face before dark rocks is kept.)
var (
	pulls      = [][2]float64{{0, 2}, {0.3, 0.65}, {0.8, 0.1}, {1, -0.5}, {1.15, -1}, {farthest, -2}}
	pullsLater = [][2]float64{{0, 2}, {0.4, 0.8}, {0.8, 0.3}, {1, -0.5}, {1.15, -1}, {farthest, -2}}
)

// pulled returns the log odds at a place.
func pulled(by [][2]float64, r float64) int32 {
	for k := 1; k < len(by); k++ {
		if a, b := by[k-1], by[k]; r < b[0] {
			return int32(math.Round(perUnit * (a[1] + float64((r-a[0])/(b[0]-a[0])*(b[1]-a[1])))))
		}
	}
	return -sure * perUnit
}

// draw reads a box, in percent of a picture of cols x rows cells, that shows the
// part whole of the photo (in percent of the picture, too).
func draw(e, whole photo.Ellipse, cols, rows int) drawn {
	n := cols * rows
	d := drawn{place: make([]float64, n), pull: make([]int32, n), later: make([]int32, n), fixed: make([]int8, n)}
	if !everything(e, whole) {
		x, y := float64(cols)/100, float64(rows)/100
		d.sides = [4]float64{e.X * x, e.Y * y, (e.X + e.W) * x, (e.Y + e.H) * y}
	}
	e = opened(e, whole)
	for i := range d.place {
		x, y := (float64(i%cols)+0.5)*100/float64(cols), (float64(i/cols)+0.5)*100/float64(rows)
		u, v := (x-e.X-float64(e.W/2))/(e.W/2), (y-e.Y-float64(e.H/2))/(e.H/2)
		u, v = u*u, v*v
		r := math.Sqrt(math.Sqrt(float64(u*u) + float64(v*v))) // u^4 + v^4 = r^4
		d.place[i], d.pull[i], d.later[i] = r, pulled(pulls, r), pulled(pullsLater, r)
		switch {
		case r < core:
			d.fixed[i] = 1
		case r >= farthest:
			d.fixed[i] = -1
		}
	}
	return d
}

// touches tells at which sides the box touches the photo's edge: left, top,
// right, bottom.
func touches(e, whole photo.Ellipse) [4]bool {
	w, h := e.W, e.H
	return [4]bool{
		e.X <= whole.X+float64(touching*w), e.Y <= whole.Y+float64(touching*h),
		e.X+w >= whole.X+whole.W-float64(touching*w), e.Y+h >= whole.Y+whole.H-float64(touching*h),
	}
}

// everything tells whether the box is drawn around the whole photo.
func everything(e, whole photo.Ellipse) bool {
	return touches(e, whole) == [4]bool{true, true, true, true}
}

// opened returns the box with the sides moved out where the photo cuts the
// animal off: what lies at such a side is no less likely the animal. A box
// around the whole photo tells nothing of the kind.
func opened(e, whole photo.Ellipse) photo.Ellipse {
	if everything(e, whole) {
		return e
	}
	w, h, at := e.W, e.H, touches(e, whole)
	if at[0] {
		e.X, e.W = e.X-float64(openSide*w), e.W+float64(openSide*w)
	}
	if at[2] {
		e.W += float64(openSide * w)
	}
	if at[1] {
		e.Y, e.H = e.Y-float64(openSide*h), e.H+float64(openSide*h)
	}
	if at[3] {
		e.H += float64(openSide * h)
	}
	return e
}

// said settles the cells of an ellipse drawn by hand.
func (d drawn) said(is int8, e photo.Ellipse, cols, rows int) {
	for i := range d.fixed {
		if e.Center2(i, cols, rows) < 1 {
			d.fixed[i] = is
		}
	}
}

// ring returns how far out the ground surely begins: beyond the reach of a
// box drawn sloppily, or farther in where the photo leaves too little of that.
func (d drawn) ring() float64 {
	const fine = 100
	var count [int(ringEnd * fine)]int
	inside := 0
	for _, r := range d.place {
		if r < 1 {
			inside++
		}
		if r < ringEnd {
			count[min(len(count)-1, int(r*fine))]++
		}
	}
	n := 0
	for b := len(count) - 1; b > ringInner*fine; b-- {
		n += count[b]
		if b <= ringBegin*fine && float64(n) > ringLeast*float64(inside) {
			return float64(b) / fine
		}
	}
	return ringInner
}
