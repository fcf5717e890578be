package look

import (
	"fmt"
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

// drawAllCounts plots every rung, where not all are shown, and returns the
// bottom.
func drawAllCounts(s *sheet, l LadderPicture, a *ladderLayout, top int) int {
	y := s.paragraph(ladderMargin, top, a.sheetWidth, letters.Bold, 40, ink, fmt.Sprintf("All %d color counts", len(l.Views)))
	left, right := ladderMargin+110, a.sheetWidth-ladderMargin-40
	topY, lowY := y+70, y+70+400
	bottom := lowY + 70
	if s.measuring() {
		return bottom + 64
	}
	low, high := math.Inf(1), 0.0
	ground := groundKnown(l.Views)
	for _, r := range l.Views {
		low, high = math.Min(low, r.Mean), math.Max(high, r.Mean)
		if ground {
			low = math.Min(low, r.Bound)
		}
	}
	if high-low < 0.05 {
		high, low = high+0.05, low-0.05
	}
	first, last := float64(l.Views[0].Colors), float64(l.Views[len(l.Views)-1].Colors)
	atX := func(n float64) float64 {
		return float64(left) + 30 + float64((n-first)/(last-first))*float64(right-left-60)
	}
	atY := func(v float64) float64 { return float64(topY) + float64((high-v)/(high-low))*float64(lowY-topY) }
	// Lines at round values.
	grain := 0.1
	for _, g := range []float64{0.2, 0.5, 1, 2, 5, 10, 20} {
		if (high-low)/grain > 6 {
			grain = g
		}
	}
	for v := math.Ceil(low/grain) * grain; v <= high; v += grain {
		at := int(math.Round(atY(v)))
		s.fill(image.Rect(left, at-1, right, at+1), hairline)
		s.write(float64(left-16), float64(at+10), letters.Regular, 30, quiet, fmt.Sprintf("%.1f", v), alignRightEdge)
	}
	s.write(float64(ladderMargin), float64(topY-34), letters.Regular, 30, quiet, "off the photo", alignLeftEdge)
	s.write(float64(left-16), float64(bottom+40), letters.Regular, 30, quiet, "colors", alignRightEdge)
	var line []point
	edge := make([]float64, right-left)
	k := 0
	for x := range edge {
		n := first + float64(float64(x-30)/float64(right-left-60))*(last-first)
		for k < len(l.Views)-2 && float64(l.Views[k+1].Colors) < n {
			k++
		}
		b, c := l.Views[k], l.Views[min(k+1, len(l.Views)-1)]
		t := math.Min(1, math.Max(0, (n-float64(b.Colors))/float64(max(1, c.Colors-b.Colors))))
		edge[x] = atY(b.Bound + float64(t*(c.Bound-b.Bound)))
	}
	if ground {
		s.ground(left, bottom, edge)
		s.plate(left+28, bottom-20, letters.Regular, 28, "proven ground")
	}
	for _, r := range l.Views {
		line = append(line, point{atX(float64(r.Colors)), atY(r.Mean)})
	}
	s.curve(line, 5, ink)
	free := math.Inf(-1) // x from which on a number fits
	for _, r := range l.Views {
		x, y := atX(float64(r.Colors)), atY(r.Mean)
		shown := false
		for _, q := range a.shown {
			shown = shown || q.Colors == r.Colors
		}
		switch {
		case r.Colors == l.Pick:
			s.disc(x, y, 15, accent)
		case shown:
			s.disc(x, y, 12, ink)
			s.disc(x, y, 7.5, paper)
		default:
			s.disc(x, y, 5.5, ink)
		}
		if shown && x > free {
			c, f := ink, letters.Regular
			if r.Colors == l.Pick {
				c, f = accent, letters.Bold
			}
			n := fmt.Sprint(r.Colors)
			s.write(x, float64(bottom+40), f, 34, c, n, alignMiddle)
			free = x + s.width(f, 34, n) + 16
		}
	}
	return bottom + 64
}
