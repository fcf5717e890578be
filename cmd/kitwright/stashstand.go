package main

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/spf13/pflag"

	"kitwright/folder"
	"kitwright/internal/say"
	"kitwright/kit"
	"kitwright/lab"
	"kitwright/palettes"
	"kitwright/render"
	"kitwright/stash"
)

// farStandIn is where a stand-in is pointed out as plainly another color,
// CIEDE2000: our reading, no source.
const farStandIn = 5

func stashStandInsCommand() command {
	return command{
		name: "stash stand-ins", args: "KIT|LIST", summary: "what could replace the colors you have too few of",
		about: `Compares a kit with your stash: which colors you have enough of, which fall short, and for all
			shortages together the owned colors that come nearest. A stand-in is of the same shape, size and
			finish, has enough drills, is used for one color only, and does not look like another color of the
			picture (--apart) unless the one it replaces did. As few colors as possible are left to buy. The
			kit may be a folder of ours or a list: a table with a code and a number of drills in each row, as
			you type it in from a boxed kit. --apply makes the swaps in a kit of ours, like kitwright edit,
			which takes them back.`,
		example: "kitwright stash stand-ins ginger-kit\nkitwright stash stand-ins --card my-drills boxed-kit.csv",
		bind: func(fs *pflag.FlagSet) func(context.Context, env, []string) error {
			s := standing{apart: 4, within: 10}
			s.bind(fs)
			return func(ctx context.Context, e env, args []string) error { return s.run(ctx, e, args) }
		},
	}
}

// standing is the search for stand-ins.
type standing struct {
	stashRun
	apart, within decimal
	columns       string
	apply, quiet  bool
	form          listingForm
}

func (s *standing) bind(fs *pflag.FlagSet) {
	s.bindLots(fs)
	fs.Var(&s.apart, "apart", "how far a stand-in must lie from every other color of the picture (CIEDE2000)")
	fs.Var(&s.within, "within", "how far a stand-in may lie from the color it replaces")
	fs.Var(textValue{&s.columns, "WHAT=COLUMN,..."}, "columns", "of a list: which column holds what, as in code=2,drills=5; guessed and said unless given")
	fs.BoolVar(&s.apply, "apply", false, "make the swaps in the kit, as edits by hand")
	fs.BoolVarP(&s.quiet, "quiet", "q", false, "show no progress while the kit is made again")
	s.form.bind(fs)
	s.stashRun.bind(fs)
}

// standNeed is a color of the picture and what becomes of it.
type standNeed struct {
	number  string // in the kit's legend
	drill   palettes.Drill
	needed  int
	owned   int
	standIn int // index of an offer; -1 = none
}

func (s *standing) run(ctx context.Context, e env, args []string) error {
	if err := wantArgs(args, 1, "one kit folder or one list is needed", "kitwright stash stand-ins ginger-kit"); err != nil {
		return err
	}
	if err := s.form.check(); err != nil {
		return err
	}
	if s.within > stash.MostWithin {
		return say.Usage("a color that far away is no stand-in", "{within} takes up to %d", stash.MostWithin)
	}
	l, err := s.place.open(e, s.cards)
	if err != nil {
		return err
	}
	info, err := os.Stat(args[0])
	isKit := err == nil && info.IsDir() || filepath.Base(args[0]) == "kit.json"
	var needs []standNeed
	var k *kit.Kit
	var card *palettes.Card
	from := sourceAt(kitFolder(args[0]))
	if isKit {
		if k, err = folder.Read(from.dir); err != nil {
			return err
		}
		needs, card, err = s.ofKit(e, l, k)
	} else {
		if s.apply {
			return say.Usage("leave out {apply}", "swaps can be made in a kit folder, and %s is none", args[0])
		}
		needs, card, err = s.ofList(e, l, args[0])
	}
	if err != nil {
		return err
	}
	offers, drills := s.offers(l, card, needs)
	answer, err := s.find(ctx, needs, offers, drills)
	if err != nil {
		return err
	}
	if err := s.tell(e, args[0], needs, offers, drills, answer); err != nil || !s.apply {
		return err
	}
	return s.swap(ctx, e, from, k, needs, drills)
}

