package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/pflag"

	"kitwright/folder"
	"kitwright/internal/say"
	"kitwright/kit"
	"kitwright/stash"
)

// kitRun is what the commands have in common that move drills for a kit.
type kitRun struct {
	stashRun
	dir string
	kit *kit.Kit
	is  stash.Kit
}

func (r *kitRun) bind(fs *pflag.FlagSet) {
	fs.Var(textValue{&r.card, "NAME"}, "card", "the card under which your stash keeps these colors; the kit's own unless given")
	r.bindDate(fs)
	r.stashRun.bind(fs)
}

// open opens the kit and the stash.
func (r *kitRun) open(e env, args []string, command string) (*stash.Ledger, error) {
	if err := wantArgs(args, 1, "one kit folder is needed", "kitwright "+command+" ginger-kit"); err != nil {
		return nil, err
	}
	var err error
	r.dir = kitFolder(args[0])
	if r.kit, err = folder.Read(r.dir); err != nil {
		return nil, err
	}
	l, err := r.place.open(e, r.cards)
	if err != nil {
		return nil, err
	}
	card, err := cardInStash(l, r.kit, r.card)
	if err != nil {
		return nil, err
	}
	r.is, err = asStashed(r.kit, card)
	return l, err
}

// asStashed returns a kit as the stash knows it, its colors being kept under a
// card's name.
func asStashed(k *kit.Kit, card string) (stash.Kit, error) {
	made := k
	if k.Edits != nil {
		made = k.Edits.Made
	}
	s := stash.Kit{Mark: made.Chart.Mark(), Chart: k.Chart.Sum(), Title: k.Title}
	supply, err := supplyOf(k)
	if err != nil {
		return s, err
	}
	for _, x := range k.Chart.Legend {
		key := stash.Key{Card: card, Code: x.Drill.Code, Finish: x.Drill.Finish, Shape: string(k.Drill.Shape), Size: k.Drill.Size}
		_, extra := supply.WithExtra(x.Count)
		copies := max(1, int(supply.Copies))
		s.Needs = append(s.Needs, stash.Need{Key: key, Placed: copies * x.Count, Extra: copies * extra})
	}
	return s, nil
}

// cardInStash returns the name under which the stash keeps the colors of a
// kit: the one asked for, or that of the kit's card.
func cardInStash(l *stash.Ledger, k *kit.Kit, asked string) (string, error) {
	name := k.Card.Name
	if asked != "" {
		name = asked
	}
	cards := l.Cards()
	for _, c := range cards {
		if strings.EqualFold(c, name) {
			return c, nil
		}
	}
	if asked != "" {
		return "", say.Usage(say.Hint("it has drills of %s", orNothing(cards)), "your stash has no drills of the card %q", asked)
	}
	best, most := "", 0
	for _, c := range cards {
		owned, n := l.Owned(c, string(k.Drill.Shape), k.Drill.Size), 0
		for _, x := range k.Chart.Legend {
			if owned[x.Drill.Address()] > 0 {
				n++
			}
		}
		if n > most {
			best, most = c, n
		}
	}
	if best != "" {
		return "", say.Failed(say.Hint("{card} %s takes them from there, if the two are one", best),
			"your stash has no drills of the kit's card %s, but %s of its codes under the card %s", name, say.Number(most), best)
	}
	return name, nil
}

func orNothing(names []string) string {
	if len(names) == 0 {
		return "none at all"
	}
	return strings.Join(names, ", ")
}

