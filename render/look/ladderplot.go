package look

import (
	"fmt"
	"image"
	"math"

	"kitwright/render/letters"
)

// plot is a diagram of every rung: how far off against how many colors.
type plot struct {
	l           LadderPicture
	left, right int
	top, low    int // pixels of the highest and the lowest value
	bottom      int
	first, last float64 // color counts
	least, most float64 // values
	ground      bool
}

// drawAllCounts plots every rung, where not all are shown, and returns the
// bottom.
func drawAllCounts(s *sheet, l LadderPicture, a *ladderLayout, top int) int {
	y := s.paragraph(ladderMargin, top, a.sheetWidth, letters.Bold, 40, ink, fmt.Sprintf("All %d color counts", len(l.Views)))
	p := &plot{l: l, left: ladderMargin + 110, right: a.sheetWidth - ladderMargin - 40, top: y + 70, low: y + 70 + 400, bottom: y + 70 + 470}
	if !s.measuring() {
		p.spread()
		p.drawScale(s)
		p.drawGround(s)
		p.drawRungs(s, a)
	}
	return p.bottom + 64
}

// spread finds the ends of both scales.
func (p *plot) spread() {
	p.least, p.most = math.Inf(1), 0.0
	p.ground = groundKnown(p.l.Views)
	for _, r := range p.l.Views {
		p.least, p.most = math.Min(p.least, r.Mean), math.Max(p.most, r.Mean)
		if p.ground {
			p.least = math.Min(p.least, r.Bound)
		}
	}
	if p.most-p.least < 0.05 {
		p.most, p.least = p.most+0.05, p.least-0.05
	}
	p.first, p.last = float64(p.l.Views[0].Colors), float64(p.l.Views[len(p.l.Views)-1].Colors)
}

func (p *plot) x(colors float64) float64 {
	return float64(p.left) + 30 + float64((colors-p.first)/(p.last-p.first))*float64(p.right-p.left-60)
}

func (p *plot) y(miss float64) float64 {
	return float64(p.top) + float64((p.most-miss)/(p.most-p.least))*float64(p.low-p.top)
}

// drawScale draws lines at round values, and what the scales are.
func (p *plot) drawScale(s *sheet) {
	grain := 0.1
	for _, g := range []float64{0.2, 0.5, 1, 2, 5, 10, 20} {
		if (p.most-p.least)/grain > 6 {
			grain = g
		}
	}
	for v := math.Ceil(p.least/grain) * grain; v <= p.most; v += grain {
		at := int(math.Round(p.y(v)))
		s.fill(image.Rect(p.left, at-1, p.right, at+1), hairline)
		s.write(float64(p.left-16), float64(at+10), letters.Regular, 30, quiet, fmt.Sprintf("%.1f", v), alignRightEdge)
	}
	s.write(float64(ladderMargin), float64(p.top-34), letters.Regular, 30, quiet, "off the photo", alignLeftEdge)
	s.write(float64(p.left-16), float64(p.bottom+40), letters.Regular, 30, quiet, "colors", alignRightEdge)
}

// drawGround draws the bounds, if all are known.
func (p *plot) drawGround(s *sheet) {
	if !p.ground {
		return
	}
	views := p.l.Views
	edge := make([]float64, p.right-p.left)
	k := 0
	for x := range edge {
		n := p.first + float64(float64(x-30)/float64(p.right-p.left-60))*(p.last-p.first)
		for k < len(views)-2 && float64(views[k+1].Colors) < n {
			k++
		}
		b, c := views[k], views[min(k+1, len(views)-1)]
		t := math.Min(1, math.Max(0, (n-float64(b.Colors))/float64(max(1, c.Colors-b.Colors))))
		edge[x] = p.y(b.Bound + float64(t*(c.Bound-b.Bound)))
	}
	s.ground(p.left, p.bottom, edge)
	s.plate(p.left+28, p.bottom-20, letters.Regular, 28, "proven ground")
}

// drawRungs draws the curve and a dot for each rung, larger and numbered for
// those that have a picture.
func (p *plot) drawRungs(s *sheet, a *ladderLayout) {
	var line []point
	for _, r := range p.l.Views {
		line = append(line, point{p.x(float64(r.Colors)), p.y(r.Mean)})
	}
	s.curve(line, 5, ink)
	free := math.Inf(-1) // x from which on a number fits
	for _, r := range p.l.Views {
		x, y := p.x(float64(r.Colors)), p.y(r.Mean)
		shown := false
		for _, q := range a.shown {
			shown = shown || q.Asked == r.Asked
		}
		switch {
		case r.Asked == p.l.Pick:
			s.disc(x, y, 15, accent)
		case shown:
			s.disc(x, y, 12, ink)
			s.disc(x, y, 7.5, paper)
		default:
			s.disc(x, y, 5.5, ink)
		}
		if shown && x > free {
			c, f := ink, letters.Regular
			if r.Asked == p.l.Pick {
				c, f = accent, letters.Bold
			}
			n := fmt.Sprint(r.Colors)
			s.write(x, float64(p.bottom+40), f, 34, c, n, alignMiddle)
			free = x + s.width(f, 34, n) + 16
		}
	}
}
