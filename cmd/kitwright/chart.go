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
	"kitwright/palettes"
	"kitwright/photo"
	"kitwright/render"
)

// locale is the language and region that the system is set to, such as
// "en_US.UTF-8"; it decides about the default paper only.
func locale() string {
	for _, name := range []string{"LC_ALL", "LC_PAPER", "LANG"} {
		if v := os.Getenv(name); v != "" {
			return v
		}
	}
	return ""
}

// kitFile is one file of the kit folder.
type kitFile struct {
	name  string
	what  string // for the summary
	write func(w io.Writer, k *kit.Kit, p render.Print) error
}

// kitKey is the file that makes a folder a kit folder.
const kitKey = "kit.json"

// prints returns what is printed of a kit.
func prints() []kitFile {
	return []kitFile{
		{"canvas.pdf", "the true-scale sheet for a print shop", render.Canvas},
		{"ticket.pdf", "what the shop and the film should know; goes with the canvas", render.Ticket},
		{"sheets.pdf", "the chart on a home printer's paper", render.Sheets},
		{"labels.pdf", "a label for each color's container or bag", render.Labels},
		{"legend.pdf", "all colors on one large-type card", render.Legend},
		{"preview.png", "the picture as drills", func(w io.Writer, k *kit.Kit, _ render.Print) error { return render.Preview(w, k) }},
	}
}

// kitFiles returns the files of a kit folder in the order they are named. The
// names are a contract: more may come, none is renamed.
func kitFiles() []kitFile {
	return append(prints(),
		kitFile{"kit.csv", "the colors and how many drills of each", func(w io.Writer, k *kit.Kit, _ render.Print) error { return k.WriteKitCSV(w) }},
		kitFile{"chart.csv", "the chart as rows of color numbers", func(w io.Writer, k *kit.Kit, _ render.Print) error { return k.WriteChartCSV(w) }},
		kitFile{kitKey, "everything, to print it again without the photo", func(w io.Writer, k *kit.Kit, _ render.Print) error { return k.WriteJSON(w) }},
	)
}

// writeKit writes files of a kit into a folder.
func writeKit(ctx context.Context, dir *folder, files []kitFile, k *kit.Kit, p render.Print) error {
	for _, f := range files {
		say.Step(ctx, "writing "+f.name, 0, 0)
		if err := dir.write(f.name, func(w io.Writer) error { return f.write(w, k, p) }); err != nil {
			return err
		}
		if err := ctx.Err(); err != nil {
			return err
		}
	}
	return nil
}

// toneFile is in a kit folder where the photo's light was changed: before and
// after.
const toneFile = "tone.png"

// isKitFile says whether a kit folder may hold a file of this name.
func isKitFile(name string) bool {
	for _, f := range kitFiles() {
		if f.name == name {
			return true
		}
	}
	return name == toneFile
}

func chartCommand() command {
	return command{
		name: "chart", args: "PHOTO", summary: "make a kit folder from a photo",
		about: `Turns a photo into a kit folder: the true-scale sheet for a print shop, a preview,
			the colors with their counts, and the chart itself. Sizes are those of the drilled picture;
			the sheet is larger by its margins and legend.`,
		example: "kitwright chart --size 40x50cm --drill round --colors 36 ginger.jpg",
		bind: func(fs *pflag.FlagSet) func(context.Context, env, []string) error {
			var out string
			var force, quiet, demo bool
			order, print := kit.DefaultOrder(), render.DefaultPrint().In(locale())
			fs.BoolVar(&demo, "demo", false, "use the built-in photo of a cat")
			fs.StringVarP(&out, "out", "o", "", "the folder to make; the photo's name and -kit unless given")
			fs.BoolVar(&force, "force", false, "replace a kit folder that exists; the old one is kept as NAME.before")
			fs.BoolVar(&quiet, "quiet", false, "say nothing when all went well")
			order.Bind(fs)
			print.Bind(fs)
			return func(ctx context.Context, e env, args []string) error {
				src, err := openPhoto(args, demo)
				if err != nil {
					return err
				}
				defer src.close()
				if out == "" {
					out = src.base() + "-kit"
				}
				return makeKit(ctx, e, src, order, print, out, force, quiet)
			}
		},
	}
}

// makeKit makes the folder and tells what is in it.
func makeKit(ctx context.Context, e env, src *photoSource, o kit.Order, p render.Print, out string, force, quiet bool) error {
	if err := o.Check(); err != nil {
		return err
	}
	card, err := openCard(&o)
	if err != nil {
		return err
	}
	dir, err := newFolder(out, kitKey, isKitFile, force)
	if err != nil {
		return err
	}
	defer dir.drop()

	ctx, done := showProgress(ctx, e.stderr, quiet)
	defer done()
	prep, err := kit.Prepare(ctx, kit.Input{Photo: src.file, PhotoName: src.name, Card: card}, o)
	if err != nil {
		return src.explain(err)
	}
	k, err := prep.Kit(ctx, o)
	if err != nil {
		return err
	}
	if err := p.Check(k); err != nil {
		return err
	}
	k.Print = p.Settings()
	files := kitFiles()
	if prep.Tone != (photo.Tone{}) {
		files = append(files, kitFile{toneFile, "the photo before and after its light was changed", func(w io.Writer, _ *kit.Kit, _ render.Print) error { return render.Tone(w, prep) }})
	}
	if err := writeKit(ctx, dir, files, k, p); err != nil {
		return err
	}
	if err := dir.finish(); err != nil {
		return err
	}
	done()
	if !quiet {
		return writeSummary(e.stdout, k, prep, o, p, out, files)
	}
	return nil
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
		return &photoSource{name: "cat.png", file: bytes.NewReader(photo.Demo())}, nil
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
	named := *said
	named.What = s.path + ": " + said.What
	return &named
}

func (s *photoSource) close() {
	if f, ok := s.file.(io.Closer); ok {
		_ = f.Close() // only read from
	}
}

// openCard returns the card an order names: a built-in one, or a file. The
// order then holds the card's name, never a path.
func openCard(o *kit.Order) (*palettes.Card, error) {
	for _, name := range palettes.Names() {
		if o.Card == name {
			return palettes.Named(name)
		}
	}
	file, err := os.Open(o.Card)
	if err != nil {
		if os.IsNotExist(err) && !strings.ContainsAny(o.Card, `./\`) {
			_, err := palettes.Named(o.Card) // says which cards there are
			return nil, err
		}
		return nil, fileError("the card cannot be opened", o.Card, err)
	}
	defer file.Close()
	if info, err := file.Stat(); err == nil && info.IsDir() {
		return nil, say.Failed("name the CSV file in it", "%s is a folder, not a card", o.Card)
	}
	name := filepath.Base(o.Card)
	card, err := palettes.Read(name, file)
	if err != nil {
		return nil, err
	}
	o.Card = name
	return card, nil
}
