package shop

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"

	"golang.org/x/sync/semaphore"

	"kitwright/folder"
	"kitwright/internal/say"
	"kitwright/kit"
	"kitwright/photo"
	"kitwright/render"
)

// Tally is how many orders came out how, and how long each took that was made.
type Tally struct {
	Made, Same, Failed int
	Took               []time.Duration // ascending
}

// Batch makes the orders of a part and tells each result as it ends. It
// returns an error only where nothing could be begun or the results could not
// be written; when ctx ends, what is begun is removed and what is made stays.
func (s *Shop) Batch(ctx context.Context, orders []Order, table string, part Part, tell func(Result)) (*Tally, error) {
	head := begun{Kitwright: s.Release, Orders: len(orders), Table: table, Part: part}
	var mine []Order
	for _, o := range orders {
		if part.Has(o) {
			mine = append(mine, o)
			head.Names = append(head.Names, Name{o.Row, o.Name})
		}
	}
	if part.Row > len(orders) {
		return nil, say.Usage(fmt.Sprintf("rows count from 1 to %d, without the names of the columns", len(orders)), "there is no order %d", part.Row)
	}
	l, earlier, err := openLog(s.Out, head)
	if err != nil {
		return nil, err
	}
	b := &batch{Shop: s, earlier: earlier, room: newRoom(s.Memory)}
	tally := &Tally{}
	var mu sync.Mutex
	done := 0
	work := make(chan Order)
	var wait sync.WaitGroup
	for range max(1, min(s.Jobs, len(mine))) {
		wait.Go(func() {
			for o := range work {
				began := time.Now()
				r, isNew := b.one(quiet(ctx), o)
				if ctx.Err() != nil {
					continue // stopped: nothing is known of it
				}
				if isNew {
					l.add(r)
				}
				mu.Lock()
				done++
				tally.count(r, time.Since(began))
				say.Step(ctx, fmt.Sprintf("order %d of %d", done, len(mine)), 0, 0)
				tell(r)
				mu.Unlock()
			}
		})
	}
	for _, o := range mine {
		select {
		case work <- o:
		case <-ctx.Done():
		}
		if ctx.Err() != nil {
			break
		}
	}
	close(work)
	wait.Wait()
	slices.Sort(tally.Took)
	if err := l.close(); err != nil && ctx.Err() == nil {
		return tally, err
	}
	return tally, ctx.Err()
}

func (t *Tally) count(r Result, took time.Duration) {
	switch r.Status {
	case Made:
		t.Made++
		t.Took = append(t.Took, took)
	case Same:
		t.Same++
	default:
		t.Failed++
	}
}

// quiet is the context of one order of many: its own steps are not shown, and
// no signal ends its search early, as its kit would then depend on the moment.
func quiet(ctx context.Context) context.Context {
	ctx, _ = say.WithStopper(say.WithProgress(ctx, nil))
	return ctx
}

// batch is one run.
type batch struct {
	*Shop
	earlier map[string]Result
	room    *room
}

// one makes one order. New says whether the result is not in the results yet.
func (b *batch) one(ctx context.Context, o Order) (r Result, isNew bool) {
	r = Result{Row: o.Row, Name: o.Name, Photo: o.Photo}
	earlier, known := b.earlier[strings.ToLower(o.Name)]
	if err := b.make(ctx, o, earlier, &r); err != nil {
		r.Status = Failed
		r.Reason, r.Hint = words(err)
		return r, true
	}
	if r.Status == Same && known && earlier.Key == r.Key {
		earlier.Row, earlier.Name, earlier.Photo, earlier.Status = r.Row, r.Name, r.Photo, Same
		return earlier, false
	}
	return r, true
}

// tell fills in what a kit is.
func (r *Result) tell(k *kit.Kit, p render.Print) {
	z := render.SheetSize(k, p)
	r.Mark, r.Cols, r.Rows, r.Drills, r.Colors, r.Off = k.Chart.Mark(), k.Chart.Cols, k.Chart.Rows, k.Chart.Drills(), len(k.Chart.Legend), k.Quality.MeanMiss
	r.Width, r.Height = z.W.MM(), z.H.MM()
	for _, f := range folder.Outputs() {
		if f.Due(k) {
			r.Files = append(r.Files, f.File())
		}
	}
}

