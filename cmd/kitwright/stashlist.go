package main

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/pflag"

	"kitwright/internal/say"
	"kitwright/internal/setting"
	"kitwright/kit"
	"kitwright/stash"
)

func stashListCommand() command {
	return command{
		name: "stash list", args: "[CODE...]", summary: "show what you own",
		about: `Lists your lots: how many drills of each code, finish, shape and size, and where they lie.
			Empty lots are left out unless --all is given.`,
		example: "kitwright stash list\nkitwright stash list --drill round SR-041",
		bind: func(fs *pflag.FlagSet) func(context.Context, env, []string) error {
			var run stashRun
			var form listingForm
			var all bool
			var shape kit.Shape
			fs.Var(textValue{&run.card, "NAME"}, "card", "only drills of this card")
			fs.Var(setting.Of(&shape, kit.Square, kit.Round), "drill", "only drills of this shape")
			fs.BoolVar(&all, "all", false, "empty lots too")
			form.bind(fs)
			run.bind(fs)
			return func(_ context.Context, e env, args []string) error {
				if err := form.check(); err != nil {
					return err
				}
				l, err := run.place.open(e, run.cards)
				if err != nil {
					return err
				}
				var lots []stash.Lot
				for _, lot := range l.Lots() {
					if (all || lot.Drills != 0) && (run.card == "" || strings.EqualFold(lot.Card, run.card)) &&
						(shape == "" || lot.Shape == string(shape)) && (len(args) == 0 || slices.ContainsFunc(args, lotCalled(lot.Key))) {
						lots = append(lots, lot)
					}
				}
				return run.list(e, l, lots, form, len(args) > 0 || run.card != "" || shape != "")
			}
		},
	}
}

// lotCalled says whether a lot is meant by a code or an address.
func lotCalled(k stash.Key) func(string) bool {
	return func(s string) bool {
		s = strings.TrimSpace(s)
		return strings.EqualFold(k.Address(), s) || strings.EqualFold(k.Code, s)
	}
}

func (r *stashRun) list(e env, l *stash.Ledger, lots []stash.Lot, form listingForm, some bool) error {
	t := listing{head: []string{"card", "code", "finish", "name", "hex", "shape", "size", "drills", "place", "note"}}
	called := r.names(lots)
	drills := 0
	for _, lot := range lots {
		name, hex := called(lot.Key)
		t.add(lot.Card, lot.Code, string(lot.Finish), name, hex, lot.Shape, lot.Size.String(), lot.Drills, lot.Place, lot.Note)
		drills += lot.Drills
	}
	if !form.forPeople() {
		return t.write(e.stdout, form)
	}
	if len(lots) == 0 {
		word := "Your stash is empty"
		if some {
			word = "Your stash has no such drills"
		}
		_, err := fmt.Fprintf(e.stdout, "%s (%s).\n", word, l.Path())
		return err
	}
	if err := t.write(e.stdout, form); err != nil {
		return err
	}
	_, err := fmt.Fprintf(e.stdout, "\n%s in %s (%s)\n", say.Count(drills, "drill"), say.Count(len(lots), "lot"), l.Path())
	return err
}

func stashHistoryCommand() command {
	return command{
		name: "stash history", args: "[CODE]", summary: "what was put into a lot and taken out, and when",
		about: `Shows the entries of your stash in the order they were written, of one color or of all: what
			came, what went, for which kit, and what was left after it. Entries that were undone are marked.`,
		example: "kitwright stash history SR-041",
		bind: func(fs *pflag.FlagSet) func(context.Context, env, []string) error {
			var run stashRun
			var form listingForm
			fs.Var(textValue{&run.card, "NAME"}, "card", "only drills of this card")
			form.bind(fs)
			run.bind(fs)
			return func(_ context.Context, e env, args []string) error {
				if len(args) > 1 {
					return say.Usage("kitwright stash history SR-041", "history shows one color or all, not %d", len(args))
				}
				if err := form.check(); err != nil {
					return err
				}
				l, err := run.place.open(e, run.cards)
				if err != nil {
					return err
				}
				if len(args) == 1 {
					if err := known(l, args[0]); err != nil {
						return err
					}
				}
				return history(e, l, l.History(func(k stash.Key) bool {
					return (len(args) == 0 || lotCalled(k)(args[0])) && (run.card == "" || strings.EqualFold(k.Card, run.card))
				}), form)
			}
		},
	}
}

// known refuses a code that the stash never had, and names one that was
// probably meant.
func known(l *stash.Ledger, code string) error {
	var all []string
	for _, lot := range l.Lots() {
		if lotCalled(lot.Key)(code) {
			return nil
		}
		all = append(all, lot.Address())
	}
	try := "kitwright stash list {all} shows every lot"
	if near := setting.Near(code, all); near != "" {
		try = say.Hint("%s is in it; ", near) + try
	}
	return say.Usage(try, "the stash never had drills of %q", code)
}

func history(e env, l *stash.Ledger, lines []stash.Line, form listingForm) error {
	t := listing{head: []string{"entry", "date", "act", "card", "code", "finish", "shape", "size", "drills", "left", "place", "note", "kit"}}
	left := map[stash.Key]int{}
	for _, x := range lines {
		left[x.Key] += x.Drills
		act := string(x.Act)
		if x.Ref != "" {
			act += " (" + x.Ref + ")"
		}
		if !l.InForce(x.Entry) {
			act += ", undone"
		}
		change := plain(x.Drills, 0)
		if x.Drills > 0 && form.forPeople() {
			change = "+" + change
		}
		var drills any = x.Drills
		if form.forPeople() {
			drills = change
		}
		t.add(x.Entry, x.Date, act, x.Card, x.Code, string(x.Finish), x.Shape, x.Size.String(), drills, left[x.Key], x.Place, x.Note, x.Kit)
	}
	if form.forPeople() && len(lines) == 0 {
		_, err := fmt.Fprintf(e.stdout, "Nothing was written into your stash yet (%s).\n", l.Path())
		return err
	}
	return t.write(e.stdout, form)
}