// ofKit returns what a kit of ours needs. What was taken for it already counts
// as owned.
func (s *standing) ofKit(e env, l *stash.Ledger, k *kit.Kit) ([]standNeed, *palettes.Card, error) {
	name, err := cardInStash(l, k, s.card)
	if err != nil {
		return nil, nil, err
	}
	is, err := asStashed(k, name)
	if err != nil {
		return nil, nil, err
	}
	card, err := s.cards.open(e, &name)
	if err != nil {
		return nil, nil, err
	}
	s.drill = k.Drill.Shape
	s.size.Length, s.size.Given = k.Drill.Size, true
	s.card = is.Needs[0].Card
	out := l.KitState(is.Mark).Out
	var needs []standNeed
	for i, n := range is.Needs {
		x := k.Chart.Legend[i]
		needs = append(needs, standNeed{number: strconv.Itoa(x.Number), drill: x.Drill, needed: n.Placed, owned: max(0, l.Lot(n.Key).Drills) + max(0, out[n.Key]), standIn: -1})
	}
	return needs, card, nil
}

// ofList returns what a list needs.
func (s *standing) ofList(e env, l *stash.Ledger, path string) (needs []standNeed, card *palettes.Card, err error) {
	if card, err = s.theCard(e, l); err != nil {
		return nil, nil, err
	}
	t, err := readDrills(path, s.columns, func(code string) bool { _, ok := card.Index(code); return ok })
	if err != nil {
		return nil, nil, err
	}
	tellLines(e.stderr, guesses(t))
	have := l.Owned(card.Name, string(s.drill), s.sizeOf())
	at := map[string]int{}
	bad := 0
	for _, row := range t.rows {
		why := row.bad
		var i int
		if why == "" {
			var ok bool
			if i, ok = card.Index(row.address); !ok {
				why = fmt.Sprintf("the card %s has no color %q", card.Name, row.address)
				if near := nearCode(card, row.address); near != "" {
					why += "; " + near + " is on it"
				}
			}
		}
		if why != "" {
			bad++
			fmt.Fprintf(e.stderr, "%s, line %d: %s\n", t.name, row.line, why)
			continue
		}
		d := card.Drills[i]
		if j, twice := at[d.Address()]; twice {
			needs[j].needed += row.drills
			continue
		}
		at[d.Address()] = len(needs)
		needs = append(needs, standNeed{drill: d, needed: row.drills, owned: have[d.Address()], standIn: -1})
	}
	if bad > 0 {
		return nil, nil, say.Failed("mend them: a list with gaps would give wrong advice", "%s of %s cannot be used", say.Count(bad, "row"), path)
	}
	return needs, card, nil
}

// offers returns the owned colors that the picture does not use.
func (s *standing) offers(l *stash.Ledger, card *palettes.Card, needs []standNeed) (offers []stash.Offer, drills []palettes.Drill) {
	used := map[string]bool{}
	for _, n := range needs {
		used[n.drill.Address()] = true
	}
	have := l.Owned(orElse(s.card, card.Name), string(s.drill), s.sizeOf())
	for _, d := range card.Drills {
		if n := have[d.Address()]; n > 0 && !used[d.Address()] {
			offers, drills = append(offers, stash.Offer{Color: d.Lab, Drills: n}), append(drills, d)
		}
	}
	return offers, drills
}

// find chooses the stand-ins.
func (s *standing) find(ctx context.Context, needs []standNeed, offers []stash.Offer, drills []palettes.Drill) (stash.StandIns, error) {
	var wanted []stash.Wanted
	var kept []lab.Color
	var at []int
	for i, n := range needs {
		if n.owned >= n.needed {
			kept = append(kept, n.drill.Lab)
			continue
		}
		at = append(at, i)
		wanted = append(wanted, stash.Wanted{Color: n.drill.Lab, Drills: n.needed})
	}
	for j := range offers {
		offers[j].For = func(i int) bool { return needs[at[i]].drill.Finish == drills[j].Finish }
	}
	answer, err := stash.FindStandIns(ctx, wanted, kept, offers, float64(s.apart), float64(s.within))
	if err != nil {
		return answer, err
	}
	for i, c := range answer.For {
		needs[at[i]].standIn = c
	}
	return answer, nil
}

