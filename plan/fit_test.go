package plan

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Nothing is said of one's own pace before three sections were timed, whole.
func TestOwnPaceFromThreeSections(t *testing.T) {
	p := Of(picture(t, 6, 160, 120, 6), usual(2500))
	text := ""
	for n, i := range p.Order[:3] {
		g := logOf(t, text).On(p)
		e := g.Estimate()
		assert.False(t, e.Own)
		assert.Equal(t, n, e.Timed)
		assert.Equal(t, UsualPace.Setting(g.Left()), e.Left)
		text = ticked(t, p, text, 120, p.Sections[i].Name)
	}
	e := logOf(t, text).On(p).Estimate()
	assert.True(t, e.Own)
	assert.Equal(t, 800, e.Pace, "1,600 drills in two hours")
	assert.InDelta(t, 9*120, (e.Left.Least+e.Left.Most)/2, 200)

	// A section whose time is not known in full does not count, nor one that
	// was taken back.
	text = ticked(t, p, text, 60, p.Sections[p.Order[3]].Name, 0)
	text = ticked(t, p, text, 0, p.Sections[p.Order[3]].Name)
	assert.Equal(t, 3, logOf(t, text).On(p).Estimate().Timed)
	l := logOf(t, text)
	tick, err := l.On(p).Mark(Open, p.Order[0])
	require.NoError(t, err)
	text += string(l.Lines(tick))
	assert.False(t, logOf(t, text).On(p).Estimate().Own)
}

// crafter is someone with seconds of her own for a drill, a press and a
// container, at random about another middle than the one that is assumed.
func crafter(r *rand.Rand) (s [3]float64) {
	speed := math.Exp(0.4 * r.NormFloat64())
	for i, v := range [3]float64{2.6, 3.2, 80} {
		s[i] = v * speed * math.Exp(math.Ln2*r.NormFloat64())
	}
	return s
}

// cover simulates crafters who time the first sections and returns the share
// of them whose rest stays within the range, and how far the middle is off:
// median and nine of ten.
func cover(p *Plan, sections, crafters int) (within, median, most float64) {
	r := rand.New(rand.NewPCG(11, uint64(sections)))
	var off []float64
	n := 0
	for range crafters {
		s := crafter(r)
		var rows []timed
		var rest amounts
		left := 0.0
		for step, i := range p.Order {
			var a amounts
			for _, task := range p.Sections[i].Work {
				a[0] += float64(task.Drills)
				a[1] += float64(task.Presses)
				a[2]++
			}
			took := a.minutes(s) * math.Exp(0.15*r.NormFloat64())
			if step < sections {
				rows = append(rows, timed{a, math.Max(1, math.Round(took))})
				continue
			}
			left += took
			for j := range rest {
				rest[j] += a[j]
			}
		}
		e := estimate(rows, rest, UsualPace)
		if left >= e.Left.Least && left <= e.Left.Most {
			n++
		}
		off = append(off, math.Abs((e.Left.Least+e.Left.Most)/2/left-1))
	}
	slices.Sort(off)
	return float64(n) / float64(crafters), off[len(off)/2], off[len(off)*9/10]
}

// The range of what is left holds for nine of ten, on pictures whose sections
// differ as those of photos do.
func TestRangesHold(t *testing.T) {
	p := Of(picture(t, 6, 160, 200, 12), usual(2500))
	for _, sections := range []int{3, 5, 10} {
		within, median, most := cover(p, sections, 2000)
		t.Logf("%d sections timed: %.0f %% within, off %.1f %% (median), %.1f %% (nine of ten)", sections, 100*within, 100*median, 100*most)
		assert.GreaterOrEqual(t, within, 0.90, "%d sections", sections)
	}
}

// With many sections the three parts are told apart, and the same minutes give
// the same answer.
func TestFitFindsTheParts(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 2))
	truth := [3]float64{1.2, 6, 150}
	var rows []timed
	for range 400 {
		a := amounts{float64(200 + r.IntN(2000)), float64(100 + r.IntN(900)), float64(3 + r.IntN(30))}
		rows = append(rows, timed{a, a.minutes(truth) * math.Exp(0.05*r.NormFloat64())})
	}
	got := fitted(rows, scaled(rows))
	for i := range truth {
		assert.InEpsilon(t, truth[i], got[i], 0.08)
	}
}
