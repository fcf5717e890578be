package main

import (
	"bytes"
	"context"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/pflag"

	"kitwright/internal/say"
	"kitwright/kit"
	"kitwright/photo"
)

// photoRun is a run that makes a folder from a photo: what such commands have
// in common.
type photoRun struct {
	ending string                 // of the folder's name after the photo's
	key    string                 // the file that every such folder holds
	may    func(name string) bool // whether such a folder may hold a file of this name

	cards              cardPlaces
	out                string
	force, quiet, demo bool
}

// summary tells what a run has made.
type summary func(w io.Writer) error

func (r *photoRun) bind(fs *pflag.FlagSet) {
	fs.BoolVar(&r.demo, "demo", false, "use the built-in photo of a cat")
	r.cards.bind(fs)
	bindOut(fs, &r.out, &r.force, &r.quiet, "the photo's name and "+r.ending)
}

// bindOut adds the flags of every run that makes a folder.
func bindOut(fs *pflag.FlagSet, out *string, force, quiet *bool, unless string) {
	fs.StringVarP(out, "out", "o", "", "the folder to make; "+unless+" unless given")
	fs.BoolVar(force, "force", false, "replace such a folder if it exists; the old one is kept as NAME.before")
	fs.BoolVar(quiet, "quiet", false, "say nothing when all went well")
}

// do opens photo and card, begins the folder, makes it, and tells about it.
func (r *photoRun) do(ctx context.Context, e env, args []string, o kit.Order, work func(context.Context, *kit.Prepared, kit.Choice, *folder) (summary, error)) error {
	src, err := openPhoto(args, r.demo)
	if err != nil {
		return err
	}
	defer src.close()
	if r.out == "" {
		r.out = src.base() + r.ending
	}
	if err := o.Check(); err != nil {
		return err
	}
	card, err := r.cards.open(e, &o.Card)
	if err != nil {
		return err
	}
	if err := o.CheckOn(card); err != nil {
		return err
	}
	dir, err := newFolder(r.out, r.key, r.may, r.force)
	if err != nil {
		return err
	}
	defer dir.drop()

	ctx, done := showProgress(ctx, e.stderr, r.quiet)
	defer done()
	read, err := kit.Open(ctx, src.file, src.name, card)
	if err != nil {
		return src.explain(err)
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
	if err := dir.finish(); err != nil {
		return err
	}
	done()
	if r.quiet {
		return nil
	}
	return tell(e.stdout)
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
	info, err := os.Stat(path)
	if err != nil {
		return nil, fileError("the photo cannot be opened", path, err)
	}
	if info.IsDir() {
		return nil, say.Failed("name one photo in it", "%s is a folder, not a photo", path)
	}
	file, err := os.Open(path)
	if err != nil {
		return nil, fileError("the photo cannot be opened", path, err)
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
