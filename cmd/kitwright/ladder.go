package main

import (
	"context"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/spf13/pflag"

	"kitwright/folder"
	"kitwright/internal/say"
	"kitwright/internal/setting"
	"kitwright/kit"
	"kitwright/palettes"
	"kitwright/plan"
	"kitwright/render"
	"kitwright/render/look"
)

func ladderCommand() command {
	return command{
		name: "ladder", args: "PHOTO", summary: "see a photo at several color counts before you choose one",
		about: `Makes the same photo at several color counts, the rungs of a ladder, and shows them side by
			side with what each costs in closeness, lone drills and hours. Nothing of it has to be bought
			to be judged. It recommends the fewest of these colors that look nearly as good as any, and what it shows
			for them is what chart makes.`,
		example: "kitwright ladder --size 40x50cm --focus 38,30,10,12 --counts 12..30 ginger.jpg",
		bind: func(fs *pflag.FlagSet) func(context.Context, env, []string) error {
			run := photoRun{kind: folder.Ladders}
			counts, pace := rungCounts(kit.LadderCounts()), plan.UsualPace
			order := kit.DefaultOrder()
			fs.Var(&counts, "counts", "the color counts to show, as in 12,18,24 or 8..60")
			asJSON := false
			fs.BoolVar(&asJSON, "json", false, "print the table as JSON, and nothing else")
			fs.Var(&pace, "pace", "drills set in an hour, slowly and quickly; common practice, no source")
			units := render.Centimeters
			run.bind(fs)
			order.Bind(fs)
			run.pixels = pixelBoxes{}
			run.pixels.wrap(fs)
			words := setting.Bind(fs)
			words.Group("On paper")
			words.Add(setting.Of(&units, render.Centimeters, render.Inches), "units", "tell sizes in cm or in")
			return func(ctx context.Context, e env, args []string) error {
				args, err := run.like.apply(fs, args, &run.demo)
				if err != nil {
					return err
				}
				if err := order.Check(); err != nil {
					return err
				}
				if order.Colors != kit.AutoColors && fs.Changed("colors") {
					counts = append(counts, order.Colors) // a rung more
					slices.Sort(counts)
					counts = slices.Compact(counts)
				}
				order.Colors = kit.AutoColors // the counts stand in their own flag
				return run.do(ctx, e, args, order, func(ctx context.Context, prep *kit.Prepared, c kit.Choice, dir *folder.Making) (summary, error) {
					made, err := makeLadder(ctx, prep, c, counts, pace, units, dir)
					if err != nil {
						return nil, err
					}
					if asJSON {
						return made.json, nil
					}
					return func(w io.Writer) error {
						if err := made.tell(w); err != nil {
							return err
						}
						if made.pick.Asked == 0 {
							return nil
						}
						here := strconv.Itoa(made.pick.Colors)
						if made.pick.Asked > made.pick.Colors {
							here += fmt.Sprintf(" of %d asked for", made.pick.Asked)
						}
						_, err := fmt.Fprintf(w, "\nNext, the kit in the colors you chose, here %s:\n  %s\n", here, shellLine(chartOf(fs, args, "--colors", strconv.Itoa(made.pick.Asked))...))
						return err
					}, nil
				})
			}
		},
	}
}

// makeLadder makes the files of a ladder folder.
func makeLadder(ctx context.Context, prep *kit.Prepared, c kit.Choice, counts []int, pace kit.Pace, units render.Units, dir *folder.Making) (*ladderMade, error) {
	// Rungs that the card or the codes kept and avoided leave no room for are left out.
	card, err := prep.Card(c)
	if err != nil {
		return nil, err
	}
	most := len(card.Drills) - distinct(c.Avoid)
	asked := counts
	counts = slices.DeleteFunc(slices.Clone(counts), func(n int) bool { return n > most || n < distinct(c.Keep) })
	all := asked[len(asked)-1] > most && most <= kit.MaxColors
	if all && !slices.Contains(counts, most) {
		counts = append(counts, most)
	}
	if len(counts) == 0 {
		counts = []int{distinct(c.Keep)}
	}
	rungs, pick, err := prep.Ladder(ctx, c, counts)
	if err != nil {
		return nil, err
	}
	say.Step(ctx, "painting the ladder", 0, 0)
	if err := dir.Write("ladder.csv", func(w io.Writer) error { return kit.WriteLadderCSV(w, rungs, pace) }); err != nil {
		return nil, err
	}
	if err := dir.Write("ladder.png", func(w io.Writer) error { return look.Ladder(w, prep, c, rungs, pick) }); err != nil {
		return nil, err
	}
	pic := prep.Picture(c)
	if pic.Subject != nil {
		if err := dir.Write("subject.png", func(w io.Writer) error { return look.Outline(w, prep, pic) }); err != nil {
			return nil, err
		}
	}
	return &ladderMade{
		pick: pick,
		tell: func(w io.Writer) error {
			return writeLadder(w, prep, c, card, rungs, counts, all, pick, pace, units, dir.Dest())
		},
		json: func(w io.Writer) error { return ladderListing(rungs, pick, pace).write(w, listingForm{json: true}) },
	}, nil
}

// ladderMade is how a ladder that was made can be told.
type ladderMade struct {
	pick       kit.Pick
	tell, json summary
}

