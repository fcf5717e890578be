package main

import (
	"context"
	"fmt"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/pflag"

	"kitwright/internal/measure"
	"kitwright/internal/say"
	"kitwright/internal/setting"
	"kitwright/kit"
	"kitwright/lab"
	"kitwright/palettes"
	"kitwright/stash"
)

func stashCommand() command {
	return command{
		name: "stash", args: "list|add|count|...", summary: "keep count of the drills you own",
		about: `The stash is what you own: leftovers and bags, a lot for each code, finish, shape and size of a
			card. It lies in one CSV file in the folder of your data, which only ever grows: every command
			adds an entry, undo adds the opposite, and nothing is deleted. Look at the file in a spreadsheet,
			but do not save it from there: a line that was changed by hand no longer counts until
			stash repair has asked you about it.`,
		example: "kitwright stash add --card my-drills SR-041=200 SR-007=35\nkitwright stash list",
		parts:   []command{stashListCommand(), stashAddCommand(), stashCountCommand(), stashTakeCommand(), stashReturnCommand(), stashUndoCommand(), stashHistoryCommand(), stashImportCommand(), stashExportCommand(), stashRepairCommand(), stashStandInsCommand()},
		bind: func(*pflag.FlagSet) func(context.Context, env, []string) error {
			return func(_ context.Context, _ env, args []string) error {
				if len(args) == 0 {
					return say.Usage("kitwright stash list shows what you own; kitwright help stash", "stash needs to be told what to do, such as list or add")
				}
				var names []string
				for _, c := range stashCommand().parts {
					names = append(names, strings.TrimPrefix(c.name, "stash "))
				}
				try := "kitwright help stash"
				if near := setting.Near(args[0], names); near != "" {
					try = say.Hint("kitwright stash %s; %s", near, try)
				}
				return say.Usage(try, "stash has no command %q", args[0])
			}
		},
	}
}

// stashPlace is where the stash lies.
type stashPlace struct{ file string }

func (s *stashPlace) bind(fs *pflag.FlagSet) {
	fs.Var(textValue{&s.file, "FILE"}, "stash", "the file of your stash; "+stash.Name+" in the folder of your data unless given")
}

// path returns the ledger's file.
func (s stashPlace) path(cards cardPlaces) string {
	switch {
	case s.file != "":
		return s.file
	case cards.home != "":
		return filepath.Join(cards.home, stash.Name)
	}
	return stash.Default()
}

// open reads the stash, and tells what is broken in it.
func (s stashPlace) open(e env, cards cardPlaces) (*stash.Ledger, error) {
	l, err := stash.Open(s.path(cards))
	if err != nil {
		return nil, err
	}
	tellStash(e, l)
	return l, nil
}

// tellStash tells what is broken in a stash.
func tellStash(e env, l *stash.Ledger) {
	for _, n := range l.Notes() {
		fmt.Fprintf(e.stderr, "%s: %s\n", l.Path(), n)
	}
	const most = 8
	for i, f := range l.Faults() {
		if i == most {
			fmt.Fprintf(e.stderr, "  and in %d more places\n", len(l.Faults())-most)
			break
		}
		fmt.Fprintf(e.stderr, "%s: %s\n", l.Path(), f)
	}
	if len(l.Faults()) > 0 {
		fmt.Fprintf(e.stderr, "What is broken does not count until kitwright stash repair has asked about it.\n")
	}
}

// stashRun is what the commands of the stash have in common.
type stashRun struct {
	place stashPlace
	cards cardPlaces
	card  string
	drill kit.Shape
	size  measure.Auto
	date  string
	exact map[*palettes.Card]map[string]int // colors by address
}

func (r *stashRun) bind(fs *pflag.FlagSet) {
	r.place.bind(fs)
	r.cards.bind(fs)
}

// bindLots adds the flags that say which lots are meant.
func (r *stashRun) bindLots(fs *pflag.FlagSet) {
	fs.Var(textValue{&r.card, "NAME|FILE"}, "card", "the card that the codes are of; the one your stash has unless given")
	r.drill = kit.Square
	fs.Var(setting.Of(&r.drill, kit.Square, kit.Round), "drill", "the shape of the drills")
	fs.Var(&r.size, "drill-size", "how large they are, as sold; 2.5mm for square and 2.8mm for round unless given")
}

