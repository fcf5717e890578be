package main

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/pflag"

	"kitwright/internal/say"
	"kitwright/palettes"
	"kitwright/plan"
	"kitwright/stash"
)

// lotNotes is where drills lie, and what is to be remembered about them.
type lotNotes struct{ place, note string }

func (n *lotNotes) bind(fs *pflag.FlagSet) {
	fs.Var(textValue{&n.place, "TEXT"}, "place", "where they lie, such as \"box 3\"")
	fs.Var(textValue{&n.note, "TEXT"}, "note", "what to remember about them")
}

func stashAddCommand() command {
	return command{
		name: "stash add", args: "CODE=DRILLS...", summary: "put drills into your stash",
		about: `Adds drills to what you own: bags you bought, leftovers of a boxed kit. The codes are those of
			a card; CODE/FINISH for one with a finish. Lots of another shape or size are others. Instead of a
			number you may give a weight, if you say with --weighed what some counted drills weigh.`,
		example: "kitwright stash add --card my-drills SR-041=200 SR-007/AB=35\nkitwright stash add --drill round --place \"tin 2\" SR-041=1000",
		bind: func(fs *pflag.FlagSet) func(context.Context, env, []string) error {
			return bindEnter(fs, "stash add", func(ctx context.Context, l *stash.Ledger, day string, what []stash.Amount) ([]stash.Line, error) {
				return l.Add(ctx, day, what...)
			})
		},
	}
}

func stashCountCommand() command {
	return command{
		name: "stash count", args: "CODE=DRILLS...", summary: "correct a lot to what you counted",
		about: `Says how many drills a lot really holds. The difference to what the stash thought is recorded;
			0 empties the lot. A weight will do if you say what some counted drills weigh, without their bag:
			how far it may be off comes of the steps of your scale alone; drills of another color may weigh
			a little more or less.`,
		example: "kitwright stash count SR-041=163\nkitwright stash count --weighed 500=4.20g SR-041=3.37g",
		bind: func(fs *pflag.FlagSet) func(context.Context, env, []string) error {
			return bindEnter(fs, "stash count", func(ctx context.Context, l *stash.Ledger, day string, what []stash.Amount) ([]stash.Line, error) {
				return l.Count(ctx, day, what...)
			})
		},
	}
}

// bindEnter binds a command that enters amounts.
func bindEnter(fs *pflag.FlagSet, name string, enter func(context.Context, *stash.Ledger, string, []stash.Amount) ([]stash.Line, error)) job {
	var run stashRun
	var notes lotNotes
	var weighed plan.Weighed
	run.bindLots(fs)
	fs.Var(&weighed, "weighed", "what some counted drills weigh, as in 500=4.2g: then weights such as 83.5g are taken for numbers")
	notes.bind(fs)
	run.bindDate(fs)
	run.bind(fs)
	return func(ctx context.Context, e env, args []string) error {
		if len(args) == 0 {
			return say.Usage("kitwright "+name+" SR-041=200", "%s needs a code and a number of drills", name)
		}
		day, l, err := run.begin(e)
		if err != nil {
			return err
		}
		card, err := run.theCard(e, l)
		if err != nil {
			return err
		}
		var what []stash.Amount
		was := map[stash.Key]stash.Lot{}
		for _, arg := range args {
			a, err := run.amount(e, card, arg, weighed)
			if err != nil {
				return err
			}
			a.Place, a.Note = notes.place, notes.note
			what = append(what, a)
			was[a.Key] = l.Lot(a.Key)
		}
		lines, err := enter(ctx, l, day, what)
		if err != nil {
			return err
		}
		if err := tellEntry(e, l, lines); err != nil {
			return err
		}
		return tellMoved(e, l, lines, was)
	}
}