// words are an error's sentence and hint. Settings stand in them by the names
// that the table's columns have, and what is no column as a flag.
func words(err error) (reason, hint string) {
	var said *say.Error
	if errors.As(err, &said) {
		return said.Words(func(name string) string {
			if slices.Contains(columnNames(), name) {
				return name
			}
			return "--" + name
		})
	}
	return err.Error(), ""
}

var columnNames = sync.OnceValue(settingNames)

// make makes the kit of an order, unless it is made already.
func (b *batch) make(ctx context.Context, o Order, earlier Result, r *Result) error {
	recipe, err := b.recipe(o)
	if err != nil {
		return err
	}
	data, release, err := b.read(ctx, o.Photo)
	if err != nil {
		return err
	}
	defer release()
	photoSum := sha256.Sum256(data)
	r.Key = b.key(recipe, photoSum[:])
	dest := filepath.Join(b.Out, o.Name)
	stands := folder.Exists(dest)
	if stands && (earlier.Key == r.Key || earlier.Key == "") {
		if k, same := folder.Stands(dest, hex.EncodeToString(photoSum[:]), recipe.card, recipe.order, recipe.print); same {
			r.Status = Same
			r.tell(k, recipe.print)
			return nil
		}
	}
	dir, err := b.Begin(ctx, dest, folder.Kits, folder.Options{Force: stands})
	if err != nil {
		return err
	}
	defer dir.Drop()
	r.Name = filepath.Base(dir.Dest())
	prep, err := recipe.lay(ctx, data, o)
	if err != nil {
		return err
	}
	made, err := folder.MakeKit(ctx, dir, prep, recipe.order.Choice, recipe.print, false)
	if err != nil {
		return err
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	if err := dir.Finish(); err != nil {
		return err
	}
	r.Status = Made
	r.tell(made.Kit, recipe.print)
	return nil
}

// lay reads an order's photo and lays it on its canvas.
func (r *recipe) lay(ctx context.Context, data []byte, o Order) (*kit.Prepared, error) {
	src, err := kit.Open(ctx, bytes.NewReader(data), filepath.Base(filepath.FromSlash(o.Photo)), r.card)
	if err != nil {
		return nil, err
	}
	return src.Lay(ctx, r.order.Canvas, r.order.Light)
}

// read reads a photo's file once there is room for what it unpacks to.
func (b *batch) read(ctx context.Context, path string) (data []byte, release func(), err error) {
	f, err := b.file("photo", path)
	if err != nil {
		return nil, nil, err
	}
	defer f.Close()
	size := int64(0)
	if file, ok := f.(*os.File); ok {
		if info, err := file.Stat(); err == nil {
			size = info.Size()
		}
	}
	if release, err = b.room.take(ctx, size); err != nil {
		return nil, nil, err
	}
	data, err = io.ReadAll(io.LimitReader(f, photo.MaxBytes+1))
	release()
	if err != nil {
		return nil, nil, say.File("the photo cannot be read", path, err)
	}
	release, err = b.room.take(ctx, photo.Memory(data))
	return data, release, err
}

// key is the same for two orders exactly if their kits are.
func (b *batch) key(r *recipe, photoSum []byte) string {
	sum := sha256.New()
	fmt.Fprintf(sum, "%s\n%x\n%s\n", b.Release, photoSum, r.card.SHA256())
	for _, settings := range []map[string]string{r.order.Settings(), r.print.Settings()} {
		for _, name := range sortedKeys(settings) {
			fmt.Fprintf(sum, "%q=%q\n", name, settings[name])
		}
	}
	return hex.EncodeToString(sum.Sum(nil)[:16])
}

// room is the memory that photos may take together.
type room struct {
	all  int64
	left *semaphore.Weighted
}

// Beside its photo, a kit takes memory for its drills and prints.
const besidePhoto = 48 << 20

func newRoom(all int64) *room {
	if all <= 0 {
		return nil
	}
	return &room{all, semaphore.NewWeighted(all)}
}

// take waits until there is room.
func (r *room) take(ctx context.Context, bytes int64) (release func(), err error) {
	if r == nil {
		return func() {}, nil
	}
	if bytes += besidePhoto; bytes > r.all {
		return nil, say.Failed("give it more with {memory}, or export the photo smaller", "the order takes about %d MB of memory, and all may take %d MB together", bytes>>20, r.all>>20)
	}
	if err := r.left.Acquire(ctx, bytes); err != nil {
		return nil, err
	}
	return func() { r.left.Release(bytes) }, nil
}
