package web

import (
	"context"
	"errors"
	"io/fs"
	"maps"
	"net/http"
	"os"
	"slices"
	"strings"
	"sync"

	"github.com/spf13/pflag"

	"kitwright/folder"
	"kitwright/internal/measure"
	"kitwright/internal/say"
	"kitwright/kit"
	"kitwright/palettes"
	"kitwright/photo"
	"kitwright/photo/subject"
	"kitwright/render"
	"kitwright/render/look"
)

// entry is a kit on the table: what is kept of it, and what was made of it
// since the table was opened.
type entry struct {
	lib *library
	id  string

	mu     sync.Mutex // of all below
	st     stored
	ladder ladder
	coarse *kit.Kit // a quick look; nil = none
	made   *kit.Kit // of the kit folder; nil = not read
	stamp  stamp    // of its kit.json when it was read or written
	saver  saver

	disk sync.Mutex // held while the kit folder is written

	work    sync.Mutex // held while photo and canvas are made ready
	source  *kit.Source
	prep    *kit.Prepared
	prepFor string
	first   proposal // of the photo; made once
}

// proposal is a first ellipse about the pet.
type proposal struct {
	of   *photo.Photo
	box  photo.Ellipse
	told bool
}

// propose returns the first ellipse for a photo.
func (e *entry) propose(p *photo.Photo) proposal {
	e.mu.Lock()
	defer e.mu.Unlock()
	if e.first.of != p {
		e.first.of = p
		e.first.box, e.first.told = subject.Propose(p)
	}
	return e.first
}

// ladder is what was made of a photo at several numbers of colors.
type ladder struct {
	of    string // the settings it was made with
	rungs []seenRung
	pick  kit.Pick
	over  bool
	prep  *kit.Prepared
	notes []string  // on the figures, once it is over
	spot  look.Spot // what is worth magnifying
}

// stamp tells a file from a later one in its place.
type stamp struct{ info os.FileInfo }

func (s stamp) same(o os.FileInfo) bool {
	return s.info != nil && o != nil && os.SameFile(s.info, o) && s.info.ModTime().Equal(o.ModTime()) && s.info.Size() == o.Size()
}

// look takes over what is kept on disk. It reads with e.mu held, as [entry.keep]
// writes: what was read before a change would take that back.
func (e *entry) look() error {
	e.mu.Lock()
	defer e.mu.Unlock()
	st, err := e.lib.readStored(e.id)
	if err == nil {
		e.st = *st
	}
	return err
}

// kept returns what is kept of the kit.
func (e *entry) kept() stored {
	e.mu.Lock()
	defer e.mu.Unlock()
	st := e.st
	st.Order, st.Print = maps.Clone(st.Order), maps.Clone(st.Print)
	return st
}

// keep changes what is kept, whole or not at all.
func (e *entry) keep(change func(*stored)) error {
	e.mu.Lock()
	defer e.mu.Unlock()
	st := e.st
	st.Order, st.Print = maps.Clone(st.Order), maps.Clone(st.Print)
	change(&st)
	if err := e.lib.writeStored(e.id, &st); err != nil {
		return err
	}
	e.st = st
	return nil
}

// kitDir is the kit folder: named as the command names it, beside the photo.
func (e *entry) kitDir() string { return e.lib.path(e.id, e.kitName()) }

func (e *entry) kitName() string { return baseOf(e.kept().Photo) + "-" + folder.Kits.Name }

// baseOf returns a photo's name without its ending.
func baseOf(name string) string {
	if i := strings.LastIndexByte(name, '.'); i > 0 {
		return name[:i]
	}
	return name
}

// orderOf reads settings into an order.
func orderOf(settings map[string]string) (kit.Order, error) {
	o := kit.DefaultOrder()
	fs := pflag.NewFlagSet("order", pflag.ContinueOnError)
	o.Bind(fs)
	if err := setAll(fs, settings); err != nil {
		return o, err
	}
	return o, o.Check()
}

// wanted is the order as it is kept, with what she owns where it charts from
// that: of her stash, as the command reads it.
func (t *Table) wanted(st stored) (kit.Order, error) {
	o, err := orderOf(st.Order)
	if err != nil || !o.Own {
		return o, err
	}
	p, err := printOf(st.Print)
	if err != nil {
		return o, err
	}
	if err := p.Own(&o); err != nil || len(o.Stock) > 0 {
		return o, err
	}
	card, err := t.card(o.Card)
	if err != nil {
		return o, err
	}
	l, err := t.ledger()
	if err != nil {
		return o, err
	}
	if l != nil {
		o.TakeStock(card, func(size measure.Length) map[string]int { return l.Owned(card.Name, string(o.Drill), size) })
	}
	if len(o.Stock) == 0 && o.Buy+o.BuyBags == 0 {
		return o, faulty(http.StatusUnprocessableEntity, "", "noneowned")
	}
	return o, nil
}

// printOf reads settings into what changes paper.
func printOf(settings map[string]string) (render.Print, error) {
	p := render.DefaultPrint()
	fs := pflag.NewFlagSet("print", pflag.ContinueOnError)
	p.Bind(fs)
	if err := setAll(fs, settings); err != nil {
		return p, err
	}
	return p, p.Check(nil)
}