// tell lists every color with what becomes of it.
func (s *standing) tell(e env, what string, needs []standNeed, offers []stash.Offer, drills []palettes.Drill, answer stash.StandIns) error {
	t := listing{head: []string{"no.", "code", "needed", "owned", "verdict", "stand-in", "has", "difference"}}
	enough, replaced := 0, 0
	var buy, far []string
	for _, n := range needs {
		switch {
		case n.owned >= n.needed:
			enough++
			t.add(n.number, n.drill.Address(), n.needed, n.owned, "enough", "", nil, nil)
		case n.standIn >= 0:
			replaced++
			d := drills[n.standIn]
			diff := lab.DeltaE(n.drill.Lab, d.Lab)
			if diff > farStandIn {
				far = append(far, d.Address())
			}
			t.add(n.number, n.drill.Address(), n.needed, n.owned, "short", d.Address(), offers[n.standIn].Drills, diff)
		default:
			buy = append(buy, fmt.Sprintf("%s of %s", say.Number(n.needed-n.owned), n.drill.Address()))
			t.add(n.number, n.drill.Address(), n.needed, n.owned, "buy", "", nil, nil)
		}
	}
	if err := t.write(e.stdout, s.form); err != nil || !s.form.forPeople() {
		return err
	}
	var b strings.Builder
	fmt.Fprintf(&b, "\n%s: %d enough, %d short", what, enough, len(needs)-enough)
	if n := len(needs) - enough; n > 0 {
		fmt.Fprintf(&b, "; %d with a stand-in, %d to buy", replaced, n-replaced)
	}
	fmt.Fprintln(&b, ".")
	if len(far) > 0 {
		fmt.Fprintf(&b, "Plainly another color than what it replaces (over %d): %s. Lay the two side by side first.\n", farStandIn, strings.Join(far, ", "))
	}
	if len(buy) > 0 {
		fmt.Fprintf(&b, "No owned color fits in place of the rest. Buy %s.\n", atMost(buy, 8, "color"))
	}
	if !answer.Proven {
		fmt.Fprintln(&b, "There may be better stand-ins: the search was ended before it had tried all.")
	}
	_, err := fmt.Fprint(e.stdout, b.String())
	return err
}

// atMost lists so many things, and counts the others.
func atMost(things []string, most int, noun string) string {
	if len(things) <= most+1 {
		return strings.Join(things, ", ")
	}
	return strings.Join(things[:most], ", ") + " and of " + say.Count(len(things)-most, "more "+noun)
}

// swap makes the swaps in the kit.
func (s *standing) swap(ctx context.Context, e env, from source, k *kit.Kit, needs []standNeed, drills []palettes.Drill) error {
	var edits []kit.Edit
	for _, n := range needs {
		if n.standIn >= 0 {
			edits = append(edits, kit.Edit{Act: kit.Swap, From: n.drill.Address(), To: drills[n.standIn]})
		}
	}
	if len(edits) == 0 {
		_, err := fmt.Fprintln(e.stdout, "There is nothing to swap.")
		return err
	}
	p := render.DefaultPrint().In(locale())
	fs := pflag.NewFlagSet("print", pflag.ContinueOnError)
	p.Bind(fs)
	if err := keepSettings(fs, k.Print, "the kit's prints"); err != nil {
		return err
	}
	return editKit(ctx, e, from, k, p, edits, "", s.quiet)
}

// decimal is a flag's value for a number from 0 to 100.
type decimal float64

func (d *decimal) String() string { return strconv.FormatFloat(float64(*d), 'f', -1, 64) }

func (d *decimal) Set(text string) error {
	v, err := strconv.ParseFloat(strings.Replace(strings.TrimSpace(text), ",", ".", 1), 64)
	if err != nil || !(v >= 0 && v <= 100) {
		return say.Usage("", "it takes a number from 0 to 100, not %q", text)
	}
	*d = decimal(v)
	return nil
}

func (d *decimal) Type() string { return "NUMBER" }
