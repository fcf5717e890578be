package main

import (
	"context"
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/spf13/pflag"

	"kitwright/folder"
	"kitwright/internal/say"
	"kitwright/kit"
	"kitwright/plan"
	"kitwright/render"
)

func leftCommand() command {
	return command{
		name: "left", args: "KIT", summary: "what is left to set, what to fetch next, how long it takes",
		about: `Tells what is left of a kit by section and by color, which containers to fetch next, and how
			many hours it takes: at the usual pace, or at your own once three sections were ticked off with
			their minutes. --weekly tells when you may be done. --csv and --json list every color of every
			section.`,
		example: "kitwright left ginger-kit --weekly 6h",
		bind: func(fs *pflag.FlagSet) func(context.Context, env, []string) error {
			var weekly plan.Time
			var from render.Date
			var form listingForm
			fs.Var(&weekly, "weekly", "how long you work on it in a week, as in 6h, to tell the day it may be done")
			fs.Var(&from, "from", "the day to reckon from, as in 2026-11-26; today unless given")
			form.bind(fs)
			return func(_ context.Context, e env, args []string) error {
				if err := wantArgs(args, 1, "one kit folder is needed", "kitwright left ginger-kit"); err != nil {
					return err
				}
				if err := form.check(); err != nil {
					return err
				}
				dir := kitFolder(args[0])
				k, p, err := planned(dir)
				if err != nil {
					return err
				}
				g, err := folder.Progress(dir, p)
				if err != nil {
					return err
				}
				if !form.forPeople() {
					return leftListing(g).write(e.stdout, form)
				}
				start := today()
				if from != "" {
					if start, err = time.Parse(time.DateOnly, string(from)); err != nil {
						return err
					}
				}
				return tellLeft(e.stdout, k, g, weekly, start)
			}
		},
	}
}

// leftListing lists every color of every section, in the order of work.
func leftListing(g *plan.Progress) *listing {
	l := &listing{head: []string{"step", "section", "number", "symbol_name", "code", "finish", "drills", "left"}}
	for n, i := range g.Plan.Order {
		s := g.Plan.Sections[i]
		for _, t := range s.Work {
			e := g.Plan.Chart.Legend[t.Color]
			l.add(n+1, s.Name, e.Number, e.Symbol.Name, e.Drill.Code, string(e.Drill.Finish), t.Drills, g.LeftOf(i, t.Color))
		}
	}
	return l
}

// mostShown is how many sections and mishaps are named one by one.
const mostShown = 12

