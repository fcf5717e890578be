package plan

import (
	"errors"
	"fmt"
	"testing"

	"github.com/spf13/pflag"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/chart"
	"kitwright/internal/say"
	"kitwright/internal/setting"
	"kitwright/palettes"
)

// counts is a chart of colors with these counts; nothing here looks at cells.
func counts(n ...int) *chart.Chart {
	c := &chart.Chart{}
	for i, v := range n {
		c.Legend = append(c.Legend, chart.Entry{Number: i + 1, Count: v, Drill: palettes.Drill{Code: fmt.Sprintf("SR-%03d", i+1)}})
	}
	return c
}

// with returns the usual settings changed by flags.
func with(t *testing.T, flags ...string) Supply {
	s := DefaultSupply()
	require.NoError(t, flagsOf(&s).Parse(flags))
	return s
}

func flagsOf(s *Supply) *pflag.FlagSet {
	fs := pflag.NewFlagSet("supply", pflag.ContinueOnError)
	s.Bind(setting.Bind(fs))
	return fs
}

// Ten percent, at least 20, at most 300, rounded up: counted by hand.
func TestWithExtra(t *testing.T) {
	for n, extra := range map[int]int{0: 20, 1: 20, 200: 20, 201: 21, 210: 21, 211: 22, 999: 100, 2338: 234, 3000: 300, 3001: 300, 200000: 300} {
		all, got := DefaultSupply().WithExtra(n)
		assert.Equal(t, extra, got, "%d", n)
		assert.Equal(t, n+extra, all)
	}
	all, _ := with(t, "--extra=0", "--extra-least=0").WithExtra(7)
	assert.Equal(t, 7, all)
}

// A list worked out by hand: 1,000 drills in a bag for 1.80 are cheaper than
// four of 200 at 0.50, and dearer than three.
func TestListByHand(t *testing.T) {
	l := List(counts(500, 600, 2338, 7000), with(t, "--bags", "200:0.50,1000:1.80,5000:7"), nil)
	assert.Equal(t, []Line{
		{Drills: 500, Extra: 50, Buy: 550, Bags: []int{3, 0, 0}, InBags: 600, Price: 1500, Left: 100},
		{Drills: 600, Extra: 60, Buy: 660, Bags: []int{0, 1, 0}, InBags: 1000, Price: 1800, Left: 400},
		{Drills: 2338, Extra: 234, Buy: 2572, Bags: []int{3, 2, 0}, InBags: 2600, Price: 5100, Left: 262},
		{Drills: 7000, Extra: 300, Buy: 7300, Bags: []int{2, 2, 1}, InBags: 7400, Price: 11600, Left: 400},
	}, l.Lines)
	assert.Equal(t, Line{Drills: 10438, Extra: 644, Buy: 11082, Bags: []int{8, 5, 1}, InBags: 11600, Price: 20000, Left: 1162}, l.Total)
	assert.Equal(t, "20.00", l.Supply.Bags.Money(l.Total.Price))
	assert.Equal(t, "1 x 5,000 + 5 x 1,000 + 8 x 200", l.Supply.Bags.Words(l.Total.Bags))

	l = List(counts(3), with(t, "--extra=0", "--extra-least=0", "--bags=3:1,5:1"), nil)
	assert.Equal(t, []int{0, 1}, l.Lines[0].Bags, "for the same price the fuller bag")

	l = List(counts(500), with(t, "--copies=12"), nil)
	assert.Equal(t, Line{Drills: 500, Extra: 50, Buy: 6600, Left: 600}, l.Lines[0], "each copy has its own extra")
	assert.Equal(t, 550, l.Lines[0].Ready())
}

// 6,300 drills with 300 extra leave 4.7 percent; bags that come 5 percent short
// take what the extra was for.
func TestTightWhereUnderFivePercentIsLeft(t *testing.T) {
	tight := func(n int, flags ...string) bool { return List(counts(n), with(t, flags...), nil).Total.Tight }
	assert.False(t, tight(6000))
	assert.True(t, tight(6001))
	assert.False(t, tight(6300, "--extra-most=400"))
	assert.True(t, tight(1000, "--extra=4"))
	assert.False(t, tight(1000, "--extra=4", "--bags=1050"), "the bag holds more than was asked for")
	assert.True(t, tight(1000, "--extra=4", "--bags=1049"))

	l := List(counts(930), with(t, "--bags=1000", "--extra=2"), nil)
	assert.Equal(t, Line{Drills: 930, Extra: 20, Buy: 950, Bags: []int{1}, InBags: 1000, Left: 70}, l.Lines[0])
	l = List(counts(930), with(t, "--bags=1000", "--extra=2", "--bag-fill=95%"), nil)
	assert.Equal(t, Line{Drills: 930, Extra: 20, Buy: 950, Bags: []int{1}, InBags: 950, Left: 20, Tight: true}, l.Lines[0])
	l = List(counts(930), with(t, "--bags=1000", "--extra=2", "--bag-fill=94%"), nil)
	assert.Equal(t, []int{2}, l.Lines[0].Bags)
}

