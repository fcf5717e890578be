package kit

import (
	"fmt"
	"math"
	"slices"

	"kitwright/lab"
)

// Where the card itself has nothing near.
const (
	offCard   = 5   // farther than this from every color is plain to see: our reading, no source
	muchOfIt  = 0.3 // of the subject, or of the photo: below it nothing is said
	leastTurn = 1   // a mean shift below it has no direction worth a word
)

// LadderNotes says what to know of the figures of rungs, of as many as were
// asked for, a sentence each.
func (p *Prepared) LadderNotes(c Choice, rungs []Rung, asked []int) ([]string, error) {
	c.Colors = slices.Min(asked) // as the ladder takes it
	t, err := p.task(c)
	if err != nil {
		return nil, err
	}
	notes := c.ownNotes(rungs, asked)
	if done := t.Tone.Brightened(); done != "" {
		notes = append(notes, fmt.Sprintf("The photo was %s: all figures are off what came of it.", done))
	}
	if !c.Own {
		far, err := t.farFromCard(c.Avoid)
		if err != nil {
			return nil, err
		}
		if far != "" {
			notes = append(notes, far)
		}
	}
	return notes, nil
}

// farFromCard says where much of the subject, or of the photo, lies far from
// every color that could be chosen, and which way it comes out; or "". No
// number of colors helps there.
func (t *task) farFromCard(avoid []string) (string, error) {
	out, err := indices(t.card, avoid, "avoid")
	if err != nil {
		return "", err
	}
	var all []int
	for j := range t.card.Drills {
		if !slices.Contains(out, j) {
			all = append(all, j)
		}
	}
	colors := t.colors(all)
	nearest := t.problem.Nearest(all)
	off := misses(t.grid, colors, nearest)
	n, far := 0, 0
	var sum int64
	var turn lab.Color
	var dull float64 // chroma that is gained
	for i, m := range off {
		if !t.onSubject(i) {
			continue
		}
		n++
		if m > offCard*1e4 {
			want, got := t.grid.Cells[i], colors[nearest[i]]
			far, sum = far+1, sum+int64(m)
			turn.L, turn.A, turn.B = turn.L+got.L-want.L, turn.A+got.A-want.A, turn.B+got.B-want.B
			dull += math.Hypot(got.A, got.B) - math.Hypot(want.A, want.B)
		}
	}
	if far == 0 || float64(far) < muchOfIt*float64(n) {
		return "", nil
	}
	count := float64(far)
	what := "photo"
	if t.Subject != nil {
		what = "subject"
	}
	way := direction(turn.L/count, turn.A/count, turn.B/count, dull/count)
	if way == "" {
		way = "otherwise" // some of it this way, some that
	}
	return fmt.Sprintf("The card has nothing near %d percent of the %s: it comes out %s there (%.1f off), however many colors it gets.",
		percentOf(int64(far), int64(n)), what, way, float64(sum)/1e4/count), nil
}

// direction says which way a mean shift goes, by its largest part. What mostly
// loses color is duller, whatever its hue: a paler red is not greener.
func direction(l, a, b, chroma float64) string {
	if -chroma >= leastTurn && -chroma >= math.Abs(l) && -chroma >= 0.7*math.Hypot(a, b) {
		return "duller"
	}
	words := [3][2]string{{"lighter", "darker"}, {"redder", "greener"}, {"yellower", "bluer"}}
	parts := [3]float64{l, a, b}
	best := 0
	for i, v := range parts {
		if math.Abs(v) > math.Abs(parts[best]) {
			best = i
		}
	}
	switch v := parts[best]; {
	case v >= leastTurn:
		return words[best][0]
	case v <= -leastTurn:
		return words[best][1]
	}
	return ""
}
