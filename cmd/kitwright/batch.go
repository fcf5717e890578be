package main

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"maps"
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"sync"
	"time"

	"github.com/spf13/pflag"

	"kitwright/internal/input"
	"kitwright/internal/say"
	"kitwright/internal/setting"
	"kitwright/kit"
	"kitwright/palettes"
	"kitwright/palettes/intake"
	"kitwright/render"
	"kitwright/shop"
)

func batchCommand() command {
	return command{
		name: "batch", args: "ORDERS", summary: "make many kits from a table of orders",
		about: `Makes a kit folder for every row of a table: CSV, or the first sheet of an XLSX. The first
			row names the columns: photo (a file, from where the table lies), name (of its kit's folder;
			the photo's name unless given), and any flag of kitwright chart by its name, such as size or
			colors. What a row leaves empty comes from the flags given here. An order that cannot be made
			never stops the others: results.csv and results.jsonl say what came of each. A run again
			makes only what changed or failed. None takes from your stash: an order with own says in its
			own row, under stock, what it may use. Exit code 3 says that some could not be made.`,
		example: "kitwright batch orders.csv -o kits --check\nkitwright batch orders.csv -o kits --size 30x40cm\nkitwright batch orders.csv -o kits --shard 2/4",
		bind: func(fs *pflag.FlagSet) func(context.Context, env, []string) error {
			b := batchRun{jobs: runtime.GOMAXPROCS(0), memory: 2 << 30}
			order, print := kit.DefaultOrder(), render.DefaultPrint().In(locale())
			fs.StringVarP(&b.out, "out", "o", "", "the folder for the kits; the table's name and -kits unless given")
			fs.IntVar(&b.jobs, "jobs", b.jobs, "how many orders at once")
			fs.Var(bytesValue{&b.memory}, "memory", "what all photos at once may take together")
			fs.BoolVar(&b.check, "check", false, "read all orders and photos, tell every problem, and make nothing")
			fs.Var(shop.Shard{To: &b.part, Env: os.Getenv}, "shard", "make only every N-th order, beginning with the I-th; auto asks the engine that runs many machines")
			fs.IntVar(&b.row, "row", 0, "make only this order, counted from 1")
			fs.BoolVar(&b.gather, "gather", false, "join the results of all shards in a folder of kits, and name what is missing")
			fs.BoolVar(&b.outside, "allow-outside", false, "take photos from outside the folder that the table lies in, too")
			fs.BoolVar(&b.yes, "yes", false, "make orders even if a size or a pitch looks like a slip of unit")
			fs.BoolVar(&b.count, "count", false, "only say how many orders the table holds")
			fs.BoolVar(&b.fine, "failed-is-fine", false, "end with code 0 also if some orders could not be made: the results say which")
			b.cards.bind(fs)
			fs.BoolVarP(&b.quiet, "quiet", "q", false, "name only what could not be made")
			order.Bind(fs)
			print.Bind(fs)
			return func(ctx context.Context, e env, args []string) error {
				if b.gather {
					return b.join(ctx, e, args)
				}
				b.rest, b.profile, b.font = maps.Collect(settingsOf(fs)), &print.Shop.Profile, &print.Font
				return b.do(ctx, e, args)
			}
		},
	}
}

// settingsOf visits the settings of a set that are not as they are by default.
func settingsOf(fs *pflag.FlagSet) func(func(string, string) bool) {
	return func(visit func(string, string) bool) {
		fs.VisitAll(func(f *pflag.Flag) {
			if setting.GroupOf(f) != "" && (f.Value.String() != f.DefValue || f.Name == "paper") { // the paper may come from the machine's region
				visit(f.Name, f.Value.String())
			}
		})
	}
}

// batchRun is one run of the command.
type batchRun struct {
	out                                string
	jobs, row                          int
	memory                             int64
	check, gather, outside, yes, quiet bool
	count, fine                        bool
	part                               shop.Part
	cards                              cardPlaces
	rest                               map[string]string
	profile                            *render.ShopProfile
	font                               *render.FontFile
}

