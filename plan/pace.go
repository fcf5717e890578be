package plan

import (
	"math"
	"strconv"
	"strings"

	"kitwright/internal/measure"
	"kitwright/internal/say"
)

// Pace is how many drills a person sets in an hour, slowly and quickly.
type Pace struct{ Slow, Fast int }

// UsualPace is common practice, no source.
var UsualPace = Pace{Slow: 400, Fast: 1000}

// Minutes to bag, label and lay out one color before the first drill: common
// practice, no source.
const KitUpLeast, KitUpMost = 2, 5

func (p *Pace) String() string {
	if p.Slow == p.Fast {
		return strconv.Itoa(p.Slow)
	}
	return strconv.Itoa(p.Slow) + "," + strconv.Itoa(p.Fast)
}

// Set reads "400,1000", or "350" for both.
func (p *Pace) Set(s string) error {
	slow, fast, two := strings.Cut(s, ",")
	if !two {
		fast = slow
	}
	a, ok1 := whole(slow)
	b, ok2 := whole(fast)
	if !ok1 || !ok2 || a < 1 || b < a || b > 100_000 {
		return say.Usage("write drills an hour, slowly and quickly, as in 400,1000", "%q is not a pace", s)
	}
	*p = Pace{a, b}
	return nil
}

// Type names the value in help.
func (p *Pace) Type() string { return "SLOW,FAST" }

// Words says the pace: "400 to 1,000", "350".
func (p Pace) Words() string {
	if p.Slow == p.Fast {
		return say.Number(p.Slow)
	}
	return say.Number(p.Slow) + " to " + say.Number(p.Fast)
}

// Hours says how long so many drills take, in begun hours.
func (p Pace) Hours(drills int) string {
	return hours(float64(60*drills)/float64(p.Fast), float64(60*drills)/float64(p.Slow))
}

// hours says a range of minutes in begun hours: "3 to 8".
func hours(least, most float64) string {
	a, b := int(math.Ceil(least/60)), int(math.Ceil(most/60))
	if a == b {
		return say.Number(a)
	}
	return say.Number(a) + " to " + say.Number(b)
}

// Range is how long something takes, in minutes.
type Range struct{ Least, Most float64 }

// Hours says the range in begun hours: "3 to 8".
func (r Range) Hours() string { return hours(r.Least, r.Most) }

// Words says the range in begun hours with their noun: "1 hour", "3 to 8 hours".
func (r Range) Words() string {
	if h := r.Hours(); h != "1" {
		return h + " hours"
	}
	return "1 hour"
}

// Short says the range to the tenth of an hour below ten hours: "1.6–4 h".
func (r Range) Short() string {
	tenths := func(m float64) string {
		if m >= 600 {
			return say.Number(int(math.Ceil(m / 60)))
		}
		return strconv.FormatFloat(math.Ceil(m/6)/10, 'f', -1, 64)
	}
	a, b := tenths(r.Least), tenths(r.Most)
	if a == b {
		return a + " h"
	}
	return a + "–" + b + " h"
}

// Setting returns how long it takes to set so many drills.
func (p Pace) Setting(drills int) Range {
	return Range{float64(60*drills) / float64(p.Fast), float64(60*drills) / float64(p.Slow)}
}

// Setting returns how long it takes to set all drills.
func (p *Plan) Setting() Range { return p.Options.Pace.Setting(p.Drills()) }

// KitUp returns how long it takes to bag, label and lay out all colors.
func (p *Plan) KitUp() Range {
	n := float64(len(p.Chart.Legend))
	return Range{KitUpLeast * n, KitUpMost * n}
}

// Time is a span of time in minutes.
type Time int

func (t *Time) String() string {
	h, m := int(*t)/60, int(*t)%60
	switch {
	case h == 0 && m == 0:
		return "0"
	case h == 0:
		return strconv.Itoa(m) + "m"
	case m == 0:
		return strconv.Itoa(h) + "h"
	}
	return strconv.Itoa(h) + "h" + strconv.Itoa(m) + "m"
}

// Words says the time as people do: "3 hours", "1 hour 30 minutes".
func (t Time) Words() string {
	var parts []string
	if t >= 60 {
		parts = append(parts, say.Count(int(t)/60, "hour"))
	}
	if t%60 > 0 || t == 0 {
		parts = append(parts, say.Count(int(t)%60, "minute"))
	}
	return strings.Join(parts, " ")
}

// mostTime is the longest time that is taken: a month without a break.
const mostTime = 31 * 24 * 60