func stashTakeCommand() command {
	return command{
		name: "stash take", args: "KIT", summary: "take what a kit needs out of your stash",
		about: `Takes the drills of a kit out of your stash: those of its picture, and its extra as far as you
			own it, for all --copies that it was printed for. All of it is taken or nothing: where a color falls short, nothing is, unless you say
			--partly because you will buy what is missing. A kit is not taken twice: --again takes it for
			another copy, --rest what fell short before or is needed since you changed colors by hand. Drills
			of another shape, size or finish never count.`,
		example: "kitwright stash take ginger-kit\nkitwright stash take --partly ginger-kit",
		bind: func(fs *pflag.FlagSet) func(context.Context, env, []string) error {
			var run kitRun
			var how stash.How
			fs.BoolVar(&how.Partly, "partly", false, "take what you own of it, even where that falls short")
			fs.BoolVar(&how.Again, "again", false, "take it once more, for another copy")
			fs.BoolVar(&how.Rest, "rest", false, "take what is missing since it was taken, and give back what is needed no longer")
			run.bind(fs)
			return func(ctx context.Context, e env, args []string) error {
				day, err := run.day()
				if err != nil {
					return err
				}
				l, err := run.open(e, args, "stash take")
				if err != nil {
					return err
				}
				lines, err := l.Take(ctx, day, run.is, how)
				var short *stash.ShortError
				if errors.As(err, &short) {
					return run.tooFew(l, short)
				}
				if err != nil {
					return err
				}
				tellNotes(e, l)
				return run.tellTaken(e.stdout, l, lines)
			}
		},
	}
}

// tooFew says that a kit cannot be taken, and what lies in the stash that does
// not count.
func (r *kitRun) tooFew(l *stash.Ledger, short *stash.ShortError) error {
	try := "kitwright stash stand-ins shows what could replace them, and stash add enters what you bought; {partly} takes what you own"
	for _, s := range short.Short {
		for _, lot := range l.Lots() {
			if lot.Drills > 0 && lot.Code == s.Code && lot.Key != s.Key && strings.EqualFold(lot.Card, s.Card) {
				try = say.Hint("you own %s (%s, %s), which never counts as %s (%s, %s); ", lot.Address(), lot.Shape, lot.Size, s.Address(), s.Shape, s.Size) + try
				return r.shortOf(short, try)
			}
		}
	}
	for _, c := range l.Cards() {
		if s := short.Short[0]; !strings.EqualFold(c, s.Card) && l.Owned(c, s.Shape, s.Size)[s.Address()] > 0 {
			try = say.Hint("your stash keeps %s under the card %s, too: {card} takes from there; ", s.Address(), c) + try
			break
		}
	}
	return r.shortOf(short, try)
}

func (r *kitRun) shortOf(short *stash.ShortError, try string) error {
	word := "colors fall"
	if len(short.Short) == 1 {
		word = "color falls"
	}
	return say.Failed(try, "%d %s short, so nothing was taken for %s: %s", len(short.Short), word, r.dir, short)
}

// tellTaken lists what was taken for each color, and what is still to be had.
func (r *kitRun) tellTaken(w io.Writer, l *stash.Ledger, lines []stash.Line) error {
	taken, drills := map[stash.Key]int{}, 0
	for _, x := range lines {
		taken[x.Key] -= x.Drills
		drills -= x.Drills
	}
	s := l.KitState(r.is.Mark)
	t := listing{head: []string{"no.", "code", "needed", "extra", "taken", "left", "missing"}}
	missing, needs := 0, map[stash.Key]bool{}
	for i, n := range r.is.Needs {
		needs[n.Key] = true
		lacks := max(0, n.Placed*s.Copies-s.Out[n.Key])
		missing += lacks
		t.add(r.kit.Chart.Legend[i].Number, n.Address(), n.Placed, n.Extra, taken[n.Key], l.Lot(n.Key).Drills, lacks)
	}
	for _, x := range lines {
		if !needs[x.Key] {
			t.add("", x.Address(), 0, 0, taken[x.Key], l.Lot(x.Key).Drills, 0)
		}
	}
	if err := t.write(w, listingForm{}); err != nil {
		return err
	}
	words := fmt.Sprintf("%s taken for %s (kit %s)", say.Count(drills, "drill"), r.dir, r.is.Mark)
	if drills < 0 {
		words = fmt.Sprintf("%s given back of %s (kit %s)", say.Count(-drills, "drill"), r.dir, r.is.Mark)
	}
	if missing > 0 {
		words += fmt.Sprintf("; %s still to be had", say.Number(missing))
	}
	_, err := fmt.Fprintf(w, "\n%s.\n", words)
	return err
}

