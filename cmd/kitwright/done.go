package main

import (
	"context"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/pflag"

	"kitwright/folder"
	"kitwright/internal/say"
	"kitwright/internal/setting"
	"kitwright/kit"
	"kitwright/plan"
	"kitwright/render"
)

func doneCommand() command {
	return command{
		name: "done", args: "KIT", summary: "tick off what is set: a section, or one color of it",
		about: `Ticks off drills of a kit, by the sections of its plan and the numbers of its colors. Without
			--color all that is left of the section is ticked. With --minutes it keeps how long that took:
			after three sections kitwright left reckons with your own pace. Every tick is kept in
			progress.csv beside the kit and can be taken back: --undo alone takes the last one back, with
			--section and --color what is ticked of that.`,
		example: "kitwright done ginger-kit --section B3 --color 12\nkitwright done ginger-kit --section B3 --minutes 95\nkitwright done ginger-kit --undo",
		bind: func(fs *pflag.FlagSet) func(context.Context, env, []string) error {
			var sections, colors namesValue
			var minutes minutesValue
			var date render.Date
			var undo, quiet bool
			fs.Var(&sections, "section", "the section, as on the plan; may be repeated")
			fs.Var(&colors, "color", "the color, by its number or its code; may be repeated; all unless given")
			fs.Var(&minutes, "minutes", "how long it took, as in 45 or 1h30m")
			fs.Var(&date, "date", "the day, as in 2026-11-26, to keep with it; none unless given")
			fs.BoolVar(&undo, "undo", false, "take the last tick back, or what is named")
			fs.BoolVarP(&quiet, "quiet", "q", false, "say nothing when all went well")
			return func(_ context.Context, e env, args []string) error {
				if err := wantArgs(args, 1, "one kit folder is needed", "kitwright done ginger-kit --section B3"); err != nil {
					return err
				}
				switch {
				case len(sections) == 0 && !undo:
					return say.Usage("kitwright done KIT {section} B3; kitwright left KIT tells which are left", "no section was named")
				case len(sections) == 0 && len(colors) > 0:
					return say.Usage("name the section too, as in {section} B3", "a color was named, and no section")
				case undo && (minutes > 0 || date != ""):
					return say.Usage("leave out {minutes} and {date}", "taking something back takes no time")
				case minutes > 0 && len(sections) > 1:
					return say.Usage("tick them one by one, each with its own time", "{minutes} is for one section, and %d were named", len(sections))
				}
				dir := kitFolder(args[0])
				k, p, err := planned(dir)
				if err != nil {
					return err
				}
				act := plan.Done
				switch {
				case undo && len(sections) == 0:
					return undoLast(e.stdout, dir, k, p, quiet)
				case undo:
					act = plan.Open
				}
				chosen, err := colorsNamed(k, colors)
				if err != nil {
					return err
				}
				var at []int
				for _, name := range sections {
					i, ok := p.Find(name)
					if !ok {
						return say.Usage(say.Hint("they run from A1 at the top left to %s at the lower right", p.Sections[len(p.Sections)-1].Name), "the plan has no section %q", name)
					}
					at = append(at, i)
				}
				for _, i := range at {
					var t plan.Tick
					g, err := folder.Tick(dir, p, func(g *plan.Progress) (plan.Tick, error) {
						var err error
						t, err = g.Mark(act, i, chosen...)
						t.Minutes, t.Date = int(minutes), string(date)
						return t, err
					})
					if err != nil {
						return err
					}
					if !quiet {
						if err := tellTick(e.stdout, k, g, i, t); err != nil {
							return err
						}
					}
				}
				return nil
			}
		},
	}
}

// planned returns a kit and its plan, as it was printed last.
func planned(dir string) (*kit.Kit, *plan.Plan, error) {
	k, err := folder.Read(dir)
	if err != nil {
		return nil, nil, err
	}
	p, err := printOf(k)
	if err != nil {
		return nil, nil, err
	}
	return k, p.PlanOf(k), nil
}

// printOf returns the settings that a kit was printed with.
func printOf(k *kit.Kit) (render.Print, error) {
	p := render.DefaultPrint()
	fs := pflag.NewFlagSet("print", pflag.ContinueOnError)
	p.Bind(fs)
	if err := keepSettings(fs, k.Print, "the kit's prints"); err != nil {
		return p, err
	}
	return p, p.Check(k)
}

