package main

import (
	"context"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/pflag"

	"kitwright/internal/say"
	"kitwright/palettes"
	"kitwright/palettes/intake"
)

// howToRead is how a card's file is to be understood.
type howToRead struct{ opt intake.Options }

func (h *howToRead) bind(fs *pflag.FlagSet) {
	fs.Var(textValue{&h.opt.Columns, "WHAT=COLUMN,..."}, "columns", "which column holds what, as in code=2,hex=5: a number, a spreadsheet's letter, or what its header says; guessed and said unless given")
	fs.Var(whiteValue{&h.opt.White}, "white", "the white that L, a and b are relative to: d65 in tables and d50 from instruments unless the file says")
}

// cardFile is the flags of a command that writes a card's file.
type cardFile struct {
	out   string
	force bool
}

func (c *cardFile) bind(fs *pflag.FlagSet) {
	fs.VarP(textValue{&c.out, "FILE"}, "out", "o", "the card to write, a CSV file; to the screen unless given")
	fs.BoolVar(&c.force, "force", false, "overwrite the file if it exists")
}

// write writes the card, and says so where it is not the screen.
func (c *cardFile) write(ctx context.Context, e env, card *palettes.Card) error {
	if c.out == "" {
		return card.WriteCSV(e.stdout)
	}
	if err := writeFile(ctx, c.out, c.force, isCard, card.WriteCSV); err != nil {
		return err
	}
	_, err := fmt.Fprintf(e.stdout, "%s  %s\n", c.out, say.Count(len(card.Drills), "color"))
	return err
}

func cardImportCommand() command {
	return command{
		name: "card import", args: "FILE...", summary: "read a supplier's table or an instrument's file into a card",
		about: `Reads colors from tables (CSV, TSV, XLSX: code, name, finish, and hex, R,G,B or L,a,b), from the
			text files of measuring instruments (CGATS.17) and from CxF, and writes one card. Every row
			becomes a color or is named with its line and the reason; whatever had to be guessed is said.
			Colors already on the card from an earlier file are not taken twice.`,
		example: "kitwright card import supplier.xlsx -o my-drills.csv\nkitwright card import --columns code=2,hex=5 list.csv -o my-drills.csv",
		bind: func(fs *pflag.FlagSet) func(context.Context, env, []string) error {
			var how howToRead
			var to cardFile
			to.bind(fs)
			how.bind(fs)
			return func(ctx context.Context, e env, args []string) error {
				if len(args) == 0 {
					return say.Usage("kitwright card import supplier.csv -o my-drills.csv", "no file to import was named")
				}
				var read []*palettes.Card
				for _, path := range args {
					res, err := readCardFile(path, how.opt)
					if err != nil {
						return err
					}
					fmt.Fprintf(e.stderr, "%s: %s, %s\n", path, res.Kind, say.Count(len(res.Card.Drills), "color"))
					tellIntake(e.stderr, path, res, len(res.Left)+len(res.Doubt))
					read = append(read, res.Card)
				}
				card, differ, err := palettes.Merge(cardName(to.out), read...)
				if err != nil {
					return err
				}
				tellLines(e.stderr, differ)
				return to.write(ctx, e, card)
			}
		},
	}
}

func tellLines(w io.Writer, lines []string) {
	for _, l := range lines {
		fmt.Fprintln(w, l)
	}
}

// cardName is the name of a card that is made: its file's.
func cardName(out string) string {
	if out == "" {
		return "card"
	}
	return out
}

