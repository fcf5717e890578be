package kit

import (
	"cmp"
	"math"
	"slices"

	"kitwright/lab"
	"kitwright/quantize"
)

// The pupil and the glint make an eye, and are a handful of drills: too few to
// weigh in any mean. So the colors nearest to the darkest and the lightest few
// percent of whatever is circled are kept by rule.
const (
	endShare = 0.05 // of the drills of a circle that are its darkest, and its lightest
	endsMost = 4    // at most one color in so many is kept by this rule
	endsLike = 3    // a color this much farther off than the nearest does as well (CIEDE2000)
)

// ends returns the mean of the darkest drills of each circle, then of the
// lightest.
func (t *task) ends(focus []Focus) (dark, light []lab.Color) {
	for _, f := range focus {
		var cells []lab.Color
		t.within(f, func(i int, _ float64) { cells = append(cells, t.grid.Cells[i]) })
		if len(cells) == 0 {
			continue
		}
		slices.SortStableFunc(cells, func(a, b lab.Color) int { return cmp.Compare(a.L, b.L) })
		n := max(1, int(math.Round(endShare*float64(len(cells)))))
		dark = append(dark, meanColor(cells[:n]))
		light = append(light, meanColor(cells[len(cells)-n:]))
	}
	return dark, light
}

func meanColor(cells []lab.Color) lab.Color { return mean(&lab.Grid{Cells: cells}) }

// keepEnds adds the colors of the ends to those that are kept, as far as there
// is room among so many colors.
func (t *task) keepEnds(opt quantize.Options, ends []lab.Color) []int {
	settled := map[int]bool{}
	for _, j := range opt.Keep {
		settled[j] = true
	}
	for _, j := range opt.Fixed {
		if j >= 0 {
			settled[int(j)] = true
		}
	}
	room := min(opt.K/endsMost, opt.K-len(settled))
	keep := opt.Keep
	for _, want := range ends {
		if room <= 0 {
			break
		}
		best, least := -1, math.Inf(1)
		had := math.Inf(1)
		for j, d := range t.card.Drills {
			if slices.Contains(opt.Avoid, j) {
				continue
			}
			off := lab.DeltaE(d.Lab, want)
			if off < least {
				best, least = j, off
			}
			if slices.Contains(keep, j) {
				had = min(had, off)
			}
		}
		if best < 0 || had <= least+endsLike {
			continue
		}
		keep = append(keep[:len(keep):len(keep)], best)
		if !settled[best] {
			settled[best] = true
			room--
		}
	}
	return keep
}