// colorsNamed finds the colors that were named by number or code.
func colorsNamed(k *kit.Kit, names []string) (out []int, err error) {
	var all []string
	for _, e := range k.Chart.Legend {
		all = append(all, e.Drill.Address())
	}
	for _, name := range names {
		text, number, code := strings.TrimSpace(name), -1, -1
		for i, e := range k.Chart.Legend {
			if text == strconv.Itoa(e.Number) || strings.EqualFold(text, "no="+strconv.Itoa(e.Number)) {
				number = i
			}
			if strings.EqualFold(text, e.Drill.Address()) || strings.EqualFold(text, "code="+e.Drill.Address()) {
				code = i
			}
		}
		switch {
		case number < 0 && code < 0:
			try := "kit.csv lists the colors with their numbers and codes"
			if near := setting.Near(text, all); near != "" {
				try = say.Hint("%s; %s", near, try)
			}
			return nil, say.Usage(try, "the kit has no color %q", name)
		case number >= 0 && code >= 0 && number != code:
			return nil, say.Usage(say.Hint("write no=%s or code=%s", text, text), "%s is the number of one color and the code of another", text)
		}
		if i := max(number, code); !slices.Contains(out, i) {
			out = append(out, i)
		}
	}
	return out, nil
}

// undoLast takes the last tick back.
func undoLast(w io.Writer, dir string, k *kit.Kit, p *plan.Plan, quiet bool) error {
	var last plan.Tick
	g, err := folder.Tick(dir, p, func(g *plan.Progress) (plan.Tick, error) {
		t, ok := g.Log.Last()
		if !ok {
			return t, say.Usage("kitwright done KIT {section} B3 ticks something off", "nothing is ticked that could be taken back")
		}
		last = t
		return plan.Tick{Act: plan.Undo}, nil
	})
	if err != nil || quiet {
		return err
	}
	what := "ticking off"
	if last.Act == plan.Open {
		what = "taking back"
	}
	_, err = fmt.Fprintf(w, "Undone: %s %s in %s. %s of %s are set now.\n", what, say.Count(last.Drills(), "drill"), last.Section, say.Number(g.Set()), say.Count(p.Drills(), "drill"))
	return err
}

// tellTick says what was ticked and what comes next.
func tellTick(w io.Writer, k *kit.Kit, g *plan.Progress, section int, t plan.Tick) error {
	var b strings.Builder
	s := g.Plan.Sections[section]
	what := "all that was left"
	if len(t.Marks) == 1 {
		for _, e := range k.Chart.Legend {
			if e.Drill.Address() == t.Marks[0].Code {
				what = fmt.Sprintf("no. %d %s %s", e.Number, e.Symbol.Name, e.Drill.Address())
			}
		}
	} else if g.LeftIn(section) > 0 || t.Act == plan.Open {
		what = say.Count(len(t.Marks), "color")
	}
	if t.Act == plan.Open {
		fmt.Fprintf(&b, "%s: %s taken back, %s.\n", s.Name, what, say.Count(t.Drills(), "drill"))
	} else {
		fmt.Fprintf(&b, "%s: %s ticked off, %s.\n", s.Name, what, say.Count(t.Drills(), "drill"))
	}
	next := g.Next()
	switch tasks := g.Tasks(section); {
	case len(next) == 0:
		fmt.Fprintf(&b, "Every drill is set. The last page of plan.pdf tells how to finish.\n")
	case len(tasks) > 0:
		e := k.Chart.Legend[tasks[0].Color]
		fmt.Fprintf(&b, "%s left in %s; next no. %d %s %s (%s).\n", say.Count(g.LeftIn(section), "drill"), s.Name, e.Number, e.Symbol.Name, e.Drill.Address(), say.Number(tasks[0].Drills))
	default:
		fmt.Fprintf(&b, "%s is done. Next: %s. %s of %s are set.\n", s.Name, g.Plan.Sections[next[0]].Name, say.Number(g.Set()), say.Count(g.Plan.Drills(), "drill"))
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// namesValue is the value of a flag that may be repeated.
type namesValue []string

func (v *namesValue) String() string { return strings.Join(*v, " ") }
func (v *namesValue) Type() string   { return "NAME" }
func (v *namesValue) Set(s string) error {
	if strings.TrimSpace(s) == "" {
		return say.Usage("", "it names nothing")
	}
	*v = append(*v, strings.TrimSpace(s))
	return nil
}

// minutesValue is the value of --minutes: a number, or a time.
type minutesValue int

func (m *minutesValue) String() string {
	if *m == 0 {
		return ""
	}
	return strconv.Itoa(int(*m))
}
func (m *minutesValue) Type() string { return "MINUTES" }
func (m *minutesValue) Set(s string) error {
	n, err := strconv.Atoi(strings.TrimSpace(s))
	if err != nil {
		var t plan.Time
		if err := t.Set(s); err != nil {
			return say.Usage("write minutes, as in 45, or a time as in 1h30m", "%q is no number of minutes", s)
		}
		n = int(t)
	}
	if n < 1 || n > plan.MostMinutes {
		return say.Usage("write minutes, as in 45, or a time as in 1h30m", "%q is no time that a section takes", s)
	}
	*m = minutesValue(n)
	return nil
}

// today is the day on which a command runs, as the clock of the machine tells
// it: only for what is shown, never for what is kept.
func today() time.Time { return time.Now() }
