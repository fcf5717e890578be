package main

import (
	"context"
	"encoding/csv"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/pflag"

	"kitwright/folder"
	"kitwright/internal/say"
	"kitwright/internal/setting"
	"kitwright/internal/wording"
	"kitwright/kit"
	"kitwright/lab"
	"kitwright/palettes"
	"kitwright/plan"
	"kitwright/stash"
)

func poolCommand() command {
	return command{
		name: "pool", args: "KIT...", summary: "one shopping list for several kits, such as a class",
		about: `Adds up what several kits need and makes one shopping list of it: a class buys large bags
			together and pours each seat its own. Each kit named is a seat, so the same one may be named more
			than once. Every seat gets its extra. With --bags the cheapest mix of bags is found for each color
			over all seats, and what that saves over buying for each kit alone is told; --own takes off what
			your stash holds, so do not name kits that were taken out of it already. -o writes the list as a table with a column for each seat: how many drills to
			pour. Where children sit at the table, mind small parts, blades and adhesives.`,
		example: "kitwright pool --bags 200:0.50,1000:1.80,5000:7 ginger-kit gull-kit -o class.csv",
		bind: func(fs *pflag.FlagSet) func(context.Context, env, []string) error {
			p := pooling{supply: plan.DefaultSupply()}
			p.bind(fs)
			return func(ctx context.Context, e env, args []string) error { return p.run(ctx, e, args) }
		},
	}
}

// pooling is a run of pool.
type pooling struct {
	supply plan.Supply
	own    bool
	place  stashPlace
	cards  cardPlaces
	file   string
	force  bool
	form   listingForm
}

func (p *pooling) bind(fs *pflag.FlagSet) {
	fs.VarP(textValue{&p.file, "FILE"}, "out", "o", "write the list as a CSV file, with a column for each seat")
	fs.BoolVar(&p.force, "force", false, "overwrite the file if it exists")
	p.form.bind(fs)
	p.place.bind(fs)
	p.cards.bind(fs)
	b := setting.Bind(fs)
	b.Group("Drills to buy")
	b.Add(&p.supply.Bags, "bags", "the bags that drills are sold in, and what each costs, as in 200:0.50,1000:1.80,5000:7; the cheapest mix of them is found")
	b.Add(&p.supply.BagFill, "bag-fill", "how full a bag is sure to be, as in 95% for bags that come short")
	b.Bool(&p.own, "own", "buy only what your stash does not hold")
}

// seat is a kit of the pool.
type seat struct {
	dir    string
	title  string
	mark   string
	copies int
	ready  map[stash.Key]int // drills to pour, with extra
	all    int
	share  plan.Price
	alone  plan.Price // what it would cost alone
}

// pooled is a color of the pool.
type pooled struct {
	stash.Key
	drill  palettes.Drill
	placed int
	ready  int // with extra, over all seats
	owned  int
	buy    int
	mix    plan.Mix
}

func (p *pooling) run(ctx context.Context, e env, args []string) error {
	if len(args) == 0 {
		return say.Usage("kitwright pool ginger-kit gull-kit", "no kit was named")
	}
	if err := p.form.check(); err != nil {
		return err
	}
	if err := p.supply.Check(nil); err != nil {
		return err
	}
	var seats []seat
	colors := map[stash.Key]*pooled{}
	for _, arg := range args {
		s, err := p.seat(e, kitFolder(arg), colors)
		if err != nil {
			return err
		}
		seats = append(seats, s)
	}
	var list []*pooled
	for _, c := range colors {
		list = append(list, c)
	}
	slices.SortFunc(list, func(a, b *pooled) int { return stash.Compare(a.Key, b.Key) })
	if err := p.buy(e, list, seats); err != nil {
		return err
	}
	if p.file != "" {
		if err := writeFile(ctx, p.file, p.force, isPool, func(w io.Writer) error { return p.write(w, list, seats) }); err != nil {
			return err
		}
	}
	return p.tell(e.stdout, list, seats)
}

// seat reads a kit and adds what it needs to the colors.
func (p *pooling) seat(e env, dir string, colors map[stash.Key]*pooled) (seat, error) {
	k, err := folder.Read(dir)
	if err != nil {
		return seat{}, err
	}
	supply, err := supplyOf(k)
	if err != nil {
		return seat{}, err
	}
	s := seat{dir: dir, title: k.Title, mark: k.Chart.Mark(), copies: max(1, int(supply.Copies)), ready: map[stash.Key]int{}}
	for _, x := range k.Chart.Legend {
		key := stash.Key{Card: k.Card.Name, Code: x.Drill.Code, Finish: x.Drill.Finish, Shape: string(k.Drill.Shape), Size: k.Drill.Size}
		ready, _ := supply.WithExtra(x.Count)
		ready *= s.copies
		c := colors[key]
		if c == nil {
			c = &pooled{Key: key, drill: x.Drill}
			colors[key] = c
		} else if far := lab.DeltaE(c.drill.Lab, x.Drill.Lab); far >= palettes.Same {
			fmt.Fprintf(e.stderr, "%s: %s of the card %s is another color here than in a kit before it (%.1f apart): are the two cards one?\n", dir, key.Address(), key.Card, far)
		}
		c.placed += x.Count * s.copies
		c.ready += ready
		s.ready[key] += ready
		s.all += ready
		s.alone += p.supply.Mix(ready).Price
	}
	return s, nil
}

// supplyOf returns how the drills of a kit are counted out.
func supplyOf(k *kit.Kit) (plan.Supply, error) {
	s := plan.DefaultSupply()
	fs := pflag.NewFlagSet("supply", pflag.ContinueOnError)
	s.Bind(setting.Bind(fs))
	return s, keepSettings(fs, k.Print, "the kit's prints")
}