// ladderListing returns the rungs as a table for programs.
func ladderListing(rungs []kit.Rung, pick kit.Pick, pace kit.Pace) *listing {
	l := &listing{head: []string{"colors", "mean", "off_2m", "bound", "lone", "drills", "drills_an_hour_slow", "drills_an_hour_fast", "stopped", "recommended", "asked"}}
	for _, r := range rungs {
		l.add(r.Colors, r.Mean, r.Far, kit.Floor2(r.Bound), r.Lone, r.Chart.Drills(), pace.Slow, pace.Fast, r.Stopped, r.Asked == pick.Asked, r.Asked)
	}
	return l
}

// distinct counts codes; capitals make no other code.
func distinct(codes []string) int {
	seen := map[string]bool{}
	for _, c := range codes {
		seen[strings.ToLower(c)] = true
	}
	return len(seen)
}

// writeLadder tells the rungs as a table, of as many as were asked for.
func writeLadder(w io.Writer, prep *kit.Prepared, c kit.Choice, card *palettes.Card, rungs []kit.Rung, asked []int, all bool, pick kit.Pick, pace kit.Pace, units render.Units, out string) error {
	var b strings.Builder
	l := prep.Layout
	fmt.Fprintf(&b, "%d x %d drills, %s\n", l.Cols, l.Rows, sizeWords(l.Size(), units))
	pic := prep.Picture(c)
	for _, note := range append(l.Words(), prep.OutlineWords(pic)...) {
		for _, line := range wrap(note.Words(asFlag), helpWidth) {
			fmt.Fprintln(&b, line)
		}
	}
	off, below := "off the photo", ""
	if rungs[0].Subject > 0 {
		off, below = "off the subject", " (all of the photo)"
	}
	fmt.Fprintf(&b, "\ncolors  %s  from two meters  cannot get below%s  lone drills  few  hours\n", off, below)
	for _, r := range rungs {
		n := r.Chart.Drills()
		mark := " "
		if r.Asked == pick.Asked {
			mark = "*"
		}
		fmt.Fprintf(&b, "%s%5d  %*.2f  %15.2f  %*s  %11s  %3d  %s\n", mark, r.Colors, len(off), r.Near(), r.Far, 16+len(below), noLess(r), say.Number(r.Lone), r.Few, pace.Hours(n))
	}
	fmt.Fprintln(&b)
	notes := []string{
		pick.Why,
		fmt.Sprintf("Few: colors with fewer than %d drills, each a bag and a tray of its own.", kit.FewDrills),
		fmt.Sprintf("Hours are at %s to %s drills an hour: common practice, no source.", say.Number(pace.Slow), say.Number(pace.Fast)),
	}
	if slices.ContainsFunc(rungs, func(r kit.Rung) bool { return r.Stopped }) {
		notes = append(notes, fmt.Sprintf("The search was stopped early, after %d of %s: the figures are those of the best found by then.", len(rungs), say.Count(len(asked), "rung")))
	}
	more, err := prep.LadderNotes(c, rungs, asked)
	if err != nil {
		return err
	}
	notes = append(notes, more...)
	if all {
		notes = append(notes, fmt.Sprintf("The card has no more than %s to choose from.", say.Count(rungs[len(rungs)-1].Asked, "color")))
	}
	if card.Builtin {
		notes = append(notes, kit.ReferenceNote)
	}
	for _, s := range notes {
		for _, line := range wrap(s, helpWidth) {
			fmt.Fprintln(&b, line)
		}
	}
	fmt.Fprintln(&b)
	file := func(name, what string) {
		fmt.Fprintf(&b, "  %-*s  %s\n", utf8.RuneCountInString(out)+12, filepath.Join(out, name), what)
	}
	file("ladder.png", "the rungs side by side")
	file("ladder.csv", "their figures")
	if pic.Subject != nil {
		file("subject.png", "the photo with the outline of your pet")
	}
	_, err = io.WriteString(w, b.String())
	return err
}

// noLess is what no choice of as many colors gets below, as far as is proven.
func noLess(r kit.Rung) string {
	if r.Stopped && r.Bound == 0 {
		return "not known"
	}
	return fmt.Sprintf("%.2f", kit.Floor2(r.Bound))
}

// rungCounts is the value of --counts: ascending, without repeats.
type rungCounts []int

func (c *rungCounts) String() string {
	parts := make([]string, len(*c))
	for i, n := range *c {
		parts[i] = strconv.Itoa(n)
	}
	return strings.Join(parts, ",")
}

func (c *rungCounts) Set(s string) error {
	var counts rungCounts
	for _, part := range strings.Split(s, ",") {
		from, to, isRange := strings.Cut(part, "..")
		if !isRange {
			to = from
		}
		a, err1 := strconv.Atoi(strings.TrimSpace(from))
		b, err2 := strconv.Atoi(strings.TrimSpace(to))
		if err1 != nil || err2 != nil || a < kit.MinColors || b > kit.MaxColors || a > b {
			return say.Usage("write counts as in 12,18,24 or 8..60", "%q is not a count or range of colors between %d and %d", part, kit.MinColors, kit.MaxColors)
		}
		for n := a; n <= b; n++ {
			counts = append(counts, n)
		}
	}
	slices.Sort(counts)
	*c = slices.Compact(counts)
	return nil
}

func (c *rungCounts) Type() string { return "N,N,...|N..N" }