// tellLeft tells a person what is left.
func tellLeft(w io.Writer, k *kit.Kit, g *plan.Progress, weekly plan.Time, start time.Time) error {
	var b strings.Builder
	next := g.Next()
	all := g.Plan.Drills()
	fmt.Fprintf(&b, "%s: %s of %s are set (%d %%)\n", k.Title, say.Number(g.Set()), say.Count(all, "drill"), 100*g.Set()/all)
	line := func(format string, args ...any) {
		for _, l := range wrap(fmt.Sprintf(format, args...), helpWidth-2) {
			fmt.Fprintf(&b, "  %s\n", l)
		}
	}
	if len(next) == 0 {
		line("Every drill is set. The last page of plan.pdf tells how to finish.")
	} else {
		line("%s are left in %s.", say.Count(g.Left(), "drill"), say.Count(len(next), "section"))
		tellHours(line, g, weekly, start)
	}
	tellMishaps(line, g)
	if len(next) == 0 {
		_, err := io.WriteString(w, b.String())
		return err
	}

	s := g.Plan.Sections[next[0]]
	fmt.Fprintf(&b, "\nNext is %s (columns %d to %d, rows %d to %d). Fetch, in this order:\n", s.Name, s.Box.X+1, s.Box.X+s.Box.W, s.Box.Y+1, s.Box.Y+s.Box.H)
	fetch := &listing{head: []string{"  no.", "symbol", "code", "drills"}}
	for _, t := range g.Tasks(next[0]) {
		e := k.Chart.Legend[t.Color]
		fetch.add(fmt.Sprintf("  %d", e.Number), e.Symbol.Name, e.Drill.Address(), t.Drills)
	}
	if err := fetch.write(&b, listingForm{}); err != nil {
		return err
	}

	fmt.Fprintf(&b, "\nLeft by section, in the order of work:\n")
	sections := &listing{head: []string{"  section", "drills", "colors"}}
	for n, i := range next {
		if n == mostShown {
			break
		}
		sections.add("  "+g.Plan.Sections[i].Name, g.LeftIn(i), len(g.Tasks(i)))
	}
	if err := sections.write(&b, listingForm{}); err != nil {
		return err
	}
	if n := len(next) - mostShown; n > 0 {
		fmt.Fprintf(&b, "  and %s (--csv lists all)\n", say.Count(n, "more section"))
	}

	fmt.Fprintf(&b, "\nLeft by color:\n")
	colors := &listing{head: []string{"  no.", "symbol", "code", "drills", "sections"}}
	for c, e := range k.Chart.Legend {
		n, in := 0, 0
		for i := range g.Plan.Sections {
			if v := g.LeftOf(i, c); v > 0 {
				n, in = n+v, in+1
			}
		}
		if n > 0 {
			colors.add(fmt.Sprintf("  %d", e.Number), e.Symbol.Name, e.Drill.Address(), n, in)
		}
	}
	if err := colors.write(&b, listingForm{}); err != nil {
		return err
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// tellHours tells how long the rest takes.
func tellHours(line func(string, ...any), g *plan.Progress, weekly plan.Time, start time.Time) {
	e := g.Estimate()
	usual := g.Plan.Options.Pace
	switch {
	case e.Own:
		line("%s are left at your own pace: %s drills an hour in the %s you timed.", e.Left.Short(), say.Number(e.Pace), say.Count(e.Timed, "section"))
	case e.Timed > 0:
		line("%s are left at %s drills an hour; your own pace counts once 3 sections are timed, and %s so far.", e.Left.Short(), usual.Words(), isOrAre(e.Timed))
	default:
		line("%s are left at %s drills an hour; your own pace counts once 3 sections are ticked off with --minutes.", e.Left.Short(), usual.Words())
	}
	if weekly == 0 {
		return
	}
	first, last := e.Finish(start, weekly)
	if first.Equal(last) {
		line("At %s a week from %s on you may be done by %s.", weekly.Words(), start.Format(time.DateOnly), first.Format(time.DateOnly))
		return
	}
	line("At %s a week from %s on you may be done between %s and %s.", weekly.Words(), start.Format(time.DateOnly), first.Format(time.DateOnly), last.Format(time.DateOnly))
}

func isOrAre(n int) string {
	if n == 1 {
		return "1 is"
	}
	return fmt.Sprintf("%d are", n)
}

// tellMishaps tells what of the log does not count or does not fit.
func tellMishaps(line func(string, ...any), g *plan.Progress) {
	strays := g.Strays()
	for n, s := range strays {
		if n == mostShown {
			line("And %s like that.", say.Count(len(strays)-n, "more place"))
			break
		}
		e := g.Plan.Chart.Legend[s.Color]
		line("%s: %s of %s are ticked where the chart wants no. %d %s now.", g.Plan.Sections[s.Section].Name, say.Count(s.Drills, "drill"), s.Code, e.Number, e.Drill.Address())
	}
	for _, t := range g.Unfit {
		line("%s: ticked off, and the chart has no such place any more.", t.Section)
	}
	for n, f := range g.Log.Faults {
		if n == mostShown {
			line("And %s of %s like that.", say.Count(len(g.Log.Faults)-n, "more line"), plan.LogFile)
			break
		}
		line("%s, line %d: %s. It does not count.", plan.LogFile, f.Line, f.Why)
	}
}

// tellTicked tells, after a kit was changed, what of the drills that were
// ticked off still fits and what does not; nothing where none were.
func tellTicked(w io.Writer, dir string, k *kit.Kit, p render.Print) error {
	g, err := folder.Progress(dir, p.PlanOf(k))
	if err != nil || len(g.Log.InForce()) == 0 && len(g.Log.Faults) == 0 {
		return err
	}
	var b strings.Builder
	fmt.Fprintf(&b, "  %s that were ticked off still fit.\n", say.Count(g.Set(), "drill"))
	tellMishaps(func(format string, args ...any) {
		for _, l := range wrap(fmt.Sprintf(format, args...), helpWidth-2) {
			fmt.Fprintf(&b, "  %s\n", l)
		}
	}, g)
	_, err = io.WriteString(w, b.String())
	return err
}