// buy finds what is to be bought of each color, and what each seat's share is.
func (p *pooling) buy(e env, list []*pooled, seats []seat) error {
	var l *stash.Ledger
	if p.own {
		var err error
		if l, err = p.place.open(e, p.cards); err != nil {
			return err
		}
	}
	price, all, weights := plan.Price(0), 0, make([]int, len(seats))
	for _, c := range list {
		if l != nil {
			c.owned = l.Owned(c.Card, c.Shape, c.Size)[c.Address()]
		}
		c.buy = max(0, c.ready-c.owned)
		all += c.buy
		if all > plan.MostDrills {
			return say.Usage("pool fewer kits", "together they take more than %s drills", say.Number(plan.MostDrills))
		}
		c.mix = p.supply.Mix(c.buy)
		price += c.mix.Price
	}
	for i, s := range seats {
		weights[i] = s.all
	}
	unit := plan.Price(10) // hundredths, as prices are told
	if price%unit != 0 {
		unit = 1
	}
	for i, share := range plan.Share(price/unit, weights) {
		seats[i].share = share * unit
	}
	return nil
}

// priced says whether there are prices to tell.
func (p *pooling) priced() bool { return len(p.supply.Bags.Sizes) > 0 && p.supply.Bags.Priced }

// tell shows the shopping list, then the seats.
func (p *pooling) tell(w io.Writer, list []*pooled, seats []seat) error {
	t := listing{head: []string{"card", "code", "finish", "name", "shape", "size", "drills", "extra", "owned", "buy"}}
	bags := len(p.supply.Bags.Sizes) > 0
	if bags {
		t.head = append(t.head, "bags")
	}
	if p.priced() {
		t.head = append(t.head, "price")
	}
	sum, price, placed := 0, plan.Price(0), 0
	for _, c := range list {
		row := []any{c.Card, c.Code, string(c.Finish), c.drill.Name, c.Shape, c.Size.String(), c.placed, c.ready - c.placed, c.owned, c.buy}
		if bags {
			row = append(row, p.supply.Bags.Words(c.mix.Bags))
		}
		if p.priced() {
			row = append(row, p.supply.Bags.Money(c.mix.Price))
		}
		t.add(row...)
		sum, price, placed = sum+c.buy, price+c.mix.Price, placed+c.placed
	}
	if err := t.write(w, p.form); err != nil || !p.form.forPeople() {
		return err
	}
	var b strings.Builder
	fmt.Fprintf(&b, "\n%s in %s for %s; %s to buy", say.Count(placed, "drill"), say.Count(len(list), "color"), say.Count(len(seats), "seat"), say.Number(sum))
	alone := plan.Price(0)
	for _, s := range seats {
		alone += s.alone
	}
	if p.priced() {
		fmt.Fprintf(&b, " for %s", p.supply.Bags.Money(price))
		if !p.own && len(seats) > 1 {
			fmt.Fprintf(&b, ", %s if each kit were bought for alone", p.supply.Bags.Money(alone))
		}
	}
	fmt.Fprintln(&b, ".")
	for i, s := range seats {
		fmt.Fprintf(&b, "  seat %d  %s: %s to pour in %s", i+1, s.words(), say.Count(s.all, "drill"), say.Count(len(s.ready), "color"))
		if p.priced() {
			fmt.Fprintf(&b, "; its share is %s", p.supply.Bags.Money(s.share))
		}
		fmt.Fprintln(&b)
	}
	if p.file != "" {
		fmt.Fprintf(&b, "%s  the list, with how many drills each seat gets\n", p.file)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// words names a seat's kit.
func (s seat) words() string {
	copies := ""
	if s.copies > 1 {
		copies = fmt.Sprintf(" x %d", s.copies)
	}
	return fmt.Sprintf("%s%s (%s, kit %s)", s.title, copies, filepath.Base(s.dir), s.mark)
}

// poolHeader begins the header of the list.
var poolHeader = []string{"code", "finish", "name", "hex", "card", "shape", "size", "drills", "extra", "owned", "buy"}

// write writes the list with a column for each size of bags and each seat.
func (p *pooling) write(w io.Writer, list []*pooled, seats []seat) error {
	out := csv.NewWriter(w)
	head := slices.Clone(poolHeader)
	for _, b := range p.supply.Bags.Sizes {
		head = append(head, fmt.Sprintf("bags of %d", b.Drills))
	}
	if p.priced() {
		head = append(head, "price")
	}
	for i, s := range seats {
		head = append(head, wording.Cell(fmt.Sprintf("seat %d: %s", i+1, s.words())))
	}
	_ = out.Write(head) // the error stays until the end
	for _, c := range list {
		row := []string{wording.Cell(c.Code), wording.Cell(string(c.Finish)), wording.Cell(c.drill.Name), lab.Hex(c.drill.RGB), wording.Cell(c.Card),
			c.Shape, c.Size.String(), strconv.Itoa(c.placed), strconv.Itoa(c.ready - c.placed), strconv.Itoa(c.owned), strconv.Itoa(c.buy)}
		for _, n := range c.mix.Bags {
			row = append(row, strconv.Itoa(n))
		}
		if p.priced() {
			row = append(row, p.supply.Bags.Money(c.mix.Price))
		}
		for _, s := range seats {
			row = append(row, strconv.Itoa(s.ready[c.Key]))
		}
		_ = out.Write(row)
	}
	out.Flush()
	return out.Error()
}

// isPool tells a file that such a list may be written over.
func isPool(r io.Reader) bool {
	want := strings.Join(poolHeader, ",")
	begin := make([]byte, len(want))
	_, err := io.ReadFull(r, begin)
	return err == nil && string(begin) == want
}
