package kit

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"kitwright/chart"
	"kitwright/internal/par"
	"kitwright/internal/say"
	"kitwright/lab"
	"kitwright/quantize"
)

// Rung is the photo at one color count. Differences are CIEDE2000, rounded to
// 4 decimals.
type Rung struct {
	Colors           int  // that the chart uses
	Asked            int  // may be more, where more serve no drill, or too few
	All              bool // more colors than it has serve no drill
	Chart            *chart.Chart
	Mean, P95, Worst float64
	Subject          float64 // the mean of the subject alone, 0 where none is known
	Bound            float64 // the plain mean that no as many colors of the card get below
	Gap              float64 // of the choice in force: how far above the least possible it may lie
	Proven           bool
	Stopped          bool    // the search was ended by hand: the best found by then
	Far              float64 // off from two meters: mean S-CIELAB with CIEDE2000, of the subject where one is known
	Confetti         float64 // share of lone drills
	Lone             int     // lone drills
	Few              int     // colors with fewer than FewDrills
	Runs             int     // runs of three drills and more: what a multi-placer sets at once
}

// Near is the mean miss over the same drills as Far: the subject's, or those
// of the whole photo.
func (r Rung) Near() float64 {
	if r.Subject > 0 {
		return r.Subject
	}
	return r.Mean
}

// LadderCounts returns the color counts that a ladder shows unless others are
// asked for, and that "auto" chooses among.
func LadderCounts() []int { return []int{8, 12, 18, 24, 30, 40, 60} }

// FewDrills is where a color begins to be more trouble than it shows: a bag, a
// tray and a symbol for fewer drills than this. (Our choice, no source.)
const FewDrills = 30

// FarMeters is where a finished picture is looked at from.
const FarMeters = 2

// Ladder makes the photo at each of the color counts, whatever count the
// choice itself names, and recommends one of them. The recommended rung is
// exactly what the choice gives for that count; the others are searched for
// with little effort, which their gap tells. A rung whose drills are those of
// the one before is left out.
//
// A search ended by hand begins no further rung, and recommends nothing.
func (p *Prepared) Ladder(ctx context.Context, c Choice, counts []int) ([]Rung, Pick, error) {
	c.Colors = slices.Min(counts) // --keep has to fit into the fewest
	t, err := p.task(c)
	if err != nil {
		return nil, Pick{}, err
	}
	return t.ladder(ctx, c, counts, true)
}

// largeCanvas is the number of drills from which rungs are made one after
// another: each then keeps all cores busy, and takes a hundred megabytes.
const largeCanvas = 200_000

func (t *task) ladder(ctx context.Context, c Choice, counts []int, prove bool) ([]Rung, Pick, error) {
	search, done := say.Search(ctx)
	defer done()
	quick := c
	if quick.Effort == EffortNormal {
		quick.Effort = EffortQuick
	}
	w, err := t.begin(ctx, search, quick)
	if err != nil {
		return nil, Pick{}, err
	}
	far := t.FarView(t.grid)
	rungs, found, errs := make([]*Rung, len(counts)), make([]*design, len(counts)), make([]error, len(counts))
	shares := newShares(ctx, "making the rungs", len(counts))
	one := func(i int) {
		rungs[i], found[i], errs[i] = t.rung(shares.of(i, ctx), shares.of(i, search), c.Calm, w, counts[i], far, prove, nil)
		tellSeen(ctx, rungs[i])
		shares.tell(i, 100)
	}
	if len(t.grid.Cells) < largeCanvas {
		_ = par.Until(search, len(counts), func(_, i int) { one(i) }) // what was not begun is missing
	} else {
		for i := 0; i < len(counts) && search.Err() == nil; i++ {
			one(i)
		}
	}
	if err := ctx.Err(); err != nil {
		return nil, Pick{}, err
	}
	if rungs[0] == nil && errs[0] == nil {
		one(0) // there is always something to show
	}
	any := slices.ContainsFunc(rungs, func(r *Rung) bool { return r != nil })
	for _, err := range errs {
		var short *quantize.Short // so few colors of what is owned do not suffice: others may
		if err != nil && !(any && errors.As(err, &short)) {
			return nil, Pick{}, err
		}
	}
	stopped := search.Err() != nil
	var out []Rung
	for i, r := range rungs {
		if r != nil && (len(out) == 0 || !sameDrills(r.Chart, out[len(out)-1].Chart)) {
			found[len(out)] = found[i]
			out = append(out, *r)
			stopped = stopped || r.Stopped
		}
	}
	if stopped {
		return out, Pick{Why: "The search was stopped before there was enough to recommend a number of colors."}, ctx.Err()
	}
	pick, err := t.recommend(ctx, search, c, out, found, len(counts), far, prove)
	return out, pick, err
}

