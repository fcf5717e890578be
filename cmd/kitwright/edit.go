package main

import (
	"context"
	"fmt"
	"io"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/spf13/pflag"

	"kitwright/chart"
	"kitwright/folder"
	"kitwright/internal/say"
	"kitwright/kit"
	"kitwright/palettes"
	"kitwright/render"
)

func editCommand() command {
	return command{
		name: "edit", args: "KIT", summary: "change colors of a kit by hand, and take changes back",
		about: `Changes the chart of a kit and prints it again: --swap gives every drill of one color another,
			--set gives some drills a color, by column and row from the top left. What stays keeps its
			number and its symbol. Every change is kept beside the kit and can be taken back; a kit
			that is made again from its photo gets them again where they fit. --from-csv takes a chart.csv
			or kit.csv that you changed in a spreadsheet.`,
		example: "kitwright edit --swap \"5R 4/14=5R 5/16\" ginger-kit\nkitwright edit --set 40,22:43,24=\"N 1\" ginger-kit",
		bind: func(fs *pflag.FlagSet) func(context.Context, env, []string) error {
			var asked wishes
			var undo, redo, list, quiet bool
			var table string
			var cardName cardFlag
			var cards cardPlaces
			fs.Var(asked.as(kit.Swap), "swap", "give every drill of color A the color B; may be repeated")
			fs.Var(asked.as(kit.Set), "set", "give the drills from one column and row to another a color; may be repeated")
			fs.Var(textValue{&table, "FILE"}, "from-csv", "take what you changed in a chart.csv (numbers or codes of colors) or a kit.csv (codes) in a spreadsheet")
			fs.BoolVar(&undo, "undo", false, "take the last change back")
			fs.BoolVar(&redo, "redo", false, "make the change that was taken back last")
			fs.BoolVar(&list, "list", false, "show what was changed")
			fs.Var(&cardName, "card", "the card that new colors are of; the kit's own unless given")
			cards.bind(fs)
			fs.BoolVar(&quiet, "quiet", false, "say nothing when all went well")
			p := render.DefaultPrint().In(locale())
			p.Bind(fs)
			return func(ctx context.Context, e env, args []string) error {
				if err := wantArgs(args, 1, "one kit folder is needed", "kitwright edit --list ginger-kit"); err != nil {
					return err
				}
				kinds := 0
				for _, is := range []bool{len(asked) > 0, table != "", undo, redo, list} {
					if is {
						kinds++
					}
				}
				if kinds != 1 {
					return say.Usage("kitwright edit --swap A=B KIT, or one of the others alone", "give {swap} and {set}, or {from-csv}, or {undo}, or {redo}, or {list}")
				}
				from := sourceAt(kitFolder(args[0]))
				k, err := folder.Read(from.dir)
				if err != nil {
					return err
				}
				if list {
					return listEdits(e.stdout, k)
				}
				if err := keepSettings(fs, k.Print, "the kit's prints"); err != nil {
					return err
				}
				edits := []kit.Edit{{Act: kit.Undo}}
				if redo {
					edits[0].Act = kit.Redo
				}
				if len(asked) > 0 || table != "" {
					card, err := cardOf(e, cards, k, from.dir, string(cardName))
					if err != nil {
						return err
					}
					if table != "" {
						edits, err = editsOfTable(table, k, card)
					} else {
						edits, err = asked.edits(k, card)
					}
					if err != nil {
						return err
					}
				}
				return editKit(ctx, e, from, k, p, edits, table, quiet)
			}
		},
	}
}

// cardFlag is the value of --card.
type cardFlag string

func (c *cardFlag) String() string     { return string(*c) }
func (c *cardFlag) Set(s string) error { *c = cardFlag(s); return nil }
func (c *cardFlag) Type() string       { return "NAME|FILE" }