func TestSupplyCheck(t *testing.T) {
	for what, flags := range map[string][]string{
		"extra-least": {"--extra-least=400"},
		"bag-fill":    {"--bags=10", "--bag-fill=9%"},
		"copies":      {"--copies=10000"},
	} {
		err := with(t, flags...).Check(counts(1000, 2000))
		var e *say.Error
		require.True(t, errors.As(err, &e), what)
		assert.True(t, e.Usage)
		assert.NotEmpty(t, e.Try)
		assert.Contains(t, err.Error(), what)
	}
	assert.NoError(t, with(t, "--copies=1000").Check(counts(1000, 2000)))
	assert.NoError(t, with(t, "--copies=10000").Check(nil))
}

// What a flag takes reads back as itself, and what it refuses changes nothing.
func TestSupplyFlags(t *testing.T) {
	good := map[string]map[string]string{
		"bags": {
			"": "", " ": "", "200": "200", "1000,200": "200,1000", "200:0.50,1000:1.80,5000:7": "200:0.50,1000:1.80,5000:7", "200 : .5": "200:0.50",
			"200:0,50;1000:1,80": "200:0.50,1000:1.80", "200:0,50,1000:1,80,5000:7": "200:0.50,1000:1.80,5000:7", "200:1,5": "200:1.50", "5000:7;200:1": "200:1,5000:7",
			"200:0": "200:0", "200:0.125": "200:0.125", "1000000:1000000": "1000000:1000000",
		},
		"bag-fill": {"95%": "95%", "95": "95%"},
		"copies":   {"1": "1", "10000": "10000"},
		"weighed": {
			"": "", "500=4.2g": "500=4.2g", "500 = 4,2 g": "500=4.2g", "500=4.20g": "500=4.20g", "500=4200mg": "500=4.200g", "500=4g,1g": "500=4g", "500=4.2g,0.2g": "500=4.2g,0.2g",
			"500=4,2g,0,2g": "500=4.2g,0.2g", "100000=0.84kg": "100000=840g,10g", "500=4.2G": "500=4.2g", "500=4.215g,0.005g": "500=4.215g,0.005g",
		},
	}
	bad := map[string][]string{
		"bags":     {"x", "200:", "200:x", ":1", "0:1", "-200:1", "200:-1", "200:1:2", "200,1000:2", "200:1,1000", "200:1,500", "200:1;1000", "200:1,200:2", "200,200", "1000001", "200:1.2345", "200:1e3", "200:NaN", "200:1000001", ",", "200,", "200.5"},
		"bag-fill": {"", "101%", "-1%", "9.5%"},
		"copies":   {"", "0", "10001", "1.5", "-1", "NaN"},
		"weighed":  {"500", "500=", "500=4.2", "9=0.1g", "500=4.2lb", "x=4.2g", "500=4.2g,", "500=4.2g,0g", "500=1e3g", "500=NaNg", "500=-4g", "500=4.2kg", "500=0.01g", "500=4.g", "500=4g,9g", "500=1.2345678g", "1000001=9g", "500=4.2g,0.1g,2g"},
	}
	for name, texts := range good {
		for text, want := range texts {
			var s, back Supply
			require.NoError(t, flagsOf(&s).Lookup(name).Value.Set(text), "--%s %q", name, text)
			is := flagsOf(&s).Lookup(name).Value.String()
			assert.Equal(t, want, is, "--%s %q", name, text)
			require.NoError(t, flagsOf(&back).Lookup(name).Value.Set(is))
			assert.Equal(t, s, back, "--%s %q", name, text)
		}
	}
	for name, texts := range bad {
		s := with(t, "--bags=7:1", "--weighed=100=1.00g", "--copies=3")
		was := s
		for _, text := range texts {
			err := flagsOf(&s).Lookup(name).Value.Set(text)
			var e *say.Error
			require.True(t, errors.As(err, &e), "--%s %q gives %v", name, text, err)
			assert.True(t, e.Usage)
			assert.NotEmpty(t, e.Try)
			assert.Equal(t, was, s, "--%s %q", name, text)
		}
	}
}
