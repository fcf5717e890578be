package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/spf13/pflag"

	"kitwright/internal/say"
	"kitwright/kit"
	"kitwright/lab"
	"kitwright/palettes"
	"kitwright/render"
)

// job is what a command does once its flags are read.
type job = func(context.Context, env, []string) error

func cardCommand() command {
	return command{
		name: "card", args: "list|show|import|...", summary: "bring, keep, check and measure color cards",
		about: `A card is the set of drill colors to choose from. The built-in ones come from published
			standards: they are references, not a supplier's codes. Bring your own before you buy: import
			a table, measure the supplier's card from a photo, and keep it under a name.`,
		example: "kitwright card import supplier.xlsx -o my-drills.csv\nkitwright card add my-drills my-drills.csv\nkitwright chart --card my-drills cat.jpg",
		parts: []command{
			cardListCommand(), cardShowCommand(), cardImportCommand(), cardAddCommand(), cardRemoveCommand(),
			cardCheckCommand(), cardMatchCommand(), cardMergeCommand(), cardSubsetCommand(),
			cardFrameCommand(), cardMeasureCommand(),
		},
		bind: func(*pflag.FlagSet) func(context.Context, env, []string) error {
			return func(_ context.Context, _ env, args []string) error {
				if len(args) == 0 {
					return say.Usage("kitwright help card", "card needs to be told what to do with it, such as list or show")
				}
				return say.Usage("kitwright help card", "card has no command %q", args[0])
			}
		},
	}
}

func cardListCommand() command {
	return command{
		name: "card list", summary: "name the built-in cards and those you keep", example: "kitwright card list",
		about: "Names the built-in cards and those you keep, with how many colors each has and where they come from.",
		bind: func(fs *pflag.FlagSet) func(context.Context, env, []string) error {
			var places cardPlaces
			var form listingForm
			places.bind(fs)
			form.bind(fs)
			return func(_ context.Context, e env, args []string) error {
				if err := wantArgs(args, 0, "card list takes no names", "kitwright card show munsell shows one"); err != nil {
					return err
				}
				if err := form.check(); err != nil {
					return err
				}
				return listCards(e, places, form)
			}
		},
	}
}

func listCards(e env, places cardPlaces, form listingForm) error {
	l := listing{head: []string{"card", "colors", "kept", "source"}}
	for _, name := range palettes.Names() {
		card, err := palettes.Named(name)
		if err != nil {
			return err
		}
		l.add(name, len(card.Drills), "built in", card.Source)
	}
	on := places.shelf()
	for _, name := range on.Names() {
		card, err := on.Open(name)
		if err != nil {
			l.add(name, 0, "yours", "cannot be read: "+err.Error())
			continue
		}
		l.add(name, len(card.Drills), "yours", card.Source)
	}
	if err := l.write(e.stdout, form); err != nil || !form.forPeople() {
		return err
	}
	_, err := fmt.Fprintf(e.stdout, "\n%s\n", kit.ReferenceNote)
	return err
}

func cardShowCommand() command {
	return command{
		name: "card show", args: "NAME|FILE", summary: "show a card's colors, on the screen or on paper",
		about: `Prints a card: its colors as swatches where the terminal can show them; with --csv in the form
			that --card reads; with --pdf as a page to print, a swatch, its code and room for one drill of
			each color.`,
		example: "kitwright card show my-drills\nkitwright card show munsell --csv",
		bind: func(fs *pflag.FlagSet) func(context.Context, env, []string) error {
			var places cardPlaces
			var form listingForm
			pages, force := "", false
			print := render.DefaultPrint().In(locale())
			places.bind(fs)
			form.bind(fs)
			fs.Var(textValue{&pages, "FILE"}, "pdf", "make a file of pages to print: a swatch of each color, its code, and room for one drill")
			fs.Var(&print.Paper, "paper", "a4, letter, a3, legal, tabloid, or a size as in 20x30cm")
			fs.BoolVar(&force, "force", false, "overwrite the file if it exists")
			return func(ctx context.Context, e env, args []string) error {
				if err := wantArgs(args, 1, "card show takes one card", "kitwright card show munsell"); err != nil {
					return err
				}
				if err := form.check(); err != nil {
					return err
				}
				name := args[0]
				card, err := places.open(e, &name)
				if err != nil {
					return err
				}
				if pages != "" {
					if err := writeFile(ctx, pages, force, isPDF, func(w io.Writer) error { return render.Swatches(w, card, print) }); err != nil {
						return err
					}
					_, err := fmt.Fprintf(e.stdout, "%s  %s\n", pages, say.Count(len(card.Drills), "color"))
					return err
				}
				if form.csv {
					return card.WriteCSV(e.stdout)
				}
				return showCard(e, card, form)
			}
		},
	}
}

func showCard(e env, card *palettes.Card, form listingForm) error {
	l := listing{head: []string{"code", "name", "finish", "hex", "L", "a", "b", "beyond_srgb"}}
	for _, d := range card.Drills {
		l.add(d.Code, d.Name, string(d.Finish), lab.Hex(d.RGB), d.Lab.L, d.Lab.A, d.Lab.B, d.Beyond)
	}
	if form.json {
		return l.write(e.stdout, form)
	}
	var text strings.Builder
	if err := l.write(&text, form); err != nil {
		return err
	}
	swatch := showsColors(e.screen, os.Getenv)
	for i, line := range strings.SplitAfter(text.String(), "\n") {
		switch {
		case !swatch || line == "":
		case i == 0:
			line = "      " + line
		default:
			c := card.Drills[i-1].RGB
			if _, err := fmt.Fprintf(e.screen, "\x1b[48;2;%d;%d;%dm    \x1b[0m", c[0], c[1], c[2]); err != nil {
				return err
			}
			line = "  " + line
		}
		if _, err := io.WriteString(e.stdout, line); err != nil {
			return err
		}
	}
	var about []string
	for _, s := range []string{card.Source, card.License} {
		if s != "" {
			about = append(about, s)
		}
	}
	_, err := fmt.Fprintf(e.stdout, "\n%s\n", strings.Join(append([]string{say.Count(len(card.Drills), "color") + "."}, about...), " "))
	return err
}

// showsColors says whether an output is a terminal (nil = it is none) that says it can show any
// color (COLORTERM, as terminals do by custom), and the user has not asked for
// none (NO_COLOR).
func showsColors(screen *os.File, get func(string) string) bool {
	can := get("COLORTERM") == "truecolor" || get("COLORTERM") == "24bit"
	return screen != nil && can && get("NO_COLOR") == ""
}
