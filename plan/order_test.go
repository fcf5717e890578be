package plan

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// In every order the hand lies on what is covered or long set: a section is
// begun only after those that the palm would not lie on anyway.
func TestOrderKeepsTheHandOffTheGlue(t *testing.T) {
	names := func(way Way, hand Hand) (out []string) {
		o := usual(2500)
		o.Work, o.Hand = way, hand
		p := Of(picture(t, 1, 120, 80, 4), o)
		for _, i := range p.Order {
			out = append(out, p.Sections[i].Name)
		}
		return out
	}
	assert.Equal(t, []string{"A2", "B2", "C2", "A1", "B1", "C1"}, names(Near, RightHand))
	assert.Equal(t, []string{"C2", "B2", "A2", "C1", "B1", "A1"}, names(Near, LeftHand))
	assert.Equal(t, []string{"A1", "B1", "C1", "A2", "B2", "C2"}, names(Far, RightHand))
	assert.Equal(t, []string{"C1", "B1", "A1", "C2", "B2", "A2"}, names(Far, LeftHand))
	assert.Equal(t, []string{"A2", "C2", "B1", "B2", "A1", "C1"}, names(Checkerboard, RightHand))
	assert.Equal(t, []string{"C2", "A2", "B1", "B2", "C1", "A1"}, names(Checkerboard, LeftHand))

	// No two sections of the first half of a checkerboard share an edge.
	o := usual(2500)
	o.Work = Checkerboard
	p := Of(picture(t, 1, 200, 280, 4), o)
	half := (len(p.Sections) + 1) / 2
	for n, i := range p.Order[:half] {
		for _, j := range p.Order[:n] {
			a, b := p.Sections[i], p.Sections[j]
			assert.NotEqual(t, 1, max(a.Col-b.Col, b.Col-a.Col)+max(a.Row-b.Row, b.Row-a.Row))
		}
	}
}

// The links between sections are as many as can be, against a search through
// all ways; and the order of colors keeps to them.
func TestFewestContainersAreTakenUp(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	cases, single := 0, 0
	for seed := range uint64(150) {
		cells := make([]uint16, 30*5)
		for i := range cells {
			cells[i] = uint16(r.IntN(1 + int(seed)%5))
			if i/30 > 0 && r.IntN(3) > 0 {
				cells[i] = cells[i%30/5*5]
			}
		}
		o := usual(2500)
		require.NoError(t, o.Section.Set("5x5"))
		p := Of(chartOf(t, 30, 5, 6, cells), o)
		have := make([]map[int]bool, len(p.Order))
		total := 0
		for n, i := range p.Order {
			have[n] = map[int]bool{}
			for _, task := range p.Sections[i].Work {
				have[n][task.Color] = true
			}
			total += len(have[n])
			if len(have[n]) == 1 {
				single++
			}
		}
		var most func(n, before int) int
		most = func(n, before int) int {
			if n == len(have)-1 {
				return 0
			}
			best := most(n+1, -1)
			for c := range have[n] {
				if have[n+1][c] && (c != before || len(have[n]) == 1) {
					best = max(best, 1+most(n+1, c))
				}
			}
			return best
		}
		assert.Equal(t, total-most(0, -1), p.Fetches, "seed %d", seed)
		ready := 0
		for n, i := range p.Order {
			for m, task := range p.Sections[i].Work {
				if task.Ready {
					ready++
					require.Zero(t, m)
					before := p.Sections[p.Order[n-1]].Work
					require.Equal(t, before[len(before)-1].Color, task.Color)
				}
			}
		}
		require.Equal(t, total, p.Fetches+ready)
		cases++
	}
	assert.Equal(t, 150, cases)
	assert.Positive(t, single)
}
