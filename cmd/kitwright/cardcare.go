package main

import (
	"context"
	"fmt"

	"github.com/spf13/pflag"

	"kitwright/internal/say"
	"kitwright/lab"
	"kitwright/palettes"
	"kitwright/palettes/intake"
)

func cardCheckCommand() command {
	return command{
		name: "card check", args: "CARD", summary: "tell what a card has twice, what it lacks and what looks wrong",
		about: `Tells which codes are practically the same color (below 1), which are look-alikes (below
			--similar), which common colors the card serves worst, and, for a file, which of its rows
			could not be read or look doubtful. Differences are CIEDE2000.`,
		example: "kitwright card check my-drills\nkitwright card check supplier.xlsx --csv",
		bind: func(fs *pflag.FlagSet) func(context.Context, env, []string) error {
			var places cardPlaces
			var form listingForm
			similar := palettes.Similar
			places.bind(fs)
			form.bind(fs)
			fs.Var(numberValue{&similar}, "similar", "where two colors stop being look-alikes")
			return func(_ context.Context, e env, args []string) error {
				if err := wantArgs(args, 1, "card check takes one card", "kitwright card check my-drills"); err != nil {
					return err
				}
				if err := form.check(); err != nil {
					return err
				}
				if !(similar > 0 && similar <= 20) {
					return say.Usage("2.5 is hard to tell apart, 5 another color", "{similar} takes a difference above 0 and up to 20")
				}
				name := args[0]
				res, err := places.read(&name)
				if err != nil {
					return err
				}
				for _, note := range res.Notes {
					fmt.Fprintf(e.stderr, "%s: %s\n", name, say.Reading(note).Words(asFlag))
				}
				return checkCard(e, res, similar, form)
			}
		},
	}
}

// holesTold is how many badly served colors are named.
const holesTold = 8

func checkCard(e env, res *intake.Result, similar float64, form listingForm) error {
	card := res.Card
	l := listing{head: []string{"finding", "code", "other", "difference", "what"}}
	for _, r := range res.Left {
		l.add("no color", r.Code, "", nil, fmt.Sprintf("line %d: %s", r.Line, r.Reason))
	}
	for _, r := range res.Doubt {
		l.add("doubtful", r.Code, "", nil, fmt.Sprintf("line %d: %s", r.Line, r.Reason))
	}
	same := 0
	pairs := card.Alike(similar)
	for _, p := range pairs {
		kind := "look-alikes"
		if p.Far < palettes.Same {
			kind, same = "practically the same", same+1
		}
		a, b := card.Drills[p.A], card.Drills[p.B]
		l.add(kind, a.Address(), b.Address(), p.Far, a.Name+" / "+b.Name)
	}
	holes := card.Holes(holesTold)
	for _, h := range holes {
		l.add("badly served", card.Drills[h.Nearest].Address(), "", h.Far, h.Name+" "+lab.Hex(h.RGB))
	}
	beyond := 0
	for _, d := range card.Drills {
		if d.Beyond {
			beyond++
			l.add("beyond screens", d.Address(), "", nil, d.Name+": no screen of sRGB shows it; the preview shows the nearest")
		}
	}
	if err := l.write(e.stdout, form); err != nil || !form.forPeople() {
		return err
	}
	worst := ""
	if len(holes) > 0 {
		worst = fmt.Sprintf(" Worst served is %s: the nearest drill, %s, is %.1f away.", holes[0].Name, card.Drills[holes[0].Nearest].Address(), holes[0].Far)
	}
	if n := len(res.Left) + len(res.Doubt); n > 0 {
		worst += fmt.Sprintf(" %s of the file gave no color, %d read with a doubt.", say.Count(len(res.Left), "row"), len(res.Doubt))
	}
	_, err := fmt.Fprintf(e.stdout, "\n%s: %s practically the same, %d more look-alikes, %d beyond screens.%s\n",
		say.Count(len(card.Drills), "color"), say.Count(same, "pair"), len(pairs)-same, beyond, worst)
	return err
}

func cardMatchCommand() command {
	return command{
		name: "card match", args: "CARD OTHER", summary: "cross two cards: the nearest code of the other for each",
		about: `Tells for each color of a card which code of another comes nearest, and how far it lies off.
			With --one-to-one no code of the other is given twice.`,
		example: "kitwright card match my-drills new-supplier.csv\nkitwright card match my-drills munsell --one-to-one --csv",
		bind: func(fs *pflag.FlagSet) func(context.Context, env, []string) error {
			var places cardPlaces
			var form listingForm
			var one bool
			places.bind(fs)
			form.bind(fs)
			fs.BoolVar(&one, "one-to-one", false, "give no code of the other card twice")
			return func(_ context.Context, e env, args []string) error {
				if err := wantArgs(args, 2, "card match takes two cards", "kitwright card match my-drills munsell"); err != nil {
					return err
				}
				if err := form.check(); err != nil {
					return err
				}
				a, err := places.open(e, &args[0])
				if err != nil {
					return err
				}
				b, err := places.open(e, &args[1])
				if err != nil {
					return err
				}
				if one && len(a.Drills)*len(b.Drills) > palettes.MaxPairs {
					return say.Usage("leave out {one-to-one}, or take subsets", "%d by %d colors are too many to match one to one", len(a.Drills), len(b.Drills))
				}
				l := listing{head: []string{"code", "hex", "match", "match_hex", "difference", "says"}}
				for _, m := range palettes.Match(a, b, one) {
					d := a.Drills[m.From]
					if m.To < 0 {
						l.add(d.Address(), lab.Hex(d.RGB), "", "", nil, "none is left")
						continue
					}
					to := b.Drills[m.To]
					l.add(d.Address(), lab.Hex(d.RGB), to.Address(), lab.Hex(to.RGB), m.Far, howFar(m.Far))
				}
				return l.write(e.stdout, form)
			}
		},
	}
}

// howFar puts a difference into words; see palettes.Same.
func howFar(e float64) string {
	switch {
	case e < palettes.Same:
		return "practically the same"
	case e < palettes.Similar:
		return "hard to tell apart"
	case e < 5:
		return "close"
	}
	return "another color"
}
