package kit

import (
	"math"

	"kitwright/internal/say"
	"kitwright/quantize"
)

// options turns a choice into what the choice of colors needs: numbers only.
func (t *task) options(c Choice) (quantize.Options, error) {
	keep, err := indices(t.card, c.Keep, "keep")
	if err != nil {
		return quantize.Options{}, err
	}
	avoid, err := indices(t.card, c.Avoid, "avoid")
	if err != nil {
		return quantize.Options{}, err
	}
	times, err := t.times(c.Focus)
	if err != nil {
		return quantize.Options{}, err
	}
	return quantize.Options{
		K: c.Colors, Keep: keep, Avoid: avoid, Weight: t.weights(), Focus: times, Fixed: t.fixed, Rare: c.Rare,
		Effort: map[Effort]int{EffortQuick: quantize.Quick, EffortNormal: quantize.Normal, EffortProve: quantize.Prove}[c.Effort],
	}, nil
}

// Weights of a cell, in sixteenths so that the edge of a focus can be soft. A
// difference in the background counts a quarter of one in the subject: measured
// on six photos of animals, that brings the subject 2 to 21 percent closer with
// nothing visibly lost behind it, and it forgives a wrong outline.
const (
	plainWeight      = 16
	backgroundWeight = plainWeight / 4
)

// weights returns how much a difference counts in each cell, or nil if all
// count alike.
func (t *task) weights() []uint16 {
	if t.Subject == nil {
		return nil
	}
	weight := make([]uint16, t.Layout.Cols*t.Layout.Rows)
	for i := range weight {
		weight[i] = backgroundWeight
		if t.onSubject(i) || t.inCore(i) {
			weight[i] = plainWeight
		}
	}
	return weight
}

// once is what a cell without a focus has in times.
const once = 16

// times returns how many times more a difference counts for the focus, in
// sixteenths, or nil without one. A focus counts in full in the inner three
// quarters of its ellipse and fades to nothing at its edge; where two overlap,
// the larger counts.
func (t *task) times(focus []Focus) ([]uint16, error) {
	if len(focus) == 0 {
		return nil, nil
	}
	const full = 0.75
	times := make([]uint16, t.Layout.Cols*t.Layout.Rows)
	for i := range times {
		times[i] = once
	}
	for _, f := range focus {
		hit := false
		t.within(f, func(i int, e float64) {
			hit = true
			share := math.Min(1, (1-e)/(1-full))
			times[i] = max(times[i], uint16(math.Round(once*(1+float64((f.Weight-1)*share)))))
		})
		if !hit {
			return nil, say.Usage("circle something that is on the picture, or change {crop}", "{focus} %s lies outside the part of the photo that is charted, or is smaller than a drill", f.Words())
		}
	}
	return times, nil
}

// within visits the cells of the photo inside a focus, with how far out they
// lie: 0 in its middle, 1 at its edge.
func (t *task) within(f Focus, visit func(i int, e float64)) {
	l := t.Layout
	cx, cy, rx, ry := l.Ellipse(f.Box, t.Photo.Width, t.Photo.Height)
	for i := range l.Cols * l.Rows {
		dx, dy := (float64(i%l.Cols)+0.5-cx)/rx, (float64(i/l.Cols)+0.5-cy)/ry
		if e := math.Sqrt(float64(dx*dx) + float64(dy*dy)); e < 1 && t.onPhoto(i) {
			visit(i, e)
		}
	}
}

// both returns how much a cell counts by weight and by focus, nil if all
// count alike.
func both(weight, times []uint16) []uint16 {
	if times == nil {
		return weight
	}
	out := make([]uint16, len(times))
	for i, n := range times {
		out[i] = n * plainWeight / once
		if weight != nil {
			out[i] = n * weight[i] / once
		}
	}
	return out
}
