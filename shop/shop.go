// Package shop makes many kits: the orders of a print shop, from a table, in
// shards on many machines, or from a folder that is watched.
//
// Begin with [ReadOrders], then [Shop.Batch]. Every kit is made by the same
// road as a single one, into the same kind of folder. One order that cannot be
// made never stops the others. What came of each is appended to a results file
// as it ends, and a run again makes only what changed or failed.
package shop

import (
	"context"
	"io"
	"os"
	"path/filepath"

	"kitwright/folder"
	"kitwright/internal/say"
	"kitwright/kit"
	"kitwright/palettes"
	"kitwright/render"
)

// Shop is where orders are made and what all of them share.
type Shop struct {
	Dir     string // where the table of orders lies: photos and cards are named from there
	Outside bool   // whether an order may name files outside Dir
	Out     string // the folder that the kits' folders are made in
	Jobs    int    // orders at once, at least 1
	Memory  int64  // bytes that photos may take together; 0 = no limit
	Release string // of the program: another one may make other bytes

	Profile *render.ShopProfile // of the printing machine, read already; nil = none
	Font    *render.FontFile    // for titles, read already; nil = none

	Order map[string]string // settings that an order doesn't say, by name
	Slips func(kit.Order) error
	Card  func(name string) (*palettes.Card, error)
	Begin func(ctx context.Context, dest string, kind folder.Kind, opt folder.Options) (*folder.Making, error)
}

// recipe is an order with all its settings understood.
type recipe struct {
	order kit.Order
	print render.Print
	card  *palettes.Card
}

// recipe understands an order's settings, and checks what can be checked
// without its photo.
func (s *Shop) recipe(o Order) (*recipe, error) {
	if o.Bad != nil {
		return nil, o.Bad
	}
	r := &recipe{order: kit.DefaultOrder(), print: render.DefaultPrint()}
	if err := o.fill(s.Order, &r.order, &r.print); err != nil {
		return nil, err
	}
	if err := s.loadFont(&r.print.Font); err != nil {
		return nil, err
	}
	if err := o.checkOwn(r.order); err != nil {
		return nil, err
	}
	if err := s.loadProfile(&r.print.Shop.Profile); err != nil {
		return nil, err
	}
	if err := r.order.Check(); err != nil {
		return nil, err
	}
	if err := r.print.Check(nil); err != nil {
		return nil, err
	}
	if s.Slips != nil {
		if err := s.Slips(r.order); err != nil {
			return nil, err
		}
	}
	name, err := s.cardName(r.order.Card)
	if err != nil {
		return nil, err
	}
	if r.card, err = s.Card(name); err != nil {
		return nil, err
	}
	r.order.Card = r.card.Name
	return r, r.order.CheckOn(r.card)
}

// loadProfile reads the profile that an order names, unless it is the shop's.
func (s *Shop) loadProfile(p *render.ShopProfile) error {
	if s.Profile != nil && p.Wants() != "" && p.Name == s.Profile.Name {
		*p = *s.Profile
		return nil
	}
	return s.load("profile", p)
}

// loadFont reads the font that an order names, unless it is the shop's.
func (s *Shop) loadFont(f *render.FontFile) error {
	if s.Font != nil && f.Wants() != "" && f.String() == s.Font.String() {
		*f = *s.Font
		return nil
	}
	return s.load("font", f)
}

// load reads the file that a setting wants, if it wants one.
func (s *Shop) load(what string, v interface {
	Wants() string
	Load(data []byte) error
}) error {
	path := v.Wants()
	if path == "" {
		return nil
	}
	f, err := s.file(what, path)
	if err != nil {
		return err
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, maxSettingFile+1))
	if err != nil {
		return say.File("the "+what+" cannot be read", path, err)
	}
	if len(data) > maxSettingFile {
		return say.Failed("look whether it is the right file", "%s is over %d MB", path, maxSettingFile>>20)
	}
	return v.Load(data)
}

// maxSettingFile is more than any profile or font has.
const maxSettingFile = 32 << 20

// cardName returns how the card that an order names is found: a file is named
// from the table of orders.
func (s *Shop) cardName(name string) (string, error) {
	path := filepath.Join(s.Dir, filepath.FromSlash(name))
	if info, err := os.Lstat(path); err != nil || !info.Mode().IsRegular() && !filepath.IsLocal(filepath.FromSlash(name)) {
		return name, nil // a card by its name, or none: the error names it
	}
	if !s.Outside && !filepath.IsLocal(filepath.FromSlash(name)) {
		return "", outside("card", name)
	}
	return path, nil
}

func outside(what, path string) error {
	return say.Usage("copy it beside the orders, or allow it with {allow-outside}", "the %s %s lies outside the folder of the orders", what, path)
}

// file opens a file that an order names. No link leads out of the folder of
// the orders.
func (s *Shop) file(what, path string) (io.ReadCloser, error) {
	local := filepath.FromSlash(path)
	if s.Outside {
		if !filepath.IsAbs(local) {
			local = filepath.Join(s.Dir, local)
		}
		return opened(what, path, func() (*os.File, error) { return os.Open(local) }, func() (os.FileInfo, error) { return os.Stat(local) })
	}
	if !filepath.IsLocal(local) {
		return nil, outside(what, path)
	}
	root, err := os.OpenRoot(s.Dir)
	if err != nil {
		return nil, say.File("the folder of the orders cannot be opened", s.Dir, err)
	}
	defer root.Close()
	return opened(what, path, func() (*os.File, error) { return root.Open(local) }, func() (os.FileInfo, error) { return root.Stat(local) })
}

// opened opens a regular file: a pipe might never end.
func opened(what, path string, open func() (*os.File, error), stat func() (os.FileInfo, error)) (*os.File, error) {
	info, err := stat()
	if err != nil {
		if _, isPath := err.(*os.PathError); isPath && !os.IsNotExist(err) && !os.IsPermission(err) {
			return nil, say.Failed("copy it beside the orders, or allow it with {allow-outside}", "the %s %s cannot be opened within the folder of the orders", what, path)
		}
		return nil, say.File("the "+what+" cannot be opened", path, err)
	}
	if !info.Mode().IsRegular() {
		return nil, say.Failed("name a file", "%s is not a file", path)
	}
	f, err := open()
	if err != nil {
		return nil, say.File("the "+what+" cannot be opened", path, err)
	}
	return f, nil
}
