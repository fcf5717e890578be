package look

import (
	"image"
	"math"

	"kitwright/render/letters"
)

// hill is the slope that a ladder's pictures stand on: a step for each, as
// high as its miss, over the ground of the bounds.
type hill struct {
	a           *ladderLayout
	left, right int
	top, low    float64 // values at the highest and the lowest level
	topY, lowY  int
	base        int // where the photo stands
	bottom      int
	step        int // from a picture's bottom edge to its step
	ground      bool
}

func groundKnown(rungs []View) bool {
	for _, r := range rungs {
		if r.Bound <= 0 {
			return false
		}
	}
	return true
}

func newHill(l LadderPicture, a *ladderLayout) *hill {
	h := &hill{a: a, left: a.left[1] - ladderGap, right: a.right + ladderGap/3, step: 30, ground: groundKnown(a.shown)}
	h.top, h.low = a.shown[0].Mean, a.shown[0].Mean
	for _, r := range a.shown {
		h.top, h.low = math.Max(h.top, r.Mean), math.Min(h.low, r.Mean)
		if h.ground {
			h.low = math.Min(h.low, r.Bound)
		}
	}
	return h
}

// place puts the hill's pictures below y.
func (h *hill) place(y int) {
	h.topY = y + h.a.height + h.step
	h.lowY = h.topY + int(math.Round(ladderHill*math.Min(1, h.top-h.low))) // no mountain out of a molehill
	h.base = h.lowY - h.step
	h.bottom = h.lowY + ladderGround
}

// level returns where a value stands.
func (h *hill) level(v float64) int { return int(math.Round(h.exact(v))) }

func (h *hill) exact(v float64) float64 {
	if h.lowY == h.topY {
		return float64(h.topY)
	}
	return float64(h.topY) + float64(float64(h.lowY-h.topY)*((h.top-v)/(h.top-h.low)))
}

// along returns the height of the slope at x: flat under each picture, smooth
// in the gaps.
func (h *hill) along(x float64, of func(View) float64) float64 {
	half := float64(h.a.column)/2 + 18
	for i, r := range h.a.shown {
		mid := float64(h.a.middle(i + 1))
		if x <= mid+half {
			y := h.exact(of(r))
			if i == 0 || x >= mid-half {
				return y
			}
			before := h.exact(of(h.a.shown[i-1]))
			from := float64(h.a.middle(i)) + half
			t := (x - from) / (mid - half - from)
			t = float64(t*t) * (3 - 2*t)
			return before + float64((y-before)*t)
		}
	}
	return h.exact(of(h.a.shown[len(h.a.shown)-1]))
}

func (h *hill) draw(s *sheet) {
	s.fill(image.Rect(h.left-ladderGap/2-2, h.topY-h.a.height, h.left-ladderGap/2, h.bottom), hairline)
	mean := func(r View) float64 { return r.Mean }
	bound := func(r View) float64 { return r.Bound }
	if h.ground {
		edge := make([]float64, h.right-h.left)
		for x := range edge {
			edge[x] = h.along(float64(h.left+x)+0.5, bound)
		}
		s.ground(h.left, h.bottom, edge)
		words := "proven ground: no choice of colors can stand lower"
		if s.width(letters.Regular, 28, words) > float64(h.right-h.left-60) {
			words = "proven ground"
		}
		s.plate(h.left+28, h.bottom-24, letters.Regular, 28, words)
	}
	var line []point
	for x := h.left; x <= h.right; x += 2 {
		line = append(line, point{float64(x), h.along(float64(x), mean)})
	}
	s.curve(line, 5, ink)
	for i, r := range h.a.shown {
		x, y := float64(h.a.middle(i+1)), h.exact(r.Mean)
		s.disc(x, y, 12, ink)
		s.disc(x, y, 7.5, paper)
	}
}
