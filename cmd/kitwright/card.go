package main

import (
	"context"
	"fmt"
	"strings"
	"text/tabwriter"

	"github.com/spf13/pflag"

	"kitwright/internal/say"
	"kitwright/kit"
	"kitwright/lab"
	"kitwright/palettes"
)

func cardCommand() command {
	return command{
		name: "card", args: "list | show NAME|FILE", summary: "list the color cards, or show one",
		about: `A card is the set of drill colors to choose from. "card list" names the built-in ones,
			which come from published standards: they are references, not a supplier's codes.
			"card show" prints one; with --csv in the form that --card reads, so that a card of your own
			can be written the same way: code, name, finish, hex, and L, a, b where they were measured.`,
		example: "kitwright card show munsell --csv > reference.csv",
		bind: func(fs *pflag.FlagSet) func(context.Context, env, []string) error {
			var asCSV bool
			fs.BoolVar(&asCSV, "csv", false, "print the card as CSV: code,name,finish,hex,L,a,b")
			return func(_ context.Context, e env, args []string) error {
				switch {
				case len(args) == 1 && args[0] == "list" && !asCSV:
					return listCards(e)
				case len(args) == 2 && args[0] == "show":
					name := args[1]
					card, err := openCard(&name)
					if err != nil {
						return err
					}
					if asCSV {
						return card.WriteCSV(e.stdout)
					}
					return showCard(e, card)
				}
				return say.Usage("kitwright card list, or kitwright card show munsell", "card takes list, or show and a card")
			}
		},
	}
}

func listCards(e env) error {
	t := tabwriter.NewWriter(e.stdout, 0, 0, 2, ' ', 0)
	for _, name := range palettes.Names() {
		card, err := palettes.Named(name)
		if err != nil {
			return err
		}
		fmt.Fprintf(t, "%s\t%d colors\t%s\n", name, len(card.Drills), card.Source)
	}
	if err := t.Flush(); err != nil {
		return err
	}
	_, err := fmt.Fprintf(e.stdout, "\n%s\n", kit.ReferenceNote)
	return err
}

func showCard(e env, card *palettes.Card) error {
	t := tabwriter.NewWriter(e.stdout, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "code\tname\tfinish\thex\tL\ta\tb\t")
	for _, d := range card.Drills {
		beyond := ""
		if d.Beyond {
			beyond = "beyond sRGB"
		}
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%.1f\t%.1f\t%.1f\t%s\n", d.Code, d.Name, d.Finish, lab.Hex(d.RGB), d.Lab.L, d.Lab.A, d.Lab.B, beyond)
	}
	if err := t.Flush(); err != nil {
		return err
	}
	var about []string
	for _, s := range []string{card.Source, card.License} {
		if s != "" {
			about = append(about, s)
		}
	}
	_, err := fmt.Fprintf(e.stdout, "\n%d colors. %s\n", len(card.Drills), strings.Join(about, " "))
	return err
}