// setAll sets flags by name. One that this release does not know is left out.
func setAll(fs *pflag.FlagSet, settings map[string]string) error {
	for _, name := range slices.Sorted(maps.Keys(settings)) {
		f := fs.Lookup(name)
		if f == nil {
			continue
		}
		if err := f.Value.Set(settings[name]); err != nil {
			var said *say.Error
			if errors.As(err, &said) {
				return said.At("%s", say.Setting(name))
			}
			return say.Usage("", "%s does not take %q", say.Setting(name), settings[name])
		}
	}
	return nil
}

// mostOpen is how many photos are held in memory at once.
const mostOpen = 2

// sourceOf returns the photo, read once.
func (t *Table) sourceOf(ctx context.Context, e *entry) (*kit.Source, error) {
	e.work.Lock()
	defer e.work.Unlock()
	return t.source(ctx, e)
}

// source is sourceOf for whoever holds e.work.
func (t *Table) source(ctx context.Context, e *entry) (*kit.Source, error) {
	if e.source == nil {
		name := e.kept().Photo
		f, err := e.lib.root.Open(e.id + "/" + name)
		if errors.Is(err, fs.ErrNotExist) {
			return nil, faulty(http.StatusNotFound, "gone", "nophoto")
		} else if err != nil {
			return nil, say.File("the photo cannot be opened", name, err)
		}
		defer f.Close()
		src, err := kit.Open(ctx, f, name, t.cards()...)
		if err != nil {
			return nil, err
		}
		e.source = src
	}
	t.opened(e)
	return e.source, nil
}

// opened remembers that a photo was used, and lets go of the one that was used
// the longest ago.
func (t *Table) opened(e *entry) {
	t.mu.Lock()
	t.used = append([]*entry{e}, slices.DeleteFunc(t.used, func(o *entry) bool { return o == e })...)
	var drop []*entry
	if len(t.used) > mostOpen {
		drop, t.used = t.used[mostOpen:], t.used[:mostOpen:mostOpen]
	}
	t.mu.Unlock()
	for _, o := range drop {
		if o.work.TryLock() { // in use otherwise
			o.source, o.prep, o.prepFor = nil, nil, ""
			o.work.Unlock()
		}
	}
}

// prepare returns the photo on its canvas, made once as long as nothing about
// canvas and light changes.
func (t *Table) prepare(ctx context.Context, e *entry, o kit.Order) (*kit.Prepared, error) {
	e.work.Lock()
	defer e.work.Unlock()
	src, err := t.source(ctx, e)
	if err != nil {
		return nil, err
	}
	of := key(kit.Order{Canvas: o.Canvas, Light: o.Light})
	if e.prep != nil && e.prepFor == of {
		return e.prep, nil
	}
	prep, err := src.Lay(ctx, o.Canvas, o.Light)
	if err != nil {
		return nil, err
	}
	e.prep, e.prepFor = prep, of
	return prep, nil
}

// forgetPhotos lets all photos be read again, as when there are other cards.
func (t *Table) forgetPhotos() {
	t.mu.Lock()
	used := t.used
	t.used = nil
	t.mu.Unlock()
	for _, e := range used {
		e.work.Lock()
		e.source, e.prep, e.prepFor = nil, nil, ""
		e.work.Unlock()
	}
}

// key writes settings so that they can be compared.
func key(o kit.Order, without ...string) string {
	m := o.Settings()
	var b strings.Builder
	for _, name := range slices.Sorted(maps.Keys(m)) {
		if !slices.Contains(without, name) {
			b.WriteString(name + "=" + m[name] + "\n")
		}
	}
	return b.String()
}

// cards returns the crafter's own cards. One that cannot be read is left out:
// whoever names it is told.
func (t *Table) cards() (own []*palettes.Card) {
	for _, name := range t.shelf.Names() {
		if c, err := t.shelf.Open(name); err == nil {
			own = append(own, c)
		}
	}
	return own
}

// kit returns the kit of the kit folder, nil where there is none. One that was
// changed from outside, as by the command, is read again.
func (e *entry) kit() (*kit.Kit, error) {
	e.mu.Lock()
	defer e.mu.Unlock()
	return e.kitLocked()
}

func (e *entry) kitLocked() (*kit.Kit, error) {
	if e.saver.pending != nil {
		return e.saver.pending, nil // on its way to the disk
	}
	dir := e.lib.path(e.id, baseOf(e.st.Photo)+"-"+folder.Kits.Name)
	info, err := os.Stat(dir + "/kit.json")
	if errors.Is(err, fs.ErrNotExist) {
		e.made, e.stamp = nil, stamp{}
		return nil, nil
	} else if err != nil {
		return nil, say.File("the kit cannot be read", dir, err)
	}
	if e.made != nil && e.stamp.same(info) {
		return e.made, nil
	}
	k, err := folder.Read(dir)
	if err != nil {
		return nil, err
	}
	e.made, e.stamp = k, stamp{info}
	return k, nil
}

// wrote remembers the kit that was written into the kit folder.
func (e *entry) wrote(k *kit.Kit) {
	e.mu.Lock()
	defer e.mu.Unlock()
	dir := e.lib.path(e.id, baseOf(e.st.Photo)+"-"+folder.Kits.Name)
	if info, err := os.Stat(dir + "/kit.json"); err == nil {
		e.made, e.stamp = k, stamp{info}
	}
}