func (b *batchRun) do(ctx context.Context, e env, args []string) error {
	if err := wantArgs(args, 1, "one table of orders is needed", "kitwright batch orders.csv"); err != nil {
		return err
	}
	switch {
	case b.jobs < 1 || b.jobs > 256:
		return say.Usage("leave it out for as many as there are processors", "{jobs} takes 1 to 256, not %d", b.jobs)
	case b.row < 0 || b.row > 0 && b.part.Of > 0:
		return say.Usage("give one of the two", "{row} takes a row from 1 on, and goes without {shard}")
	}
	b.part.Row = b.row
	f, err := input.Open(args[0], "table of orders")
	if err != nil {
		return err
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, intake.MaxBytes+1))
	if err != nil {
		return say.File("the table of orders cannot be read", args[0], err)
	}
	orders, err := shop.ReadOrders(filepath.Base(args[0]), bytes.NewReader(data))
	if err != nil {
		return err
	}
	if b.count {
		_, err := fmt.Fprintln(e.stdout, len(orders))
		return err
	}
	if b.out == "" {
		b.out = strings.TrimSuffix(args[0], filepath.Ext(args[0])) + "-kits"
	}
	s := b.shop(e, filepath.Dir(args[0]))
	if b.check {
		return b.tellCheck(ctx, e, s, orders)
	}
	table := sha256.Sum256(data)
	shown, done := showProgress(ctx, e.terminal, b.quiet)
	defer done()
	began := time.Now()
	tally, err := s.Batch(shown, orders, hex.EncodeToString(table[:]), b.part, func(r shop.Result) {
		if r.Status == shop.Failed {
			wipe(e.terminal, b.quiet)
			fmt.Fprintf(e.stderr, "order %d, %s: %s.\n  Try: %s.\n", r.Row, r.Name, r.Reason, r.Hint)
		}
	})
	done()
	if tally == nil || ctx.Err() != nil {
		return err
	}
	if !b.quiet {
		if terr := tellTally(e.stdout, tally, b.out, time.Since(began)); terr != nil && err == nil {
			err = terr
		}
	}
	if err == nil && tally.Failed > 0 && !b.fine {
		err = partly{fmt.Sprintf("%s of %d could not be made; results.csv in %s says why", say.Count(tally.Failed, "order"), tally.Made+tally.Same+tally.Failed, b.out)}
	}
	return err
}

// wipe takes the line of progress away before a sentence is written.
func wipe(f *os.File, quiet bool) {
	if f != nil && !quiet {
		fmt.Fprint(f, "\r\x1b[K")
	}
}

func (b *batchRun) shop(e env, dir string) *shop.Shop {
	var mu sync.Mutex
	cards := map[string]*palettes.Card{}
	yes := b.yes
	return &shop.Shop{
		Dir: dir, Outside: b.outside, Out: b.out, Jobs: b.jobs, Memory: b.memory, Release: version, Order: b.rest, Profile: b.profile, Font: b.font, Begin: begin,
		Slips: func(o kit.Order) error { return checkSlips(o, yes) },
		Card: func(name string) (*palettes.Card, error) {
			mu.Lock()
			defer mu.Unlock()
			if card := cards[name]; card != nil {
				return card, nil
			}
			called := name
			card, err := b.cards.open(e, &called)
			if err == nil {
				cards[name] = card
			}
			return card, err
		},
	}
}

// tellCheck tells every problem in one table.
func (b *batchRun) tellCheck(ctx context.Context, e env, s *shop.Shop, orders []shop.Order) error {
	shown, done := showProgress(ctx, e.terminal, b.quiet)
	defer done()
	bad, err := s.Check(shown, orders)
	done()
	if err != nil {
		return err
	}
	if len(bad) == 0 {
		_, err := fmt.Fprintf(e.stdout, "All %s can be made.\n", say.Count(len(orders), "order"))
		return err
	}
	t := &listing{head: []string{"order", "line", "name", "what is wrong", "try"}}
	for _, r := range bad {
		t.add(r.Row, orders[r.Row-1].Line, r.Name, r.Reason, r.Hint)
	}
	if err := t.write(e.stdout, listingForm{}); err != nil {
		return err
	}
	return partly{fmt.Sprintf("%s of %d cannot be made", say.Count(len(bad), "order"), len(orders))}
}