// cardOf returns the card that new colors come from: the one named, or the
// kit's own where it can be had; nil where it can't. A card that was read from a
// file is looked for here and beside the kit, and has to be the very same.
func cardOf(e env, cards cardPlaces, k *kit.Kit, dir, name string) (*palettes.Card, error) {
	if name != "" {
		return cards.open(e, &name)
	}
	own := k.Card.Name
	if strings.ContainsAny(own, `./\`) && !cards.shelf().Has(own) {
		for _, path := range []string{own, filepath.Join(filepath.Dir(filepath.Clean(dir)), own)} {
			if res, err := cards.read(&path); err == nil && res.Card.SHA256() == k.Card.SHA256 {
				return res.Card, nil
			}
		}
		return nil, nil
	}
	card, err := cards.open(e, &own)
	if err != nil {
		return nil, nil // asked for by name only when a color is missing
	}
	return card, nil
}

// editKit changes a kit in its place.
func editKit(ctx context.Context, e env, from source, k *kit.Kit, p render.Print, edits []kit.Edit, table string, quiet bool) error {
	edited, err := k.Edit(edits...)
	if err != nil {
		return err
	}
	if err := p.Check(edited); err != nil {
		return err
	}
	edited.Print = p.Settings()
	job := folder.Job{Kit: edited, Print: p}
	files := folder.OutputsOf(job)
	dir, err := begin(ctx, from.dir, folder.Kits, folder.Options{Force: true, Keep: true, Spare: true})
	if err != nil {
		return err
	}
	defer dir.Drop()
	if err := from.unchanged(); err != nil {
		return err
	}
	if err := untouched(from.dir, k, table); err != nil {
		return err
	}
	if err := fillFolder(ctx, e, dir, files, job, quiet); err != nil || quiet {
		return err
	}
	if err := tellEdit(e.stdout, k, edited, edits); err != nil {
		return err
	}
	return tellTicked(e.stdout, from.dir, edited, p)
}

// tellEdit says what an edit changed.
func tellEdit(w io.Writer, was, is *kit.Kit, edits []kit.Edit) error {
	var b strings.Builder
	const most = 12
	for i, x := range edits {
		if i == most && len(edits) > most+1 {
			fmt.Fprintf(&b, "and %s more: kitwright edit --list shows them\n", say.Number(len(edits)-i))
			break
		}
		fmt.Fprintf(&b, "%s\n", x)
	}
	before := map[string]int{}
	for _, l := range was.Chart.Legend {
		before[l.Drill.Address()] = l.Count
	}
	for _, l := range is.Chart.Legend {
		n, there := before[l.Drill.Address()]
		delete(before, l.Drill.Address())
		if !there || n != l.Count {
			fmt.Fprintf(&b, "  no. %d  %s %s: %s, %s before\n", l.Number, l.Symbol.Name, l.Drill.Address(), say.Count(l.Count, "drill"), say.Number(n))
		}
	}
	for _, l := range was.Chart.Legend {
		if n, gone := before[l.Drill.Address()]; gone {
			fmt.Fprintf(&b, "  %s is gone: %s before\n", l.Drill.Address(), say.Count(n, "drill"))
		}
	}
	if is.Target == nil {
		fmt.Fprintf(&b, "  The kit has no %s, so how close it is now is not known.\n", kit.TargetFile)
	} else {
		fmt.Fprintf(&b, "  %.2f off the photo on average, %.2f before; %s in force.\n", is.Quality.MeanMiss, was.Quality.MeanMiss, say.Count(len(is.Edits.InForce()), "edit"))
	}
	fmt.Fprintf(&b, "  All prints were made again: use them together.\n")
	_, err := io.WriteString(w, b.String())
	return err
}

// listEdits shows the log, and which of it is in force.
func listEdits(w io.Writer, k *kit.Kit) error {
	var b strings.Builder
	if k.Edits == nil || len(k.Edits.Log) == 0 {
		fmt.Fprintln(&b, "Nothing was changed by hand.")
	} else {
		for i, x := range k.Edits.Log {
			note := ""
			if x.Left {
				note = "  (did not fit, left out)"
			}
			fmt.Fprintf(&b, "%4d  %s%s\n", i+1, x, note)
		}
		fmt.Fprintln(&b, "In force:")
		for _, x := range k.Edits.InForce() {
			fmt.Fprintf(&b, "      %s\n", x)
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// wishes are what --swap and --set ask for, in the order in which they were
// given.
type wishes []wish

type wish struct {
	act      kit.Act
	from, to string // addresses
	area     chart.Box
}

// as returns the flag's value that adds wishes of one kind.
func (w *wishes) as(act kit.Act) pflag.Value { return &wishFlag{w, act} }

type wishFlag struct {
	all *wishes
	act kit.Act
}

func (f *wishFlag) String() string { return "" }

func (f *wishFlag) Type() string {
	if f.act == kit.Swap {
		return "A=B"
	}
	return "COL,ROW[:COL,ROW]=CODE"
}

func (f *wishFlag) Set(s string) error {
	left, to, ok := strings.Cut(s, "=")
	left, to = strings.TrimSpace(left), strings.TrimSpace(to)
	w := wish{act: f.act, from: left, to: to}
	if !ok || left == "" || to == "" {
		return say.Usage("", "%q is not of the form %s", s, f.Type())
	}
	if f.act == kit.Set {
		a, b, two := strings.Cut(left, ":")
		if !two {
			b = a
		}
		x1, y1, ok1 := cell(a)
		x2, y2, ok2 := cell(b)
		if !ok1 || !ok2 || x2 < x1 || y2 < y1 {
			return say.Usage("", "%q is not of the form %s: columns and rows count from 1 at the top left", s, f.Type())
		}
		w.area = chart.Box{X: x1 - 1, Y: y1 - 1, W: x2 - x1 + 1, H: y2 - y1 + 1}
	}
	*f.all = append(*f.all, w)
	return nil
}

// cell reads a column and a row.
func cell(s string) (x, y int, ok bool) {
	a, b, two := strings.Cut(s, ",")
	x, err1 := strconv.Atoi(strings.TrimSpace(a))
	y, err2 := strconv.Atoi(strings.TrimSpace(b))
	return x, y, two && err1 == nil && err2 == nil && x >= 1 && y >= 1 && x <= kit.MaxDrills && y <= kit.MaxDrills
}

// edits looks the colors up.
func (w wishes) edits(k *kit.Kit, card *palettes.Card) (out []kit.Edit, err error) {
	for _, x := range w {
		e := kit.Edit{Act: x.act, Area: x.area}
		if e.To, err = k.Find(x.to, card); err != nil {
			return nil, err
		}
		if x.act == kit.Swap {
			from, err := k.Find(x.from, card)
			if err != nil {
				return nil, err
			}
			e.From = from.Address()
		}
		out = append(out, e)
	}
	return out, nil
}
