package plan

import (
	"math"
	"time"
)

// Work on some drills takes so many seconds for each drill, for each press of
// the pen and for each container that is taken up. Where to begin from: with
// these, one drill at a time comes to about 550 drills an hour and multi-placers
// to about 850, inside the usual 400 to 1,000. Our assumption, no source.
var usualSeconds = [3]float64{2, 4, 60}

// amounts are how many drills, presses and containers some work has.
type amounts [3]float64

func (a amounts) minutes(seconds [3]float64) float64 {
	return (float64(a[0]*seconds[0]) + float64(a[1]*seconds[1]) + float64(a[2]*seconds[2])) / 60
}

// timed is a section that is done and whose time is known.
type timed struct {
	amounts
	minutes float64
}

// timed returns the sections that were ticked with their time, whole.
func (g *Progress) timed() (out []timed) {
	type sum struct {
		timed
		spoiled bool
	}
	sums := map[[4]int]*sum{}
	var keys [][4]int // in the order of the first tick
	for _, t := range g.Log.InForce() {
		k := [4]int{t.Box.X, t.Box.Y, t.Box.W, t.Box.H}
		s := sums[k]
		if s == nil {
			s = &sum{}
			sums[k], keys = s, append(keys, k)
		}
		if t.Act != Done || t.Minutes == 0 {
			s.spoiled = true
			continue
		}
		s.minutes += float64(t.Minutes)
		for _, m := range t.Marks {
			s.amounts[0] += float64(len(m.Cells))
			s.amounts[1] += float64(m.Presses)
			s.amounts[2]++
		}
	}
	for _, k := range keys {
		if s := sums[k]; !s.spoiled && int(s.amounts[0]) >= k[2]*k[3] {
			out = append(out, s.timed)
		}
	}
	return out
}

// Sections that have to be timed before anything is said of one's own pace, and
// before more than one factor of speed is learned from them.
const (
	leastTimed = 3
	someTimed  = 5
	manyTimed  = 10
)

// Estimate is how long the rest takes.
type Estimate struct {
	Timed int   // sections that were done and timed
	Own   bool  // reckoned from them, not from the usual pace
	Left  Range // minutes
	Pace  int   // drills an hour in the sections timed; 0 if there are none
}

// Estimate says how long the rest takes: at the usual pace until three
// sections were timed, then at one's own. Three or four sections tell one
// factor of speed; from five on drills, presses and containers are told apart,
// held to what is usual as far as the sections leave it open. The range is what
// nine of ten simulated crafters stayed within (docs/measured.md).
func (g *Progress) Estimate() Estimate {
	var rest amounts
	for i := range g.Plan.Sections {
		for _, t := range g.Tasks(i) {
			rest[0] += float64(t.Drills)
			rest[1] += float64(t.Presses)
			rest[2]++
		}
	}
	return estimate(g.timed(), rest, g.Plan.Options.Pace)
}

func estimate(rows []timed, rest amounts, usual Pace) Estimate {
	e := Estimate{Timed: len(rows), Left: usual.Setting(int(rest[0]))}
	drills, minutes := 0.0, 0.0
	for _, r := range rows {
		drills, minutes = drills+r.amounts[0], minutes+r.minutes
	}
	if minutes > 0 {
		e.Pace = int(math.Round(60 * drills / minutes))
	}
	if len(rows) < leastTimed {
		return e
	}
	seconds, off := scaled(rows), 0.20
	if len(rows) >= someTimed {
		seconds, off = fitted(rows, seconds), 0.15
	}
	if len(rows) >= manyTimed {
		off = 0.12
	}
	left := rest.minutes(seconds)
	e.Own, e.Left = true, Range{left * (1 - off), left * (1 + off)}
	return e
}

// scaled returns the usual seconds times one factor: that of all minutes to
// those that would be usual.
func scaled(rows []timed) [3]float64 {
	took, usual := 0.0, 0.0
	for _, r := range rows {
		took, usual = took+r.minutes, usual+r.amounts.minutes(usualSeconds)
	}
	out := usualSeconds
	for i := range out {
		out[i] *= took / usual
	}
	return out
}

// fitted returns the seconds that are likeliest after what was timed, where
// each is beforehand thought to lie within a factor of two of what is usual, all
// of them times the same speed, and a section's time within 15 percent of what
// they say (log-normal, Gauss-Newton from where scaled leaves off).
func fitted(rows []timed, from [3]float64) [3]float64 {
	const noise = 0.15
	before, now := from, from
	for range 25 {
		// Normal equations for the logarithms of the three.
		var a [3][4]float64
		for i := range a {
			a[i][i] = 1 / (math.Ln2 * math.Ln2)
			a[i][3] = -math.Log(now[i]/before[i]) * a[i][i]
		}
		for _, r := range rows {
			m := r.amounts.minutes(now)
			off := math.Log(r.minutes/m) / noise
			var slope [3]float64
			for i := range slope {
				slope[i] = r.amounts[i] * now[i] / 60 / m / noise
			}
			for i := range a {
				for j := range 3 {
					a[i][j] += float64(slope[i] * slope[j])
				}
				a[i][3] += float64(slope[i] * off)
			}
		}
		for i, d := range solved(a) {
			now[i] *= math.Exp(math.Max(-1, math.Min(1, d)))
		}
	}
	return now
}

// solved solves three equations whose diagonal is never nothing.
func solved(a [3][4]float64) (x [3]float64) {
	for i := range 3 {
		for j := i + 1; j < 3; j++ {
			f := a[j][i] / a[i][i]
			for k := i; k < 4; k++ {
				a[j][k] -= float64(f * a[i][k])
			}
		}
	}
	for i := 2; i >= 0; i-- {
		x[i] = a[i][3]
		for k := i + 1; k < 3; k++ {
			x[i] -= float64(a[i][k] * x[k])
		}
		x[i] /= a[i][i]
	}
	return x
}

// Finish returns the first and the last day on which the rest may be done, if
// she works so long a week from a day on.
func (e Estimate) Finish(from time.Time, weekly Time) (first, last time.Time) {
	day := func(minutes float64) time.Time {
		return from.AddDate(0, 0, int(math.Ceil(7*minutes/float64(weekly))))
	}
	return day(e.Left.Least), day(e.Left.Most)
}