// Set reads "3h", "90m", "1h30m", "2.5h" or "1:30"; "0" and the empty text are
// none.
func (t *Time) Set(s string) error {
	bad := say.Usage("write hours and minutes, as in 3h, 45m or 1h30m", "%q is not a time", s)
	text := strings.ToLower(strings.ReplaceAll(strings.TrimSpace(s), " ", ""))
	for _, unit := range [][2]string{{"hours", "h"}, {"hour", "h"}, {"minutes", "m"}, {"minute", "m"}, {"min", "m"}} {
		text = strings.ReplaceAll(text, unit[0], unit[1])
	}
	if text == "0" || text == "" {
		*t = 0
		return nil
	}
	var minutes int
	hoursText, minutesText, both := strings.Cut(text, "h")
	colon := false
	if !both {
		if hoursText, minutesText, colon = strings.Cut(text, ":"); !colon {
			hoursText, minutesText = "", text
			if !strings.HasSuffix(text, "m") {
				return bad
			}
		} else if len(minutesText) != 2 || hoursText == "" {
			return bad
		}
	}
	if hoursText != "" {
		n, part, dot := strings.Cut(strings.ReplaceAll(hoursText, ",", "."), ".")
		h, ok := whole(n)
		if !ok || dot && (minutesText != "" || len(part) > 3) {
			return bad
		}
		minutes = 60 * h
		if dot {
			p, ok := whole(part)
			if !ok {
				return bad
			}
			minutes += nearest(60*p, pow10(len(part)))
		}
	}
	if minutesText = strings.TrimSuffix(minutesText, "m"); minutesText != "" {
		m, ok := whole(minutesText)
		if !ok || hoursText != "" && m > 59 {
			return bad
		}
		minutes += m
	} else if hoursText == "" {
		return bad
	}
	if minutes > mostTime {
		return say.Usage("nobody sits so long: write a time as in 3h", "%q is more than a month", s)
	}
	*t = Time(minutes)
	return nil
}

func pow10(n int) int {
	v := 1
	for range n {
		v *= 10
	}
	return v
}

// Type names the value in help.
func (t *Time) Type() string { return "TIME" }

// Sittings returns how many sittings the drills take, quickly and slowly; 0
// where no sitting is said.
func (p *Plan) Sittings() (least, most int) {
	t := p.Options.Sitting
	if t <= 0 {
		return 0, 0
	}
	whole := func(minutes float64) int { return max(1, int(math.Ceil(minutes/float64(t)))) }
	r := p.Setting()
	return whole(r.Least), whole(r.Most)
}

// Fits proposes the size of a picture of nearly this shape whose drills can be
// set in one sitting, even slowly, its sides in half centimeters; false where
// no picture worth the name fits. Kitting up is done before.
func (o Options) Fits(cols, rows int) (size measure.Size, drills int, ok bool) {
	const half = measure.Centimeter / 2
	const smallest, largest = 6, 1000 // of a side, in half centimeters
	most := int(o.Sitting) * o.Pace.Slow / 60
	// How far a size is off the shape, as a fraction above 1.
	off := func(w, h int) (a, b int) {
		a, b = w*rows, h*cols
		return max(a, b), min(a, b)
	}
	bestW, bestH := 0, 0
	for w := smallest; w <= largest; w++ {
		for h := smallest; h <= largest; h++ {
			n := int(measure.Length(w)*half/o.Pitch) * int(measure.Length(h)*half/o.Pitch)
			if n > most {
				break
			}
			a, b := off(w, h)
			if 100*a > 112*b { // farther off it would crop another picture
				continue
			}
			if ok && n == drills {
				if x, y := off(bestW, bestH); a*y >= x*b {
					continue
				}
			} else if n < drills {
				continue
			}
			bestW, bestH, drills, ok = w, h, n, true
		}
	}
	return measure.Size{W: measure.Length(bestW) * half, H: measure.Length(bestH) * half}, drills, ok
}

// FitWords proposes the size of a picture that can be set in one sitting, in
// words; empty where no sitting is said.
func (o Options) FitWords(cols, rows int) say.Text {
	if o.Sitting == 0 {
		return say.Text{}
	}
	size, drills, ok := o.Fits(cols, rows)
	if !ok {
		return say.Textf("In %s at %s drills an hour no picture of 3 cm or more can be set.", o.Sitting.Words(), say.Number(o.Pace.Slow))
	}
	return say.Textf("In %s at %s drills an hour a picture of this shape can be {size} %s: %s, poured and labeled before.",
		o.Sitting.Words(), say.Number(o.Pace.Slow), size.String(), say.Count(drills, "drill"))
}
