package plan

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestSum(t *testing.T) {
	for _, c := range []struct {
		want   string
		counts []int
		flags  []string
	}{
		{"11,082 drills to buy, 644 of them extra", []int{500, 600, 2338, 7000}, nil},
		{"11,082 drills to buy, 644 of them extra, in 1 bag of 5,000, 5 of 1,000 and 8 of 200 for 20.00", []int{500, 600, 2338, 7000}, []string{"--bags=200:0.50,1000:1.80,5000:7"}},
		{"550 drills to buy, 50 of them extra, in 3 bags of 200", []int{500}, []string{"--bags=200"}},
		{"6,600 drills to buy, for 12 copies, 600 of them extra", []int{500}, []string{"--copies=12"}},
	} {
		assert.Equal(t, c.want, List(counts(c.counts...), with(t, c.flags...), nil).Sum())
	}
}

func TestWarnings(t *testing.T) {
	warned := func(n []int, flags ...string) (out []string) {
		c := counts(n...)
		for _, w := range List(c, with(t, flags...), nil).Warnings(c) {
			out = append(out, w.Words(func(name string) string { return "--" + name }))
		}
		return out
	}
	assert.Empty(t, warned([]int{500, 6000}, "--weighed=500=4.2g", "--bags=1000", "--bag-fill=95%"))
	assert.Equal(t, []string{"Of 2 colors (no. 2, 3) less than 5 percent would be left over, and bags may come short: raise --extra or --extra-most, or weigh what you get."}, warned([]int{500, 6001, 9000}))
	assert.Equal(t, []string{"--bag-fill counts only together with --bags."}, warned([]int{500}, "--bag-fill=95%"))
	assert.Equal(t, []string{"A scale with steps of 1g tells the weight of 500 drills to a twentieth at best: weigh more at once."}, warned([]int{500}, "--weighed=500=4g"))
	many := make([]int, 14)
	for i := range many {
		many[i] = 9000
	}
	assert.Contains(t, warned(many)[0], "(no. 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12 and 2 more)")
}

// What is owned need not be bought, and the list says so.
func TestOwnedDrillsAreNotBought(t *testing.T) {
	c := counts(500, 100, 40) // 550, 120 and 60 with extra
	owned := map[string]int{}
	for i, n := range []int{300, 5000, 0} {
		owned[c.Legend[i].Drill.Address()] = n
	}
	l := List(c, with(t, "--bags", "200:0.50"), owned)
	var own, buy, bags, left []int
	for _, x := range l.Lines {
		own, buy, bags, left = append(own, x.Own), append(buy, x.Buy), append(bags, x.Bags[0]), append(left, x.Left)
	}
	assert.Equal(t, []int{300, 120, 0}, own)
	assert.Equal(t, []int{250, 0, 60}, buy)
	assert.Equal(t, []int{2, 0, 1}, bags)
	assert.Equal(t, []int{200, 20, 160}, left)
	assert.Equal(t, "310 drills to buy, beside 420 that are owned, in 3 bags of 200 for 1.50", l.Sum())
	for i := range c.Legend {
		owned[c.Legend[i].Drill.Address()] = 5000
	}
	assert.Equal(t, "nothing to buy: all 730 drills, extra among them, are owned", List(c, with(t, "--bags", "200:0.50"), owned).Sum())
}