func sameDrills(a, b *chart.Chart) bool {
	return slices.Equal(a.Cells, b.Cells) && slices.EqualFunc(a.Legend, b.Legend, func(x, y chart.Entry) bool { return x.Drill == y.Drill })
}

// recommend chooses a rung and makes it anew with the effort of the choice,
// until the one that was made so is the one to recommend. Colors that little
// effort proved to be the best are not searched for again.
func (t *task) recommend(ctx, search context.Context, c Choice, rungs []Rung, found []*design, counts int, far *lab.FarView, prove bool) (Pick, error) {
	made := make([]bool, len(rungs))
	for {
		i, pick := recommend(rungs, counts)
		if i < 0 || made[i] || c.Effort == EffortQuick {
			return pick, nil
		}
		say.Step(ctx, "looking harder at the one to recommend", 0, 0)
		w, err := t.begin(ctx, search, c)
		if err != nil {
			return pick, err
		}
		r, _, err := t.rung(ctx, search, c.Calm, w, rungs[i].Asked, far, prove, found[i])
		if search.Err() != nil && ctx.Err() == nil { // what was known of it before is better
			pick.Why += " The search was stopped before this one was looked at harder: the chart may come out otherwise."
			return pick, nil
		}
		if err != nil {
			return pick, err
		}
		rungs[i], made[i] = *r, true
		tellSeen(ctx, r)
	}
}

// rung makes one rung, of colors that were found before where any search would
// find the same. It returns the colors as they were found, as long as they take
// little memory.
func (t *task) rung(ctx, search context.Context, calm float64, w wanted, colors int, far *lab.FarView, prove bool, found *design) (*Rung, *design, error) {
	d := &design{}
	var err error
	if found.certain(w) {
		*d = *found
	} else if d, err = t.choose(ctx, search, w, colors, prove); err != nil {
		return nil, nil, err
	}
	if found = nil; len(t.grid.Cells) < largeCanvas {
		asFound := *d
		found = &asFound
	}
	cells, err := t.exchange(ctx, search, calm, w, d)
	if err != nil {
		return nil, nil, err
	}
	if err := t.lay(ctx, calm, w, d, cells); err != nil {
		return nil, nil, err
	}
	if err := t.leave(ctx, calm, w, d); err != nil {
		return nil, nil, err
	}
	made, err := chart.New(t.grid.Cols, t.grid.Rows, t.card, d.chosen, d.cells)
	if err != nil {
		return nil, nil, err
	}
	q := t.judge(t.target(), made, d)
	r := &Rung{
		Colors: len(made.Legend), Asked: colors, All: d.all, Chart: made, Mean: q.MeanMiss, P95: q.P95Miss, Worst: q.WorstMiss, Subject: q.SubjectMiss,
		Bound: q.MeanBound, Gap: q.Gap, Proven: q.Proven, Stopped: d.stopped,
		Far: t.farMiss(far, made.Grid()), Confetti: q.Confetti, Lone: made.Confetti(),
	}
	for _, e := range made.Legend {
		if e.Count < FewDrills {
			r.Few++
		}
	}
	for _, run := range made.Runs() {
		if run.Length >= 3 {
			r.Runs++
		}
	}
	return r, found, nil
}

// FarView is the eye at two meters from the finished picture, comparing with
// the given one.
func (p *Prepared) FarView(with *lab.Grid) *lab.FarView {
	return lab.NewFarView(with, p.perDegree())
}

// perDegree is how many drills make up a degree of the view from two meters.
func (p *Prepared) perDegree() float64 {
	return lab.CellsPerDegree(p.Layout.Pitch.MM(), FarMeters*1000)
}

// farMiss is the mean difference of the subject as seen from two meters, or of
// the whole photo where no subject is known.
func (t *task) farMiss(far *lab.FarView, made *lab.Grid) float64 {
	var seen []float64
	for i, m := range far.Miss(made) {
		if t.onSubject(i) {
			seen = append(seen, m)
		}
	}
	return round4(lab.MeanMiss(seen))
}

