package subject

import (
	"math"

	"kitwright/internal/plane"
	"kitwright/lab"
	"kitwright/photo"
)

// How a first ellipse is found. (Measured on photos of which every second one
// was looked at while these were chosen: docs/measured.md.)
const (
	proposeLong  = 48   // cells on the photo's long side
	proposeNear  = 0.25 // of the edge is what a place is compared with: that which is most like it
	proposeReach = 0.32 // of the photo: how far from its middle a place counts hardly less
	proposeUsual = 0.8  // of the edge is nearer to its like than what differs from it
	proposeTail  = 0.05 // of all that differs may lie beyond each side
	proposeGrow  = 0.04 // of the photo, that the box is larger than that
	proposeLeast = 1.5  // CIE Lab distance that differs at all, on average of the photo
)

// Middle is the ellipse that is proposed where the photo tells nothing.
var Middle = photo.Ellipse{X: 10, Y: 6, W: 80, H: 88}

// Propose returns a first ellipse about the subject, and whether the photo
// told anything: where its colors differ from those at its left, upper and
// right edges, and the more the nearer to its middle. It is a proposal to be
// dragged, and nothing goes by it unasked. Whole percents.
func Propose(p *photo.Photo) (photo.Ellipse, bool) {
	cols, rows := fitted(float64(p.Width), float64(p.Height), proposeLong)
	g := p.Linear(p.Whole(), cols, rows).Grid()
	differs := fromEdges(g)
	var sum float64
	across, down := make([]float64, cols), make([]float64, rows)
	for i, v := range differs {
		x, y := i%cols, i/cols
		dx, dy := (float64(x)+0.5)/float64(cols)-0.5, (float64(y)+0.5)/float64(rows)-0.5
		v = float64(v * math.Exp(-(float64(dx*dx)+float64(dy*dy))/(2*proposeReach*proposeReach)))
		sum += v
		across[x] += v
		down[y] += v
	}
	if sum < proposeLeast*float64(len(differs)) {
		return Middle, false
	}
	l, r := within(across, sum)
	t, b := within(down, sum)
	return photo.Ellipse{X: l, Y: t, W: r - l, H: b - t}, true
}

// fromEdges is how far each cell is from the edge cells that are most like it,
// above what is usual at the edges themselves.
func fromEdges(g *lab.Grid) []float64 {
	cols := g.Cols
	var edge []lab.Color
	for i, c := range g.Cells {
		if x, y := i%cols, i/cols; y == 0 || x == 0 || x == cols-1 {
			edge = append(edge, c)
		}
	}
	most := max(1, int(proposeNear*float64(len(edge))))
	far := func(c lab.Color) float64 { // the mean of the nearest of them, counted by whole units
		var count [300]int
		for _, e := range edge {
			d := math.Sqrt(float64((c.L-e.L)*(c.L-e.L)) + float64((c.A-e.A)*(c.A-e.A)) + float64((c.B-e.B)*(c.B-e.B)))
			count[min(len(count)-1, int(d))]++
		}
		sum, left := 0, most
		for d, n := range count {
			n = min(n, left)
			sum += d * n
			left -= n
		}
		return float64(sum) / float64(most)
	}
	var all []float64
	for _, e := range edge {
		all = append(all, far(e))
	}
	usual := plane.Quantile(all, proposeUsual)
	out := make([]float64, len(g.Cells))
	for i, c := range g.Cells {
		out[i] = max(0, far(c)-usual)
	}
	return out
}

// within returns where the middle of a sum lies, in whole percents, a little
// grown.
func within(of []float64, sum float64) (lo, hi float64) {
	at := func(share float64) float64 {
		var s float64
		for i, v := range of {
			if s+v >= share*sum {
				return (float64(i) + (float64(share*sum)-s)/v) / float64(len(of))
			}
			s += v
		}
		return 1
	}
	return math.Round(100 * max(0, at(proposeTail)-proposeGrow)), math.Round(100 * min(1, at(1-proposeTail)+proposeGrow))
}

// CropAround returns a crop of the given proportions, width to height, that
// holds an ellipse with room about it, in percent of the photo: as large as
// that takes, and never over the photo's edge.
func CropAround(e photo.Ellipse, width, height int, proportion float64) photo.Ellipse {
	const room = 1.16
	pw, ph := float64(width), float64(height)
	w := math.Max(e.W*pw*room, e.H*ph*room*proportion) / 100 // in pixels
	w = math.Min(w, math.Min(pw, ph*proportion))
	h := w / proportion
	x := clamp(float64((e.X+float64(e.W/2))*pw/100)-float64(w/2), pw-float64(w))
	y := clamp(float64((e.Y+float64(e.H/2))*ph/100)-float64(h/2), ph-float64(h))
	round := func(v float64) float64 { return math.Floor(v*100) / 100 }
	return photo.Ellipse{X: round(100 * x / pw), Y: round(100 * y / ph), W: round(100 * w / pw), H: round(100 * h / ph)}
}

func clamp(v, most float64) float64 { return math.Max(0, math.Min(v, most)) }
