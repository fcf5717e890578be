package shop

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"time"

	"kitwright/folder"
	"kitwright/internal/filelock"
	"kitwright/internal/par"
	"kitwright/internal/say"
)

// Watch is a folder that photos with tickets are dropped into. Several
// watchers, on several machines, may share one: an order is claimed by moving
// it, which one of them alone can do.
type Watch struct {
	Shop             // Dir and Out are set for each order
	In, Done, Failed string
	Kits             string        // where the kits' folders are made
	Settle           time.Duration // how long a file has to have been the same before it is taken
	Alone            bool          // take photos without a ticket, too
	IsPhoto          func(name string) bool
	Tell             func(sentence string, bad bool) // what a person should know; bad: somebody has to do something
	seen             map[string]sight
	mu               sync.Mutex
	told             map[string]bool
	now              func() time.Time
}

// sight is what a file was when it was last looked at.
type sight struct {
	size  int64
	at    time.Time // modified
	since time.Time // the same since
	first time.Time
}

// taken is the folder inside In where claimed orders lie while they are made.
const taken = ".taken"

// slow is after how long a file that still grows is told.
const slow = 10 * time.Minute

// Open makes the folders and gives back what a watcher that was killed had
// claimed.
func (w *Watch) Open() error {
	if w.now == nil {
		w.now = time.Now
	}
	w.seen, w.told = map[string]sight{}, map[string]bool{}
	places := []string{w.In, w.Kits, w.Done, w.Failed}
	for i, p := range places {
		abs, err := filepath.Abs(p)
		if err != nil {
			return say.File("the folder cannot be found", p, err)
		}
		for j := range i {
			if other, _ := filepath.Abs(places[j]); other == abs {
				return say.Usage("give four folders", "%s was named for two things", p)
			}
		}
	}
	if info, err := os.Stat(w.In); err != nil {
		return say.File("the watched folder cannot be opened", w.In, err)
	} else if !info.IsDir() {
		return say.Failed("name a folder", "%s is not a folder", w.In)
	}
	for _, p := range append(places[1:], filepath.Join(w.In, taken)) {
		if err := os.MkdirAll(p, 0o777); err != nil {
			return say.File("the folder cannot be made", p, err)
		}
	}
	return nil
}

// Look makes all orders that lie ready, and returns how many it made or
// failed at.
func (w *Watch) Look(ctx context.Context) (int, error) {
	if err := w.giveBack(); err != nil {
		return 0, err
	}
	ready, err := w.ready()
	if err != nil {
		return 0, err
	}
	var mu sync.Mutex
	n := 0
	var first error
	jobs := make(chan [2]string, len(ready))
	for _, pair := range ready {
		jobs <- pair
	}
	close(jobs)
	var wait sync.WaitGroup
	for range max(1, min(w.Jobs, len(ready), par.Count(1<<30))) {
		wait.Go(func() {
			for pair := range jobs {
				if ctx.Err() != nil {
					return
				}
				did, err := w.take(ctx, pair[0], pair[1])
				mu.Lock()
				if did {
					n++
				}
				if first == nil {
					first = err
				}
				mu.Unlock()
			}
		})
	}
	wait.Wait()
	if ctx.Err() != nil {
		return n, ctx.Err()
	}
	return n, first
}

// ready returns the photos and tickets that have stopped growing.
func (w *Watch) ready() (pairs [][2]string, err error) {
	entries, err := os.ReadDir(w.In)
	if err != nil {
		return nil, say.File("the watched folder cannot be read", w.In, err)
	}
	files := map[string]fs.FileInfo{}
	for _, e := range entries {
		if info, err := e.Info(); err == nil && info.Mode().IsRegular() && !strings.HasPrefix(e.Name(), ".") {
			files[e.Name()] = info
		}
	}
	for name := range w.seen {
		if files[name] == nil {
			delete(w.seen, name)
		}
	}
	calm := map[string]bool{}
	for name, info := range files {
		calm[name] = w.calm(name, info)
	}
	for _, name := range sortedKeys(files) {
		if !w.IsPhoto(name) {
			continue
		}
		base := strings.TrimSuffix(name, filepath.Ext(name))
		ticket := ""
		for _, ending := range []string{".csv", ".json", ".CSV", ".JSON"} {
			if files[base+ending] != nil {
				ticket = base + ending
				break
			}
		}
		switch {
		case ticket == "" && !w.Alone:
			if calm[name] {
				w.tellOnce(name, say.Textf("%s waits for its ticket, %s.csv or %s.json", name, base, base).String())
			}
		case calm[name] && (ticket == "" || calm[ticket]):
			pairs = append(pairs, [2]string{name, ticket})
		}
	}
	return pairs, nil
}

// calm says whether a file has been the same for long enough.
func (w *Watch) calm(name string, info fs.FileInfo) bool {
	now := w.now()
	s, known := w.seen[name]
	if !known {
		s.first = now
	}
	if !known || s.size != info.Size() || !s.at.Equal(info.ModTime()) {
		s.size, s.at, s.since = info.Size(), info.ModTime(), now
	}
	w.seen[name] = s
	calm := now.Sub(s.since) >= w.Settle
	if !calm && now.Sub(s.first) > slow {
		w.tellOnce(name, name+" has been growing for more than ten minutes and is not taken before it stops")
	}
	return calm
}

func (w *Watch) tellOnce(name, sentence string) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if !w.told[name+sentence] {
		w.told[name+sentence] = true
		w.Tell(sentence, true)
	}
}