// tellTally says what came of a batch.
func tellTally(w io.Writer, t *shop.Tally, out string, took time.Duration) error {
	var b strings.Builder
	fmt.Fprintf(&b, "%s made in %s", say.Count(t.Made, "kit"), out)
	if t.Same > 0 {
		fmt.Fprintf(&b, ", %d as before", t.Same)
	}
	if t.Failed > 0 {
		fmt.Fprintf(&b, ", %d not", t.Failed)
	}
	fmt.Fprintln(&b)
	if n := len(t.Took); n > 0 {
		seconds := func(d time.Duration) string { return strconv.FormatFloat(d.Seconds(), 'f', 1, 64) }
		fmt.Fprintf(&b, "  It took %s s; one kit %s s, and 99 of 100 at most %s s.\n", seconds(took), seconds(t.Took[n/2]), seconds(t.Took[(n*99+99)/100-1]))
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// join joins the results of all shards.
func (b *batchRun) join(ctx context.Context, e env, args []string) error {
	if err := wantArgs(args, 1, "one folder of kits is needed", "kitwright batch --gather kits"); err != nil {
		return err
	}
	g, err := shop.Gather(args[0])
	if err != nil {
		return err
	}
	for _, f := range []struct {
		ending string
		data   []byte
		ours   func([]byte) bool
	}{{".csv", g.CSV(), shop.IsCSV}, {".jsonl", g.JSONL(), shop.IsJSONL}} {
		ours := func(r io.Reader) bool {
			head, err := io.ReadAll(io.LimitReader(r, 1<<12))
			return err == nil && f.ours(head)
		}
		if err := writeFile(ctx, filepath.Join(args[0], shop.GatheredBase+f.ending), true, ours, func(w io.Writer) error {
			_, err := w.Write(f.data)
			return err
		}); err != nil {
			return err
		}
	}
	failed := 0
	for _, r := range g.Results {
		if r.Status == shop.Failed {
			failed++
		}
	}
	var out strings.Builder
	fmt.Fprintf(&out, "%d of %s made, %d failed, %d missing: %s\n", len(g.Results)-failed, say.Count(g.Orders, "order"), failed, len(g.Missing), filepath.Join(args[0], shop.GatheredBase+".csv"))
	for i, m := range g.Missing {
		if i == 20 {
			fmt.Fprintf(&out, "  and %d more\n", len(g.Missing)-i)
			break
		}
		fmt.Fprintf(&out, "  missing: order %d %s\n", m.Row, m.Name)
	}
	if absent := g.Absent(); len(absent) > 0 {
		fmt.Fprintf(&out, "  no results of shard %s\n", strings.Join(absent, ", "))
	}
	if _, err := io.WriteString(e.stdout, out.String()); err != nil {
		return err
	}
	if failed+len(g.Missing) > 0 {
		return partly{"the batch is not complete"}
	}
	return nil
}

// partly is an end with some of the work done: exit code 3.
type partly struct{ what string }

func (p partly) Error() string { return p.what }

// bytesValue is a flag's value for an amount of memory.
type bytesValue struct{ to *int64 }

func (v bytesValue) String() string {
	if v.to == nil {
		return ""
	}
	for _, u := range byteUnits {
		if *v.to%u.bytes == 0 {
			return strconv.FormatInt(*v.to/u.bytes, 10) + u.name
		}
	}
	return strconv.FormatInt(*v.to, 10)
}

func (v bytesValue) Type() string { return "SIZE" }

var byteUnits = []struct {
	name  string
	bytes int64
}{{"GB", 1 << 30}, {"MB", 1 << 20}, {"KB", 1 << 10}}

// Set reads "2GB", "512 MB" or "0" for no limit.
func (v bytesValue) Set(s string) error {
	text, by := strings.ToUpper(strings.TrimSpace(s)), int64(1)
	for _, u := range byteUnits {
		if rest, ok := strings.CutSuffix(text, u.name); ok {
			text, by = strings.TrimSpace(rest), u.bytes
			break
		}
	}
	n, err := strconv.ParseFloat(text, 64)
	if err != nil || !(n >= 0) || n*float64(by) > 1<<50 || by == 1 && n != 0 {
		return say.Usage("", "it takes an amount such as 2GB or 512MB, or 0 for no limit, not %q", clipped(s))
	}
	*v.to = int64(n * float64(by))
	return nil
}
