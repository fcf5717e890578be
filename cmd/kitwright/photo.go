package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"github.com/spf13/pflag"

	"kitwright/folder"
	"kitwright/internal/input"
	"kitwright/internal/say"
	"kitwright/kit"
	"kitwright/palettes"
	"kitwright/photo"
	"kitwright/render"
)

// photoRun is a run that makes a folder from a photo: what such commands have
// in common.
type photoRun struct {
	kind  folder.Kind
	print *render.Print // of a kit; nil where none is made

	cards              cardPlaces
	stash              stashPlace
	out                string
	force, quiet, demo bool
	like               likeFlag
	yes                bool
	pixels             pixelBoxes // parts of the photo that were named in pixels

	given func(flag string) bool
}

// summary tells what a run has made.
type summary func(w io.Writer) error

func (r *photoRun) bind(fs *pflag.FlagSet) {
	r.given = fs.Changed
	r.like.bind(fs)
	fs.BoolVar(&r.yes, "yes", false, "make it even if a size or a pitch looks like a slip of unit")
	fs.BoolVar(&r.demo, "demo", false, "use the built-in photo of a cat")
	r.cards.bind(fs)
	r.stash.bind(fs)
	bindOut(fs, &r.out, &r.force, &r.quiet, "the photo's name and -"+r.kind.Name)
}

// bindOut adds the flags of every run that makes a folder.
func bindOut(fs *pflag.FlagSet, out *string, force, quiet *bool, unless string) {
	fs.StringVarP(out, "out", "o", "", "the folder to make; "+unless+" unless given")
	fs.BoolVar(force, "force", false, "replace such a folder if it exists; the old one is kept as NAME.before")
	fs.BoolVarP(quiet, "quiet", "q", false, "say nothing when all went well")
}

// do opens photo and card, begins the folder, makes it, and tells about it.
func (r *photoRun) do(ctx context.Context, e env, args []string, o kit.Order, work func(context.Context, *kit.Prepared, kit.Choice, *folder.Making) (summary, error)) error {
	src, err := openPhoto(args, r.demo)
	if err != nil {
		return err
	}
	defer src.close()
	if r.out == "" {
		r.out = src.base() + "-" + r.kind.Name
		if r.like.dir != "" { // which most often lies there
			r.out = freePlace(r.out, "", r.force)
		}
	}
	if err := o.Check(); err != nil {
		return err
	}
	if err := checkSlips(o, r.yes || r.like.dir != "" && !r.like.size); err != nil { // what was made once was meant
		return err
	}
	card, err := r.cards.open(e, &o.Card)
	if err != nil {
		return err
	}
	if err := r.ownStock(e, &o, card); err != nil {
		return err
	}
	if err := o.CheckOn(card); err != nil {
		return err
	}
	if r.print != nil && !r.force && len(r.pixels) == 0 && r.isMade(src, o, card) {
		_, err := fmt.Fprintf(e.stdout, "%s is made already, of this photo and with these settings.\n", r.out)
		return err
	}
	dir, err := begin(ctx, r.out, r.kind, folder.Options{Force: r.force})
	if err != nil {
		return err
	}
	defer dir.Drop()

	ctx, done := showProgress(ctx, e.terminal, r.quiet)
	defer done()
	read, err := kit.Open(ctx, src.file, src.name, card)
	if err != nil {
		return src.explain(err)
	}
	if err := r.pixels.on(&o, read.Photo.Width, read.Photo.Height); err != nil {
		return err
	}
	prep, err := read.Lay(ctx, o.Canvas, o.Light)
	if err != nil {
		return err
	}
	tell, err := work(ctx, prep, o.Choice, dir)
	if err != nil {
		return err
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	if err := dir.Finish(); err != nil {
		return err
	}
	done()
	if r.quiet {
		return nil
	}
	return tell(e.stdout)
}

// isMade says whether the kit stands there already: of the same photo, card,
// order and prints, and whole.
func (r *photoRun) isMade(src *photoSource, o kit.Order, card *palettes.Card) bool {
	if !folder.Exists(r.out) {
		return false
	}
	sum, err := src.sum()
	if err != nil {
		return false
	}
	_, stands := folder.Stands(r.out, sum, card, o, *r.print)
	return stands
}

// photoSource is where the photo comes from.
type photoSource struct {
	name string // its base name
	file io.Reader
	path string // "" for the built-in one
}

// openPhoto opens the one photo that the arguments name.
func openPhoto(args []string, demo bool) (*photoSource, error) {
	if demo {
		if len(args) > 0 {
			return nil, say.Usage("leave out --demo, or the photo", "--demo uses the built-in photo, and %s was named too", args[0])
		}
		return &photoSource{name: photo.DemoName, file: bytes.NewReader(photo.Demo())}, nil
	}
	if err := wantArgs(args, 1, "one photo is needed", "kitwright chart cat.jpg, or --demo for the built-in photo"); err != nil {
		return nil, err
	}
	path := args[0]
	file, err := input.Open(path, "photo")
	if err != nil {
		return nil, err
	}
	return &photoSource{name: filepath.Base(path), file: file, path: path}, nil
}

// base returns the photo's name without its ending.
func (s *photoSource) base() string {
	b := strings.TrimSuffix(s.name, filepath.Ext(s.name))
	if b == "" {
		return s.name
	}
	return b
}

// explain names the file in an error about the photo.
func (s *photoSource) explain(err error) error {
	said, ok := err.(*say.Error)
	if !ok || said.Usage || s.path == "" {
		return err
	}
	return said.At("%s", s.path)
}

func (s *photoSource) close() {
	if f, ok := s.file.(io.Closer); ok {
		_ = f.Close() // only read from
	}
}
