package kit

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"kitwright/lab"
	"kitwright/place"
	"kitwright/quantize"
)

// The pupil and the glint make an eye, and are a handful of drills: too few to
// weigh in any mean. So the colors nearest to the darkest and the lightest few
// percent of whatever is circled are kept by rule.
const (
	endShare = 0.05 // of the drills of a circle that are its darkest, and its lightest
	endsMost = 4    // at most one color in so many is kept by this rule
	glint    = 4    // drills at most that a pupil or a glint are settled in
	endsLike = 3    // a color this much farther off than the nearest does as well (CIEDE2000)
)

// ends returns the mean of the darkest drills of each circle, then of the
// lightest.
func (t *task) ends(focus []Focus) (dark, light []lab.Color) {
	for _, f := range focus {
		if darkest, lightest := t.endCells(f); len(darkest) > 0 {
			dark, light = append(dark, t.meanOf(darkest)), append(light, t.meanOf(lightest))
		}
	}
	return dark, light
}

// endCells returns the darkest few percent of the cells of a circle, darkest
// first, and as many of the lightest, lightest last.
func (t *task) endCells(f Focus) (dark, light []int) {
	var cells []int
	t.within(f, func(i int, _ float64) { cells = append(cells, i) })
	if len(cells) == 0 {
		return nil, nil
	}
	slices.SortStableFunc(cells, func(a, b int) int { return cmp.Compare(t.grid.Cells[a].L, t.grid.Cells[b].L) })
	n := max(1, int(math.Round(endShare*float64(len(cells)))))
	return cells[:n], cells[len(cells)-n:]
}

// settledEnds are the cells of all circles that get the nearest color whatever
// lies around them: the very darkest and lightest, few enough to be a pupil and
// a glint. A laying that looks from two meters or wants calm takes them for
// noise.
func (t *task) settledEnds(focus []Focus) (cells []int) {
	for _, f := range focus {
		dark, light := t.endCells(f)
		cells = append(cells, dark[:min(glint, len(dark))]...)
		cells = append(cells, light[max(0, len(light)-glint):]...)
	}
	return cells
}

// settle fixes those cells among so many colors, where nothing else did; where
// drills are counted, in what they are given at the least cost.
func (t *task) settle(ends []int, chosen []lab.Color, how *place.Options) {
	for _, i := range ends {
		if how.Fixed[i] >= 0 {
			continue
		}
		if how.Supply != nil {
			how.Fixed[i] = int32(how.Supply.Start[i])
			continue
		}
		least := math.Inf(1)
		for j, c := range chosen {
			if off := lab.DeltaE(c, t.grid.Cells[i]); off < least {
				how.Fixed[i], least = int32(j), off
			}
		}
	}
}

// meanOf is the mean color of some cells.
func (t *task) meanOf(cells []int) lab.Color {
	g := lab.Grid{}
	for _, i := range cells {
		g.Cells = append(g.Cells, t.grid.Cells[i])
	}
	return mean(&g)
}

// keepEnds adds the colors of the ends to those that are kept, as far as there
// is room among so many colors, and says how many it added and how many more
// found none.
func (t *task) keepEnds(opt quantize.Options, ends []lab.Color) (keep []int, ruled rule) {
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
	keep = opt.Keep
	var out []int // those that found no room
	for _, want := range ends {
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
			if slices.Contains(keep, j) || slices.Contains(out, j) {
				had = min(had, off)
			}
		}
		if best < 0 || had <= least+endsLike {
			continue
		}
		if !settled[best] && room <= 0 {
			out = append(out, best)
			continue
		}
		keep = append(keep[:len(keep):len(keep)], best)
		ruled.kept++
		if !settled[best] {
			settled[best] = true
			room--
		}
	}
	ruled.out = len(out)
	ruled.from = max(endsMost*(ruled.kept+ruled.out), len(settled)+ruled.out)
	return keep, ruled
}

// rule is what came of keeping the colors of the ends.
type rule struct {
	kept, out int // colors kept, and those that found no room
	from      int // so many colors have room for all
}

// words says what found no room, or "".
func (r rule) words(colors int) string {
	if r.out == 0 {
		return ""
	}
	have := "have"
	if r.out == 1 {
		have = "has"
	}
	return fmt.Sprintf("Of %s for the darkest and the lightest of what is circled, %d %s no room among %d: from %d colors on all have.",
		plural(r.kept+r.out, "color", "colors"), r.out, have, colors, r.from)
}

// objective says it in the words of the objective.
func (r rule) objective() string {
	switch {
	case r.kept == 0:
		return ""
	case r.out > 0:
		return ", the darkest and lightest of what is circled kept as far as there was room"
	}
	return ", the darkest and lightest of what is circled kept"
}