// take claims an order and makes it. False: another watcher has it.
func (w *Watch) take(ctx context.Context, photo, ticket string) (bool, error) {
	claim := filepath.Join(w.In, taken, photo)
	if err := os.Mkdir(claim, 0o777); os.IsExist(err) {
		return false, nil
	} else if err != nil {
		return false, say.File("an order cannot be claimed", claim, err)
	}
	lock, err := lockClaim(claim)
	if err != nil {
		return false, nil // another watcher gives it back already
	}
	defer lock.Close()
	for _, name := range []string{photo, ticket} {
		if name == "" {
			continue
		}
		if err := os.Rename(filepath.Join(w.In, name), filepath.Join(claim, name)); err != nil {
			w.unclaim(claim, lock)
			return false, nil // taken away meanwhile
		}
	}
	o, err := readTicket(claim, photo, ticket)
	s := w.Shop
	s.Dir, s.Out = claim, w.Kits
	var r Result
	if err == nil {
		s.Begin = w.beginFree
		b := &batch{Shop: &s, room: newRoom(w.Memory)}
		r, _ = b.one(quiet(ctx), o)
	} else {
		r = Result{Name: o.Name, Status: Failed}
		r.Reason, r.Hint = words(err)
	}
	if ctx.Err() != nil {
		w.unclaim(claim, lock)
		return false, ctx.Err()
	}
	return true, w.put(claim, lock, photo, ticket, r)
}

// beginFree begins the folder of a kit under the first of its names that
// neither stands nor is being made.
func (w *Watch) beginFree(ctx context.Context, dest string, kind folder.Kind, opt folder.Options) (*folder.Making, error) {
	opt.Force = false
	for i := 1; ; i++ {
		place := dest
		if i > 1 {
			place += "-" + strconv.Itoa(i)
		}
		if folder.Exists(place) {
			continue
		}
		m, err := w.Shop.Begin(ctx, place, kind, opt)
		if err == nil || !errors.Is(err, filelock.ErrLocked) && !folder.Exists(place) {
			return m, err
		}
	}
}

const lockName = ".lock"

// lockClaim takes the lock of a claim. A lock whose file is gone, or another by
// now, is worth nothing: whoever gave the claim back took it away.
func lockClaim(claim string) (*os.File, error) {
	path := filepath.Join(claim, lockName)
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o666)
	if err != nil {
		return nil, err
	}
	if err := filelock.Try(f); err != nil {
		f.Close()
		return nil, err
	}
	held, err := f.Stat()
	if err == nil {
		var lies os.FileInfo
		if lies, err = os.Stat(path); err == nil && os.SameFile(held, lies) {
			return f, nil
		}
	}
	f.Close()
	return nil, filelock.ErrLocked
}

// giveBack puts orders back whose watcher was killed: nobody holds their lock.
func (w *Watch) giveBack() error {
	claims, err := os.ReadDir(filepath.Join(w.In, taken))
	if err != nil {
		return say.File("the watched folder cannot be read", filepath.Join(w.In, taken), err)
	}
	for _, c := range claims {
		claim := filepath.Join(w.In, taken, c.Name())
		if lock, err := lockClaim(claim); err == nil {
			w.unclaim(claim, lock)
		}
	}
	return nil
}

// unclaim moves what was claimed back, never over something that lies there.
func (w *Watch) unclaim(claim string, lock *os.File) {
	entries, _ := os.ReadDir(claim)
	for _, e := range entries {
		if e.Name() == lockName {
			continue
		}
		back := filepath.Join(w.In, e.Name())
		if folder.Exists(back) { // another of that name was dropped meanwhile
			back = filepath.Join(w.Failed, freeName(w.Failed, e.Name(), filepath.Ext(e.Name())))
		}
		if err := os.Rename(filepath.Join(claim, e.Name()), back); err != nil {
			lock.Close()
			return // the next look tries again
		}
	}
	removeClaim(claim, lock)
}

// removeClaim takes an empty claim away, its lock first and under the lock.
func removeClaim(claim string, lock *os.File) {
	path := filepath.Join(claim, lockName)
	err := os.Remove(path)
	lock.Close()
	if err != nil { // some systems keep files that are open
		_ = os.Remove(path)
	}
	_ = os.Remove(claim) // what could not be removed is given back, empty, by the next look
}

// put moves an order where its result belongs.
func (w *Watch) put(claim string, lock *os.File, photo, ticket string, r Result) error {
	to := w.Done
	if r.Status == Failed {
		to = w.Failed
		note := fmt.Sprintf("%s.\nTry: %s.\n", r.Reason, r.Hint)
		base := strings.TrimSuffix(photo, filepath.Ext(photo)) + ".txt"
		if err := os.WriteFile(filepath.Join(to, freeName(to, base, ".txt")), []byte(note), 0o666); err != nil {
			w.Tell("why "+photo+" failed cannot be written down: "+err.Error(), true)
		}
	}
	for _, name := range []string{photo, ticket} {
		if name == "" {
			continue
		}
		if err := os.Rename(filepath.Join(claim, name), filepath.Join(to, freeName(to, name, filepath.Ext(name)))); err != nil {
			lock.Close()
			return say.File("an order that is made cannot be moved away", filepath.Join(to, name), err)
		}
	}
	removeClaim(claim, lock)
	if r.Status == Failed {
		w.Tell(photo+" failed: "+r.Reason+"; try: "+r.Hint, true)
	} else {
		w.Tell(fmt.Sprintf("%s: %s made", photo, filepath.Join(w.Kits, r.Name)), false)
	}
	return nil
}

// freeName returns a name that nothing in a folder has: NAME, NAME-2 ...
func freeName(dir, name, ending string) string {
	base, free := strings.TrimSuffix(name, ending), name
	for i := 2; folder.Exists(filepath.Join(dir, free)); i++ {
		free = base + "-" + strconv.Itoa(i) + ending
	}
	return free
}
