package main

import (
	"context"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/spf13/pflag"

	"kitwright/internal/say"
	"kitwright/internal/setting"
	"kitwright/palettes/gauge"
	"kitwright/render"
	"kitwright/stash"
)

func cardFrameCommand() command {
	return command{
		name: "card frame", summary: "print a measuring sheet for the drills you own",
		about: `Makes pages with a cell for each of your codes, 40 a page. Lay nine drills in each, photograph
			the pages in daylight, and give the photos to card measure with the same codes. Strips of thin
			double-sided tape first, drills on top. --stash makes the cells for the colors that your stash
			holds, and writes their codes beside the pages, in the order that card measure wants.`,
		example: "kitwright card frame --file owned.txt -o frame.pdf\nkitwright card frame --stash -o owned.pdf\nkitwright card measure --frame --file owned.txt page1.jpg page2.jpg -o my-drills.csv",
		bind: func(fs *pflag.FlagSet) func(context.Context, env, []string) error {
			var codes codeSource
			out, force := "frame.pdf", false
			p := render.DefaultPrint().In(locale())
			var owned ownedCodes
			codes.bind(fs)
			owned.bind(fs)
			fs.VarP(textValue{&out, "FILE"}, "out", "o", "the file to make")
			fs.BoolVar(&force, "force", false, "overwrite the file if it exists")
			fs.Var(&p.Paper, "paper", "a4, letter, or a size as in 21x29.7cm")
			return func(ctx context.Context, e env, args []string) error {
				if err := wantArgs(args, 0, "card frame takes its codes by --codes or --file", "kitwright card frame --codes SR-001,SR-002"); err != nil {
					return err
				}
				all, err := codes.all()
				if err != nil {
					return err
				}
				mine, err := owned.codes(e)
				if err != nil {
					return err
				}
				for _, c := range mine {
					if !slices.Contains(all, c) {
						all = append(all, c)
					}
				}
				frames, err := gauge.Frames(all, p.Paper.Size.W.MM(), p.Paper.Size.H.MM())
				if err != nil {
					return err
				}
				pages, err := beginFile(ctx, out, force, isPDF)
				if err != nil {
					return err
				}
				defer pages.Drop()
				if err := pages.Fill(func(w io.Writer) error { return render.MeasuringSheets(w, frames) }); err != nil {
					return err
				}
				list := strings.TrimSuffix(out, ".pdf") + ".codes.txt"
				if owned.from.on {
					if err := listCodes(ctx, list, force, all); err != nil {
						return err
					}
				}
				if err := pages.Finish(); err != nil {
					return err
				}
				_, err = fmt.Fprintf(e.stdout, "%s  %s for %s; %s to fill and photograph (our estimate)\n", out, say.Count(len(frames), "page"), say.Count(len(all), "code"), render.MeasuringTime(len(all), len(frames)))
				if err != nil || !owned.from.on {
					return err
				}
				_, err = fmt.Fprintf(e.stdout, "%s  the codes in the order of the cells\n\nNext, with your photos of the pages:\n  %s\n", list,
					shellLine("kitwright", "card", "measure", "--frame", "--file", list, "page1.jpg", "-o", "measured.csv"))
				return err
			}
		},
	}
}

// ownedCodes is the colors of the stash as codes.
type ownedCodes struct {
	from  stashFlag
	card  string
	cards cardPlaces
}

// stashFlag is a flag that asks for the stash, and may name its file.
type stashFlag struct {
	on   bool
	file string
}

const usualStash = "yours"

func (s *stashFlag) String() string { return s.file }
func (s *stashFlag) Type() string   { return "FILE" }
func (s *stashFlag) Set(text string) error {
	s.on = true
	if text != usualStash {
		s.file = text
	}
	return nil
}

func (o *ownedCodes) bind(fs *pflag.FlagSet) {
	fs.VarPF(&o.from, "stash", "", "the colors that your stash holds, nine drills of each at least; "+stash.Name+" in the folder of your data unless a file is given").NoOptDefVal = usualStash
	fs.Var(textValue{&o.card, "NAME"}, "card", "with {stash}: only those of this card")
	o.cards.bind(fs)
}

// fill is how many drills fill a cell of the sheet.
const fill = 9

// codes returns the addresses of the colors that are owned, each once, and
// tells which are too few to fill a cell.
func (o *ownedCodes) codes(e env) (codes []string, err error) {
	if !o.from.on {
		return nil, nil
	}
	l, err := stashPlace{o.from.file}.open(e, o.cards)
	if err != nil {
		return nil, err
	}
	if cards := l.Cards(); o.card == "" && len(cards) > 1 {
		return nil, say.Usage(say.Hint("name one of %s with {card}", strings.Join(cards, ", ")), "your stash has drills of several cards, and a code may mean another color on each")
	}
	var few []string
	most := map[string]int{}
	for _, lot := range l.Lots() {
		if o.card == "" || strings.EqualFold(lot.Card, o.card) {
			most[lot.Address()] = max(most[lot.Address()], lot.Drills)
			if lot.Drills > 0 && !slices.Contains(codes, lot.Address()) {
				codes = append(codes, lot.Address())
			}
		}
	}
	codes = slices.DeleteFunc(codes, func(code string) bool {
		if most[code] < fill {
			few = append(few, code)
		}
		return most[code] < fill
	})
	if len(few) > 0 {
		fmt.Fprintf(e.stderr, "Left out, as %d drills fill a cell: %s\n", fill, strings.Join(few, ", "))
	}
	if len(codes) == 0 {
		return nil, say.Failed("kitwright stash list shows what it holds", "your stash has no color of which %d drills are owned", fill)
	}
	return codes, nil
}

// listCodes writes codes as card measure reads them.
func listCodes(ctx context.Context, path string, force bool, codes []string) error {
	content := func(w io.Writer) error {
		if _, err := fmt.Fprintln(w, codesHead); err != nil {
			return err
		}
		for _, c := range codes {
			if _, err := fmt.Fprintln(w, setting.Quote(c)); err != nil {
				return err
			}
		}
		return nil
	}
	is := func(r io.Reader) bool {
		begin := make([]byte, len(codesHead))
		_, err := io.ReadFull(r, begin)
		return err == nil && string(begin) == codesHead
	}
	return writeFile(ctx, path, force, is, content)
}

// codesHead begins a list of codes that card frame has written.
const codesHead = "# the cells of a measuring sheet, a code a line"