// amount reads CODE=DRILLS, or CODE=GRAMS of drills that were weighed.
func (r *stashRun) amount(e env, card *palettes.Card, arg string, weighed plan.Weighed) (a stash.Amount, err error) {
	at := strings.LastIndexByte(arg, '=')
	if at <= 0 || strings.TrimSpace(arg[at+1:]) == "" {
		return a, say.Usage("write SR-041=200", "%q is not of the form CODE=DRILLS", arg)
	}
	if a.Key, err = r.key(card, arg[:at]); err != nil {
		return a, err
	}
	text := strings.TrimSpace(arg[at+1:])
	if !plan.IsMass(text) {
		a.Drills, err = drillCount(text)
		return a, err
	}
	var off int
	if a.Drills, off, err = weighed.Count(text); err != nil {
		return a, err
	}
	a.How = fmt.Sprintf("weighed %s of %s", text, weighed.String())
	_, err = fmt.Fprintf(e.stdout, "%s weighs as %s drills, give or take %s\n", a.Address(), say.Number(a.Drills), say.Number(off))
	return a, err
}

// drillCount reads a whole number of drills, which may have commas between its
// thousands.
func drillCount(s string) (int, error) {
	text := strings.TrimSpace(s)
	head, groups, _ := strings.Cut(text, ",")
	if groups != "" {
		for _, g := range strings.Split(groups, ",") {
			if len(g) != 3 {
				head = ""
			}
		}
		text = strings.ReplaceAll(text, ",", "")
	}
	n, err := strconv.Atoi(text)
	if head == "" || err != nil || strings.HasPrefix(text, "+") {
		return 0, say.Usage("write it as in 200", "%q is not a number of drills", s)
	}
	if n < 0 || n > stash.MaxDrills {
		return 0, say.Usage("a lot holds 0 to "+say.Number(stash.MaxDrills)+" drills", "there cannot be %s drills", text)
	}
	return n, nil
}

// tellEntry tells what an entry did to each lot.
func tellEntry(e env, l *stash.Ledger, lines []stash.Line) error {
	tellNotes(e, l)
	for _, x := range lines {
		change := "+" + say.Number(x.Drills)
		if x.Drills < 0 {
			change = say.Number(x.Drills)
		}
		if _, err := fmt.Fprintf(e.stdout, "%s  %s, %s now\n", lotWords(x.Key), change, say.Number(l.Lot(x.Key).Drills)); err != nil {
			return err
		}
	}
	return nil
}

// tellMoved names the places and notes that an entry has put in place of others.
func tellMoved(e env, l *stash.Ledger, lines []stash.Line, was map[stash.Key]stash.Lot) error {
	for _, x := range lines {
		old, now := was[x.Key], l.Lot(x.Key)
		for _, c := range []struct{ what, old, now string }{{"place", old.Place, now.Place}, {"note", old.Note, now.Note}} {
			if c.old == "" || c.old == c.now {
				continue
			}
			if _, err := fmt.Fprintf(e.stdout, "The %s of all of %s is now %q; it was %q.\n", c.what, x.Address(), c.now, c.old); err != nil {
				return err
			}
		}
	}
	return nil
}

// tellNotes tells what was mended while an entry was written.
func tellNotes(e env, l *stash.Ledger) {
	for _, n := range l.Notes() {
		fmt.Fprintf(e.stderr, "%s: %s\n", l.Path(), n)
	}
}

// lotWords says which drills are meant.
func lotWords(k stash.Key) string {
	return fmt.Sprintf("%s %s (%s, %s)", k.Card, k.Address(), k.Shape, k.Size)
}

func stashUndoCommand() command {
	return command{
		name: "stash undo", summary: "take the last entry back",
		about: `Takes the last entry back by adding its opposite: both stay in the file. Once more takes back
			the one before it.`,
		example: "kitwright stash undo",
		bind: func(fs *pflag.FlagSet) func(context.Context, env, []string) error {
			var run stashRun
			run.bindDate(fs)
			run.bind(fs)
			return func(ctx context.Context, e env, args []string) error {
				if err := wantArgs(args, 0, "stash undo takes no arguments", "kitwright stash undo"); err != nil {
					return err
				}
				day, l, err := run.begin(e)
				if err != nil {
					return err
				}
				was, lines, err := l.Undo(ctx, day)
				if err != nil {
					return err
				}
				if _, err := fmt.Fprintf(e.stdout, "Undone: entry %d, %s of %s\n", was[0].Entry, was[0].Act, was[0].Date); err != nil {
					return err
				}
				return tellEntry(e, l, lines)
			}
		},
	}
}
