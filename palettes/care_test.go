package palettes

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/lab"
)

func made(codes string, ls ...float64) *Card {
	c := &Card{Name: codes}
	for i, l := range ls {
		c.Drills = append(c.Drills, NewDrill(string(codes[i]), "gray", lab.Color{L: l}))
	}
	return c
}

func TestAlike(t *testing.T) {
	c := made("ABCD", 50, 50.5, 90, 52)
	assert.Equal(t, [][2]int{{0, 1}, {1, 3}, {0, 3}}, ends(c.Alike(2.5)))
	assert.Equal(t, [][2]int{{0, 1}}, ends(c.Alike(1)))
	// the quick refusal by lightness never leaves out a pair
	for _, name := range Names() {
		c := named(t, name)
		n := 0
		for i := range c.Drills {
			for j := i + 1; j < len(c.Drills); j++ {
				if lab.DeltaE(c.Drills[i].Lab, c.Drills[j].Lab) < 2.5 {
					n++
				}
			}
		}
		assert.Len(t, c.Alike(2.5), n, name)
	}
}

func ends(pairs []Pair) (out [][2]int) {
	for _, p := range pairs {
		out = append(out, [2]int{p.A, p.B})
	}
	return out
}

func TestHoles(t *testing.T) {
	c := made("AB", 0, 100) // only black and white
	holes := c.Holes(5)
	require.Len(t, holes, 5)
	for i, h := range holes {
		_, far := c.Nearest(lab.FromSRGB(h.RGB))
		assert.InDelta(t, far, h.Far, 0.6, h.Name) // to a whole hex value
		assert.True(t, i == 0 || h.Far <= holes[i-1].Far)
	}
	assert.Empty(t, (&Card{}).Holes(3))
	assert.Less(t, named(t, "munsell").Holes(1)[0].Far, 7.0)
}

func TestMatch(t *testing.T) {
	a, b := made("AB", 50, 51), made("XY", 50.4, 80)
	assert.Equal(t, []int{0, 0}, to(Match(a, b, false)))
	assert.Equal(t, []int{0, 1}, to(Match(a, b, true)))
	assert.Equal(t, []int{0, -1}, to(Match(a, made("X", 50), true)))
	assert.Equal(t, []int{-1, -1}, to(Match(a, &Card{}, false)))
	// a card is its own match
	c := named(t, "nbs")
	for _, one := range []bool{false, true} {
		for i, m := range Match(c, c, one) {
			assert.Equal(t, Matched{i, i, 0}, m)
		}
	}
}

func to(m []Matched) (out []int) {
	for _, x := range m {
		out = append(out, x.To)
	}
	return out
}

func TestMergeAndSubset(t *testing.T) {
	a, b := made("ABC", 10, 20, 30), made("CDE", 60, 40, 50)
	a.Source, b.Source = "one", "two"
	b.Drills = append(b.Drills, Drill{Code: "A", Finish: "AB", Lab: lab.Color{L: 11}})
	m, differ, err := Merge("both", a, b)
	require.NoError(t, err)
	var got []string
	for _, d := range m.Drills {
		got = append(got, d.Address())
	}
	assert.Equal(t, []string{"A", "B", "C", "D", "E", "A/AB"}, got)
	assert.Equal(t, "one; two", m.Source)
	require.Len(t, differ, 1)
	assert.Contains(t, differ[0], "C is #474747 on an earlier card and #919191 on CDE")

	s, unknown := m.Subset([]string{"e", "a/ab", "Q", "B"})
	got = nil
	for _, d := range s.Drills {
		got = append(got, d.Address())
	}
	assert.Equal(t, []string{"B", "E", "A/AB"}, got)
	assert.Equal(t, []string{"Q"}, unknown)
}