func stashReturnCommand() command {
	return command{
		name: "stash return", args: "KIT", summary: "put back what is left over of a kit",
		about: `Puts leftovers back into your stash once a kit is done. Without more it is reckoned: what was
			taken less what the picture holds, as if none had been lost; stash count corrects that later.
			--left names what you counted, and only that comes back. --all gives back everything that was
			taken because the kit will not be made.`,
		example: "kitwright stash return ginger-kit\nkitwright stash return --left SR-041=35 --left SR-007=120 ginger-kit",
		bind: func(fs *pflag.FlagSet) func(context.Context, env, []string) error {
			var run kitRun
			var back stash.Back
			var left manyTexts
			fs.Var(&left, "left", "what is left over of a color, as you counted it; may be repeated")
			fs.BoolVar(&back.All, "all", false, "give back all that was taken: the kit was not made")
			fs.BoolVar(&back.Again, "again", false, "put in more leftovers, though some came back already")
			run.bind(fs)
			return func(ctx context.Context, e env, args []string) error {
				if back.All && len(left) > 0 {
					return say.Usage("leave out one", "{all} and {left} were both given")
				}
				day, err := run.day()
				if err != nil {
					return err
				}
				l, err := run.open(e, args, "stash return")
				if err != nil {
					return err
				}
				if back.Left, err = run.leftovers(left); err != nil {
					return err
				}
				if err := notMoreThanTaken(l.KitState(run.is.Mark), back.Left); err != nil {
					return err
				}
				bought := run.boughtBeside(l.KitState(run.is.Mark))
				lines, err := l.Return(ctx, day, run.is, back)
				if err != nil {
					return err
				}
				if err := tellEntry(e, l, lines); err != nil || len(bought) == 0 {
					return err
				}
				_, err = fmt.Fprintf(e.stdout, "The stash never had all that the picture took of %s: what is left of bags bought for it comes in with kitwright stash add.\n", strings.Join(bought, ", "))
				return err
			}
		},
	}
}

// boughtBeside lists the colors of which a kit took fewer drills than its
// picture holds: the others came from elsewhere.
func (r *kitRun) boughtBeside(s stash.KitState) (codes []string) {
	for _, n := range r.is.Needs {
		if s.Taken.Entry > 0 && s.Out[n.Key] < n.Placed*s.Copies {
			codes = append(codes, n.Address())
		}
	}
	const most = 8
	if len(codes) > most {
		codes = append(codes[:most-1], say.Count(len(codes)-most+1, "more color"))
	}
	return codes
}

// notMoreThanTaken refuses leftovers that were never taken: more comes of bags
// that were bought, and those are entered as such.
func notMoreThanTaken(s stash.KitState, left []stash.Amount) error {
	for _, a := range left {
		if out := s.Out[a.Key]; s.Taken.Entry > 0 && a.Drills > out {
			return say.Usage("kitwright stash add enters what you bought beside them", "%s of %s cannot be left over of the %s that were taken", say.Count(a.Drills, "drill"), a.Address(), say.Number(out))
		}
	}
	return nil
}

// leftovers reads what was counted, by the codes of the kit.
func (r *kitRun) leftovers(left []string) (amounts []stash.Amount, err error) {
	for _, text := range left {
		at := strings.LastIndexByte(text, '=')
		if at <= 0 {
			return nil, say.Usage("write {left} SR-041=35", "%q is not of the form CODE=DRILLS", text)
		}
		d, err := r.kit.Find(text[:at], nil)
		if err != nil {
			return nil, say.Usage("kit.csv lists the colors of the kit", "no drill of the kit has the color %q", text[:at])
		}
		n, err := drillCount(text[at+1:])
		if err != nil {
			return nil, err
		}
		for _, need := range r.is.Needs {
			if need.Code == d.Code && need.Finish == d.Finish {
				amounts = append(amounts, stash.Amount{Key: need.Key, Drills: n})
			}
		}
	}
	return amounts, nil
}

// manyTexts is the value of a flag that may be repeated.
type manyTexts []string

func (m *manyTexts) String() string     { return strings.Join(*m, " ") }
func (m *manyTexts) Set(s string) error { *m = append(*m, s); return nil }
func (m *manyTexts) Type() string       { return "CODE=DRILLS" }