// Pick is the recommended rung and the sentence that says why.
type Pick struct {
	Colors int // that it uses, 0 for none
	Asked  int // what to ask for to get it: more, where some of them serve no drill or too few
	Why    string
}

const (
	// pickShare is the share, in percent, of the gain from the fewest to the
	// most colors that "nearly as good" stands for. Chosen by eye on six
	// photos; no source.
	pickShare = 80

	// unseen is the mean difference from afar below which there is nothing
	// more to see: 1 is about the least difference that can be seen side by
	// side (common reading of CIEDE2000, no source).
	unseen = 1

	// autoColors are taken where nothing could be recommended.
	autoColors = 30
)

// recommend returns the rung with the fewest colors that looks nearly as good
// from two meters as any: by what the rungs tell of themselves, so that
// everybody can check it. It returns -1 for none. So many counts were asked
// for; rungs that are alike stand for one.
func recommend(rungs []Rung, counts int) (int, Pick) {
	if len(rungs) == 1 {
		r := rungs[0]
		switch {
		case r.All:
			return 0, Pick{max(r.Colors, MinColors), r.Asked, fmt.Sprintf("%s all of this photo: more serve no drill.", plural(r.Colors, "color shows", "colors show"))}
		case counts > 1:
			return 0, Pick{max(r.Colors, MinColors), r.Asked, fmt.Sprintf("%s enough: asking for more gives the same picture.", plural(r.Colors, "color is", "colors are"))}
		}
		return -1, Pick{Why: "To recommend a number of colors takes two rungs or more."}
	}
	off := make([]int64, len(rungs)) // in whole 1/10000, so that ties are ties
	for i, r := range rungs {
		off[i] = int64(math.Round(r.Far * 1e4))
	}
	first, last := rungs[0].Colors, rungs[len(rungs)-1].Colors
	gain := off[0] - slices.Min(off)
	i := slices.IndexFunc(off, func(m int64) bool { return m < unseen*1e4 || (off[0]-m)*100 >= pickShare*gain })
	n, asked := max(rungs[i].Colors, MinColors), rungs[i].Asked
	switch {
	case off[i] < unseen*1e4:
		return i, Pick{n, asked, fmt.Sprintf("%d colors are enough: from two meters they are %.2f off, and there is nothing more to see.", n, rungs[i].Far)}
	case gain == 0 && last <= n:
		return i, Pick{n, asked, fmt.Sprintf("%d colors are enough: from two meters, asking for more comes no closer to the photo.", n)}
	case gain == 0:
		return i, Pick{n, asked, fmt.Sprintf("%d colors are enough: from two meters, up to %d come no closer to the photo.", n, last)}
	}
	return i, Pick{n, asked, fmt.Sprintf("%d colors are the fewest of these that look nearly as good: from two meters they bring %d percent of what going from %d to %d colors brings at most.",
		n, percentOf(off[0]-off[i], gain), first, last)}
}

// percentOf is a part in whole percent. What is not all of it is not called so.
func percentOf(part, of int64) int64 {
	if part < of {
		return min((100*part+of/2)/of, 99)
	}
	return 100
}

func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// auto is the number of colors for a choice that leaves it open, and a note
// where nothing could be recommended.
func (t *task) auto(ctx context.Context, c Choice) (colors int, note string, err error) {
	least, most := len(c.Keep), len(t.card.Drills)-len(c.Avoid)
	var counts []int
	for _, n := range append(LadderCounts(), most) {
		if n >= max(least, MinColors) && n <= min(most, MaxColors) && (len(counts) == 0 || n > counts[len(counts)-1]) && (n < most || most < slices.Max(LadderCounts())) {
			counts = append(counts, n)
		}
	}
	fallback := min(max(autoColors, least), most)
	if len(counts) < 2 {
		return fallback, "", nil
	}
	c.Colors = counts[0]
	_, pick, err := t.ladder(ctx, c, counts, false)
	if _, err = ended(ctx, err); err != nil {
		return 0, "", err
	}
	if pick.Asked == 0 {
		return fallback, fmt.Sprintf("The search for a number of colors was stopped before there was enough to recommend one: %d are taken.", fallback), nil
	}
	return pick.Asked, "", nil
}