func (r *stashRun) bindDate(fs *pflag.FlagSet) {
	fs.Var(textValue{&r.date, "DATE"}, "date", "the day of the entry, as in 2026-11-26; today unless given")
}

// begin returns the day of an entry, and the ledger it goes into.
func (r *stashRun) begin(e env) (day string, l *stash.Ledger, err error) {
	if day, err = r.day(); err == nil {
		l, err = r.place.open(e, r.cards)
	}
	return day, l, err
}

// day returns the day of the entry.
func (r *stashRun) day() (string, error) {
	if r.date == "" {
		return time.Now().Format(time.DateOnly), nil
	}
	if _, err := time.Parse(time.DateOnly, r.date); err != nil || len(r.date) != len(time.DateOnly) {
		return "", say.Usage("write it as in {date} 2026-11-26", "%q is no day", r.date)
	}
	return r.date, nil
}

// sizeOf returns the size of the drills that are meant.
func (r *stashRun) sizeOf() measure.Length { return r.sizeOfShape(r.drill) }

func (r *stashRun) sizeOfShape(s kit.Shape) measure.Length {
	return r.size.Or(kit.Canvas{Drill: s}.Bare().Drill.Size)
}

// theCard opens the card that codes are of.
func (r *stashRun) theCard(e env, l *stash.Ledger) (*palettes.Card, error) {
	if r.card == "" {
		cards := l.Cards()
		if len(cards) != 1 {
			try := "name it with {card}; kitwright set card my-drills says it once for all runs"
			if len(cards) > 1 {
				try = say.Hint("your stash has drills of %s: name one with {card}", strings.Join(cards, ", "))
			}
			return nil, say.Usage(try, "it was not said which card the codes are of")
		}
		r.card = cards[0]
	}
	return r.cards.open(e, &r.card)
}

// key returns the lot of a code.
func (r *stashRun) key(card *palettes.Card, address string) (stash.Key, error) {
	i, ok := r.index(card, strings.TrimSpace(address))
	if !ok {
		return stash.Key{}, noCode(card, address)
	}
	d := card.Drills[i]
	return stash.Key{Card: card.Name, Code: d.Code, Finish: d.Finish, Shape: string(r.drill), Size: r.sizeOf()}, nil
}

// index finds a color of a card; a long table asks for many.
func (r *stashRun) index(card *palettes.Card, address string) (int, bool) {
	at := r.exact[card]
	if at == nil {
		at = map[string]int{}
		for i, d := range card.Drills {
			at[d.Address()] = i
		}
		if r.exact == nil {
			r.exact = map[*palettes.Card]map[string]int{}
		}
		r.exact[card] = at
	}
	if i, ok := at[address]; ok {
		return i, true
	}
	return card.Index(address)
}

// noCode says that a card has no such color, and names one that was probably
// meant.
func noCode(card *palettes.Card, address string) error {
	if all := card.Finishes(strings.TrimSpace(address)); len(all) > 1 {
		return say.Usage("name one of "+strings.Join(all, ", "), "%q has several finishes on the card %s", address, card.Name)
	}
	try := say.Hint("kitwright card show %s lists its codes", card.Name)
	if near := nearCode(card, address); near != "" {
		try = say.Hint("%s is on it; %s", near, try)
	}
	return say.Usage(try, "the card %s has no color %q", card.Name, address)
}

// nearCode returns the color of a card that was probably meant.
func nearCode(card *palettes.Card, address string) string {
	var all []string
	for _, d := range card.Drills {
		all = append(all, d.Address())
	}
	return setting.Near(address, all)
}

// names looks up what the colors of lots are called, where their card can be
// opened.
func (r *stashRun) names(lots []stash.Lot) func(stash.Key) (name string, rgb string) {
	cards := map[string]*palettes.Card{}
	for _, lot := range lots {
		if _, asked := cards[lot.Card]; asked {
			continue
		}
		cards[lot.Card] = nil
		if !strings.ContainsAny(lot.Card, `./\`) {
			name := lot.Card
			if res, err := r.cards.read(&name); err == nil {
				cards[lot.Card] = res.Card
			}
		}
	}
	return func(k stash.Key) (string, string) {
		card := cards[k.Card]
		if card == nil {
			return "", ""
		}
		i, ok := r.index(card, k.Address())
		if !ok {
			return "", ""
		}
		return card.Drills[i].Name, lab.Hex(card.Drills[i].RGB)
	}
}