func cardAddCommand() command {
	return command{
		name: "card add", args: "NAME FILE", summary: "keep a card under a name that --card takes",
		about: `Keeps a card on your shelf: a CSV file in the folder of your data, under a name that --card
			takes from then on. Reads every kind of file that card import reads.`,
		example: "kitwright card add my-drills my-drills.csv\nkitwright chart --card my-drills cat.jpg",
		bind: func(fs *pflag.FlagSet) func(context.Context, env, []string) error {
			var places cardPlaces
			var how howToRead
			var force bool
			places.bind(fs)
			how.bind(fs)
			fs.BoolVar(&force, "force", false, "replace a card of that name; the old one goes to the trash")
			return func(ctx context.Context, e env, args []string) error {
				if err := wantArgs(args, 2, "card add takes a name and a file", "kitwright card add my-drills my-drills.csv"); err != nil {
					return err
				}
				res, err := readCardFile(args[1], how.opt)
				if err != nil {
					return err
				}
				tellIntake(e.stderr, args[1], res, 3)
				path, err := places.shelf().Add(args[0], res.Card, force)
				if err != nil {
					return err
				}
				_, err = fmt.Fprintf(e.stdout, "%s  %s, kept as %s\n", args[0], say.Count(len(res.Card.Drills), "color"), path)
				return err
			}
		},
	}
}

func cardRemoveCommand() command {
	return command{
		name: "card remove", args: "NAME", summary: "take a card off your shelf, into the trash folder",
		about:   "Takes a card off your shelf. It goes to the folder named trash beside the cards, from where you can add it again.",
		example: "kitwright card remove my-drills",
		bind: func(fs *pflag.FlagSet) func(context.Context, env, []string) error {
			var places cardPlaces
			places.bind(fs)
			return func(ctx context.Context, e env, args []string) error {
				if err := wantArgs(args, 1, "card remove takes one name", "kitwright card remove my-drills"); err != nil {
					return err
				}
				path, err := places.shelf().Remove(args[0])
				if err != nil {
					return err
				}
				_, err = fmt.Fprintf(e.stdout, "%s  moved to %s\n", args[0], path)
				return err
			}
		},
	}
}

func cardMergeCommand() command {
	return command{
		name: "card merge", args: "CARD CARD...", summary: "put several cards into one",
		about: `Writes one card with the colors of all. Where two have the same code and finish, the first
			counts; it is said where their colors differ.`,
		example: "kitwright card merge my-drills new-drills.csv -o all.csv",
		bind: func(fs *pflag.FlagSet) func(context.Context, env, []string) error {
			var places cardPlaces
			var to cardFile
			to.bind(fs)
			places.bind(fs)
			return func(ctx context.Context, e env, args []string) error {
				if len(args) < 2 {
					return say.Usage("kitwright card merge my-drills new-drills.csv -o all.csv", "card merge takes two cards or more, not %d", len(args))
				}
				var read []*palettes.Card
				for _, name := range args {
					card, err := places.open(e, &name)
					if err != nil {
						return err
					}
					read = append(read, card)
				}
				card, differ, err := palettes.Merge(cardName(to.out), read...)
				if err != nil {
					return err
				}
				tellLines(e.stderr, differ)
				return to.write(ctx, e, card)
			}
		},
	}
}

func cardSubsetCommand() command {
	return command{
		name: "card subset", args: "CARD", summary: "a card with only some of its colors",
		about: `Writes a card with only the colors named: those you own, those a shop has. Codes come from
			--codes or from a file of them, one a line or the first column of a table.`,
		example: "kitwright card subset my-drills --codes SR-001,SR-041/AB -o few.csv\nkitwright card subset my-drills --file owned.txt -o owned.csv",
		bind: func(fs *pflag.FlagSet) func(context.Context, env, []string) error {
			var places cardPlaces
			var to cardFile
			var wanted codeSource
			to.bind(fs)
			places.bind(fs)
			wanted.bind(fs)
			return func(ctx context.Context, e env, args []string) error {
				if err := wantArgs(args, 1, "card subset takes one card", "kitwright card subset my-drills --codes SR-001,SR-002"); err != nil {
					return err
				}
				codes, err := wanted.all()
				if err != nil {
					return err
				}
				if len(codes) == 0 {
					return say.Usage("name them with {codes} or {file}", "no codes were named")
				}
				name := args[0]
				card, err := places.open(e, &name)
				if err != nil {
					return err
				}
				few, unknown := card.Subset(codes)
				if len(unknown) > 0 {
					return say.Usage("kitwright card show "+name+" lists its codes", "the card %q has no %s", name, strings.Join(unknown[:min(len(unknown), 8)], ", "))
				}
				return to.write(ctx, e, few)
			}
		},
	}
}
