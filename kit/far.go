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
	for i, m := range off {
		if !t.onSubject(i) {
			continue
		}
		n++
		if m > offCard*1e4 {
			want, got := t.grid.Cells[i], colors[nearest[i]]
			far, sum = far+1, sum+int64(m)
			turn.L, turn.A, turn.B = turn.L+got.L-want.L, turn.A+got.A-want.A, turn.B+got.B-want.B
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
	way := direction(turn.L/count, turn.A/count, turn.B/count)
	if way == "" {
		return "", nil
	}
	return fmt.Sprintf("The card has nothing near %d percent of the %s: it comes out %s there (%.1f off), however many colors it gets.",
		100*far/n, what, way, float64(sum)/1e4/count), nil
}

// direction says which way a mean shift goes, by its largest part.
func direction(l, a, b float64) string {
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
