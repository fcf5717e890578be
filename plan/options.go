package plan

import (
	"strconv"
	"strings"

	"kitwright/chart"
	"kitwright/internal/measure"
	"kitwright/internal/say"
	"kitwright/internal/setting"
)

// Options are how a crafter works. The zero value of Pitch is for settings that
// are not about a chart yet.
type Options struct {
	Pitch   measure.Length // from drill to drill
	Section SectionSize
	Work    Way
	Hand    Hand
	Tips    Tips
	Pace    Pace
	Sitting Time // how long one sitting lasts; 0 = not said
}

// Way is the order of the sections.
type Way string

// The ways. That each keeps the hand off the glue, and what each is good for,
// is common practice, no source.
const (
	Near         Way = "near"         // from the near edge up, the hand on set drills
	Far          Way = "far"          // from the far edge down, the hand on the film's liner, folded back
	Checkerboard Way = "checkerboard" // every other section first, so that no row of drills pushes the next
)

// Hand is the hand that sets the drills.
type Hand string

// The hands.
const (
	RightHand Hand = "right"
	LeftHand  Hand = "left"
)

// DefaultOptions returns the usual way to work.
func DefaultOptions() Options {
	return Options{
		Section: SectionSize{Size: measure.Size{W: 10 * measure.Centimeter, H: 10 * measure.Centimeter}},
		Work:    Near, Hand: RightHand, Tips: tipsOf(3, 4, 6, 9), Pace: UsualPace,
	}
}

// Bind makes every option but the pitch a setting.
func (o *Options) Bind(b *setting.Binder) {
	b.Group("The plan")
	b.Add(&o.Section, "section", "what is worked on at one go: a size as in 10x10cm, cut on the bold lines, or drills as in 40x40")
	b.Add(setting.Of(&o.Work, Near, Far, Checkerboard), "work", "near: from the near edge up; far: from the far edge down, the film's liner folded back; checkerboard: every other section first, against warp")
	b.Add(setting.Of(&o.Hand, RightHand, LeftHand), "hand", "the hand that sets the drills: rows begin at the other side")
	b.Add(&o.Tips, "tips", "how many drills your multi-placers set at once, as in 3,4,6,9; none for one at a time")
	b.Add(&o.Pace, "pace", "drills set in an hour, slowly and quickly, or one number; 400 to 1,000 is common practice, no source")
	b.Add(&o.Sitting, "sitting", "how long one sitting or a workshop lasts, as in 3h, to tell what fits; 0 for no such limit")
}

// mostSections is how many sections a plan may have: more have no use, and no
// end on paper.
const mostSections = 2000

// Check says what is wrong with the options for a chart, in words; c may be nil
// where there is none yet.
func (o Options) Check(c *chart.Chart) error {
	if c == nil || o.Pitch == 0 {
		return nil
	}
	if n := len(o.cuts(c.Cols, true)) * len(o.cuts(c.Rows, false)); n > mostSections {
		return say.Usage("10x10cm is usual", "{section} %s makes %s sections, and a plan has %s at most", o.Section.String(), say.Number(n), say.Number(mostSections))
	}
	return nil
}

// SectionSize is the size of a section: a length each way, or drills.
type SectionSize struct {
	Size       measure.Size // the zero value where drills are given
	Cols, Rows int
}

// Sides of a section in drills.
const leastSide, mostSide = 5, 2000

func (s *SectionSize) String() string {
	if s.Cols > 0 {
		return strconv.Itoa(s.Cols) + "x" + strconv.Itoa(s.Rows)
	}
	return s.Size.String()
}

// Set reads "10x10cm" or "40x40".
func (s *SectionSize) Set(text string) error {
	const try = "write a size as in 10x10cm, or drills as in 40x40"
	across, down, two := strings.Cut(strings.ToLower(strings.ReplaceAll(strings.TrimSpace(text), "×", "x")), "x")
	cols, okC := whole(across)
	rows, okR := whole(down)
	if two && okC && okR {
		if cols < leastSide || rows < leastSide || cols > mostSide || rows > mostSide {
			return say.Usage(try, "a section has %d to %s drills a side, not %s", leastSide, say.Number(mostSide), text)
		}
		*s = SectionSize{Cols: cols, Rows: rows}
		return nil
	}
	z, err := measure.ParseSize(text)
	if err != nil || !z.Given() {
		return say.Usage(try, "%q is not a size of a section", text)
	}
	if min(z.W, z.H) < measure.Centimeter || max(z.W, z.H) > 5000*measure.Millimeter {
		return say.Usage(try, "a section is 1cm to 500cm a side, not %s", text)
	}
	*s = SectionSize{Size: z}
	return nil
}

// Type names the value in help.
func (s *SectionSize) Type() string { return "SIZE|COLSxROWS" }

// whole reads digits and nothing else, up to four million.
func whole(s string) (int, bool) {
	s = strings.TrimSpace(s)
	if s == "" || len(s) > 7 || strings.Trim(s, "0123456789") != "" {
		return 0, false
	}
	n, err := strconv.Atoi(s)
	return n, err == nil && n <= 4_000_000
}

// Tips are the multi-placers at hand, by how many drills each sets: bit n
// stands for n. One drill at a time is always possible and no bit.
type Tips uint32

// Tips set 2 to 30 drills.
const leastTip, mostTip = 2, 30

func tipsOf(sizes ...int) (t Tips) {
	for _, n := range sizes {
		t |= 1 << n
	}
	return t
}

// Sizes returns what can be set at once, from 1 upward.
func (t Tips) Sizes() []int {
	out := []int{1}
	for n := leastTip; n <= mostTip; n++ {
		if t&(1<<n) != 0 {
			out = append(out, n)
		}
	}
	return out
}

func (t *Tips) String() string {
	var parts []string
	for _, n := range t.Sizes()[1:] {
		parts = append(parts, strconv.Itoa(n))
	}
	if parts == nil {
		return "none"
	}
	return strings.Join(parts, ",")
}

// Words names the multi-placers: "3, 4, 6 and 9".
func (t Tips) Words() string {
	parts := strings.Split(t.String(), ",")
	if n := len(parts); n > 1 {
		return strings.Join(parts[:n-1], ", ") + " and " + parts[n-1]
	}
	return parts[0]
}

// Set reads "3,4,6,9"; "none" and the empty text are no multi-placer.
func (t *Tips) Set(s string) error {
	text := strings.ToLower(strings.TrimSpace(s))
	if text == "none" || text == "" || text == "1" {
		*t = 0
		return nil
	}
	var v Tips
	for _, part := range strings.Split(text, ",") {
		n, ok := whole(part)
		if !ok || n < 1 || n > mostTip {
			return say.Usage("write how many drills each sets, as in 3,4,6,9, or none", "%q is not a list of multi-placers of 2 to %d drills", s, mostTip)
		}
		if n > 1 {
			v |= 1 << n
		}
	}
	*t = v
	return nil
}

// Type names the value in help.
func (t *Tips) Type() string { return "N,N,...|none" }
