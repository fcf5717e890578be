package main

import (
	"context"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/pflag"

	"kitwright/folder"
	"kitwright/internal/say"
	"kitwright/internal/setting"
	"kitwright/kit"
	"kitwright/plan"
	"kitwright/render"
)

func planCommand() command {
	return command{
		name: "plan", args: "[KIT]", summary: "see the work before you begin: sections, hours, what fits a sitting",
		about: `Tells the work on a kit section by section, in the order of work, as its plan.pdf shows it; other
			settings show another plan, and kitwright print --only plan prints it. With --sitting and
			--pace it proposes the size of a picture that can be set in one sitting, as for a workshop:
			in the shape of the kit, or square without one.`,
		example: "kitwright plan ginger-kit\nkitwright plan --sitting 3h --pace 350",
		bind: func(fs *pflag.FlagSet) func(context.Context, env, []string) error {
			var form listingForm
			form.bind(fs)
			order := kit.DefaultOrder()
			orders := pflag.NewFlagSet("order", pflag.ContinueOnError)
			order.Bind(orders)
			for _, name := range []string{"drill", "pitch"} {
				fs.AddFlag(orders.Lookup(name))
			}
			p := render.DefaultPrint()
			p.Plan.Bind(setting.Bind(fs))
			return func(_ context.Context, e env, args []string) error {
				if err := form.check(); err != nil {
					return err
				}
				switch len(args) {
				case 0:
					return planWithoutKit(e.stdout, p.Plan, order.Bare(), form)
				case 1:
				default:
					return say.Usage("kitwright plan ginger-kit", "plan takes one kit folder at most, not %d", len(args))
				}
				for _, name := range []string{"drill", "pitch"} {
					if fs.Changed(name) {
						return say.Usage(say.Hint("leave out %s, or the kit", say.Setting(name)), "a kit has its own drills, and %s was given too", say.Setting(name))
					}
				}
				k, err := folder.Read(kitFolder(args[0]))
				if err != nil {
					return err
				}
				if err := keepSettings(fs, k.Print, "the kit's prints"); err != nil {
					return err
				}
				if err := p.Check(k); err != nil {
					return err
				}
				return tellPlan(e.stdout, k, p.PlanOf(k), form)
			}
		},
	}
}

// planWithoutKit proposes the size of a square picture for a sitting.
func planWithoutKit(w io.Writer, o plan.Options, bare *kit.Kit, form listingForm) error {
	if o.Sitting == 0 || !form.forPeople() {
		return say.Usage("kitwright plan ginger-kit, or kitwright plan {sitting} 3h {pace} 350", "without a kit there is nothing to plan but the size of a sitting")
	}
	o.Pitch = bare.Pitch
	for _, l := range wrap(o.FitWords(1, 1).Words(asFlag), helpWidth) {
		if _, err := fmt.Fprintln(w, l); err != nil {
			return err
		}
	}
	return nil
}

// tellPlan tells a plan: what it comes to, and its sections in their order.
func tellPlan(w io.Writer, k *kit.Kit, p *plan.Plan, form listingForm) error {
	l := &listing{head: []string{"step", "section", "columns", "rows", "drills", "colors", "lone", "presses", "hours"}}
	if !form.forPeople() {
		l.head = []string{"step", "section", "left", "top", "right", "bottom", "drills", "colors", "lone", "presses", "confetti"}
	}
	for n, i := range p.Order {
		s := p.Sections[i]
		left, top, right, bottom := s.Box.X+1, s.Box.Y+1, s.Box.X+s.Box.W, s.Box.Y+s.Box.H
		if !form.forPeople() {
			l.add(n+1, s.Name, left, top, right, bottom, s.Drills(), len(s.Work), s.Lone, s.Presses, s.Confetti)
			continue
		}
		lone := fmt.Sprint(s.Lone)
		if s.Confetti {
			lone += " *"
		}
		l.add(n+1, s.Name, fmt.Sprintf("%d-%d", left, right), fmt.Sprintf("%d-%d", top, bottom), s.Drills(), len(s.Work), lone, s.Presses, p.Options.Pace.Setting(s.Drills()).Short())
	}
	if !form.forPeople() {
		return l.write(w, form)
	}
	var b strings.Builder
	fmt.Fprintf(&b, "%s: %s in %s\n", k.Title, say.Count(p.Drills(), string(k.Drill.Shape)+" drill"), say.Count(len(p.Sections), "section"))
	line := func(format string, args ...any) {
		for _, l := range wrap(fmt.Sprintf(format, args...), helpWidth-2) {
			fmt.Fprintf(&b, "  %s\n", l)
		}
	}
	up := p.KitUp()
	line("%s at %s drills an hour, and %.0f to %.0f minutes to kit up %s (common practice, no source)", p.Setting().Words(), p.Options.Pace.Words(), up.Least, up.Most, say.Count(len(k.Chart.Legend), "color"))
	line("containers are taken up %s", say.Count(p.Fetches, "time"))
	if p.Options.Tips != 0 {
		line("with multi-placers of %s: %s presses instead of %s", p.Options.Tips.Words(), say.Number(p.Presses()), say.Number(p.Drills()))
	}
	if p.Options.Sitting > 0 {
		least, most := p.Sittings()
		if least == most {
			line("%s of %s", say.Count(most, "sitting"), p.Options.Sitting.Words())
		} else {
			line("%d to %d sittings of %s", least, most, p.Options.Sitting.Words())
		}
		line("%s", p.Options.FitWords(k.Chart.Cols, k.Chart.Rows).Words(asFlag))
	}
	fmt.Fprintln(&b)
	if err := l.write(&b, form); err != nil {
		return err
	}
	for _, s := range p.Sections {
		if s.Confetti {
			fmt.Fprintf(&b, "\n* many drills of this section have no like neighbor\n")
			break
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}
