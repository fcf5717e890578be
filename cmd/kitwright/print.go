package main

import (
	"context"
	"fmt"
	"io"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/pflag"

	"kitwright/folder"
	"kitwright/internal/say"
	"kitwright/internal/setting"
	"kitwright/kit"
	"kitwright/render"
)

func printCommand() command {
	return command{
		name: "print", args: "KIT", summary: "print a kit again, on other paper or in another look",
		about: `Makes the prints of a kit folder again without its photo, with other paper, look or units.
			What is not given stays as the kit was printed before. No drill changes. The result is a kit
			folder of its own; with --out KIT --force it takes the place of the old one, which is kept as
			KIT.before.`,
		example: "kitwright print --paper letter --sheets build ginger-kit",
		bind: func(fs *pflag.FlagSet) func(context.Context, env, []string) error {
			var out, codes, table string
			var force, quiet bool
			only := printChoice{}
			fs.StringVar(&codes, "codes", "", "a table of what you call the colors, such as kit.csv or kit.xlsx with your codes filled in, to put them on everything; none: forget them")
			fs.Var(textValue{&table, "FILE"}, "from-csv", "take what you changed in a chart.csv (numbers or codes of colors) or a kit.csv (codes) in a spreadsheet, as kitwright edit does")
			fs.Var(&only, "only", "make only these: "+strings.Join(printNames(), ", "))
			bindOut(fs, &out, &force, &quiet, "the kit's name and -print, or the next free -print-2,")
			p := render.DefaultPrint().In(locale())
			p.Bind(fs)
			return func(ctx context.Context, e env, args []string) error {
				if err := wantArgs(args, 1, "one kit folder is needed", "kitwright print ginger-kit"); err != nil {
					return err
				}
				from := sourceAt(kitFolder(args[0]))
				k, err := folder.Read(from.dir)
				if err != nil {
					return err
				}
				if err := keepSettings(fs, k.Print, "the kit's prints"); err != nil {
					return err
				}
				as := *k
				from.kit, from.codes = &as, codes
				if codes != "" {
					if k.YourCodes, err = readYourCodes(codes, k); err != nil {
						return err
					}
				}
				if table != "" {
					if len(only) > 0 {
						return say.Usage("leave out one of them", "{from-csv} changes all prints, and {only} was given too")
					}
					if k, err = editedByTable(e, k, from.dir, table); err != nil {
						return err
					}
					from.table = table
				}
				if out == "" {
					out = freePlace(filepath.Clean(from.dir)+"-print", "", force)
				}
				return printAgain(ctx, e, from, k, p, only, out, force, quiet)
			}
		},
	}
}

// source is the folder that a kit is read from, and which it was before it was
// read: another may take its place meanwhile.
type source struct {
	dir   string
	was   os.FileInfo
	kit   *kit.Kit // as it was read; nil = as it is printed
	codes string   // the table of her codes that is read, too
	table string   // and that of her changes
}

func sourceAt(dir string) source {
	was, _ := os.Stat(dir) // nil where there is nothing, as reading it will tell
	return source{dir: dir, was: was}
}

// unchanged says so where the folder is no longer the one that was read: what is
// written in its place would take back what another did, or mix with it.
func (s source) unchanged() error {
	if now, err := os.Stat(s.dir); err == nil && s.was != nil && os.SameFile(s.was, now) {
		return nil
	}
	return say.Failed("run it again", "something made, replaced or removed %s meanwhile", s.dir)
}

// kitFolder returns the kit folder that an argument names, be it by its
// kit.json.
func kitFolder(path string) string {
	if filepath.Base(path) == "kit.json" {
		path = filepath.Dir(path)
	}
	if path == "." {
		if abs, err := filepath.Abs(path); err == nil {
			return abs
		}
	}
	return path
}

// keepSettings sets what a kit or the settings for all runs say where no flag
// says otherwise. A setting that this release does not know is left out: it cannot
// matter to what this release prints.
func keepSettings(fs *pflag.FlagSet, settings map[string]string, whose string) error {
	for _, name := range slices.Sorted(maps.Keys(settings)) {
		f, text := fs.Lookup(name), settings[name]
		if f == nil || f.Changed || setting.GroupOf(f) == "" {
			continue
		}
		if err := f.Value.Set(text); err != nil {
			return say.Failed(say.Hint("give %s yourself", say.Setting(name)), "%s: %s = %q cannot be used: %w", whose, name, text, err)
		}
	}
	return nil
}

func printAgain(ctx context.Context, e env, from source, k *kit.Kit, p render.Print, only printChoice, out string, force, quiet bool) error {
	if err := p.Check(k); err != nil {
		return err
	}
	if from.kit == nil {
		as := *k
		from.kit = &as
	}
	k.Print = p.Settings()
	job := folder.Job{Kit: k, Print: p}
	inPlace := samePlace(from.dir, out)
	var files []folder.Output
	for _, o := range folder.OutputsOf(job) {
		tells := o.Name == "kit.json" || inPlace && o.Word() == "kit" // tables must not tell other numbers than kit.json
		if len(only) == 0 || only[o.Name] || tells {
			files = append(files, o)
		}
	}
	dir, err := begin(ctx, out, folder.Kits, folder.Options{Force: force, Keep: inPlace})
	if err != nil {
		return err
	}
	defer dir.Drop()
	if inPlace {
		if err := from.unchanged(); err != nil {
			return err
		}
		if err := untouched(from.dir, from.kit, from.codes, from.table); err != nil {
			return err
		}
	}
	if err := fillFolder(ctx, e, dir, files, job, quiet); err != nil || quiet {
		return err
	}
	var b strings.Builder
	fmt.Fprintf(&b, "%s: printed again\n", k.Title)
	if from.codes != "" {
		for _, l := range wrap(tellYourCodes(k), helpWidth-2) {
			fmt.Fprintf(&b, "  %s\n", l)
		}
	}
	for _, l := range wrap(p.Buying(k).Sum(), helpWidth-2) {
		fmt.Fprintf(&b, "  %s\n", l)
	}
	writeAdvice(&b, k, p)
	fmt.Fprintln(&b)
	writeFiles(&b, dir, files)
	_, err = io.WriteString(e.stdout, b.String())
	return err
}

// writeAdvice tells what the settings led to, and the command that a measured
// row of drills asks for.
func writeAdvice(b *strings.Builder, k *kit.Kit, p render.Print) {
	for _, note := range p.Advice(k) {
		for _, l := range wrap(note.Words(asFlag), helpWidth-2) {
			fmt.Fprintf(b, "  %s\n", l)
		}
	}
	if pitch, ok := p.ProposedPitch(); ok && k.Chart != nil {
		fmt.Fprintf(b, "\nThe same drills at that pitch, where the photo lies:\n  %s\n", shellLine(sameGridAt(k, pitch)...))
	}
}

// samePlace says whether two paths name one folder.
func samePlace(a, b string) bool {
	x, err1 := os.Stat(a)
	y, err2 := os.Stat(b)
	return err1 == nil && err2 == nil && os.SameFile(x, y)
}

// printChoice is the value of --only: file names of prints.
type printChoice map[string]bool

// printNames returns the prints by the names --only takes.
func printNames() []string {
	var out []string
	for _, o := range folder.Outputs() {
		if o.Print && !slices.Contains(out, o.Word()) {
			out = append(out, o.Word())
		}
	}
	return slices.Compact(out) // a print and its table have one word
}

func (c *printChoice) String() string { return "" }

func (c *printChoice) Set(s string) error {
	for _, word := range strings.Split(s, ",") {
		found := false
		for _, o := range folder.Outputs() {
			if o.Print && strings.TrimSpace(word) == o.Word() {
				(*c)[o.Name], found = true, true
			}
		}
		if !found {
			return say.Usage("", "it takes %s, not %q", strings.Join(printNames(), ", "), word)
		}
	}
	return nil
}

func (c *printChoice) Type() string { return "PRINT,..." }

func testPrintCommand() command {
	return command{
		name: "testprint", args: "[KIT]", summary: "print a page that tests the shop's material first",
		about: `Makes one page to be printed first, on the very material of the canvas: bars to measure,
			rows and blocks at five pitches to lay your own drills on, every symbol at real size on its
			color, and patches of the colors. Give --measured to the next run what the bars came out as.
			Without a kit it shows all symbols.`,
		example: "kitwright testprint --drill round\nkitwright testprint --measured 148.8mm,200.8mm ginger-kit",
		bind: func(fs *pflag.FlagSet) func(context.Context, env, []string) error {
			var out string
			var force, quiet bool
			fs.VarP(textValue{&out, "FILE"}, "out", "o", "the file to make; testprint.pdf, or the next free testprint-2.pdf, unless given")
			fs.BoolVar(&force, "force", false, "overwrite the file if it exists")
			fs.BoolVarP(&quiet, "quiet", "q", false, "say nothing when all went well")
			order := kit.DefaultOrder()
			orders := pflag.NewFlagSet("order", pflag.ContinueOnError)
			order.Bind(orders)
			for _, name := range []string{"drill", "pitch"} {
				fs.AddFlag(orders.Lookup(name))
			}
			p := render.DefaultPrint().In(locale())
			p.Bind(fs)
			return func(ctx context.Context, e env, args []string) error {
				k, err := kitToTest(fs, order, args)
				if err != nil {
					return err
				}
				if err := keepSettings(fs, k.Print, "the kit's prints"); err != nil {
					return err
				}
				if err := p.Check(nil); err != nil {
					return err
				}
				if out == "" {
					out = freePlace("testprint", ".pdf", force)
				}
				if err := writeFile(ctx, out, force, isPDF, func(w io.Writer) error { return render.TestPrint(w, k, p) }); err != nil || quiet {
					return err
				}
				var b strings.Builder
				fmt.Fprintf(&b, "%s  print it at 100 %% on the material of the canvas, then measure\n", out)
				writeAdvice(&b, k, p)
				if len(args) > 0 && p.Measured == (render.Bars{}) {
					fmt.Fprintf(&b, "\nThen, with what its two bars measured, as in 148.8mm,200.8mm:\n  %s\n", shellLine("kitwright", "print", "--measured", "ACROSS,DOWN", argument(args[0])))
				}
				_, err = io.WriteString(e.stdout, b.String())
				return err
			}
		},
	}
}

// kitToTest returns the kit that is named, or a bare one of the drills asked
// for.
func kitToTest(fs *pflag.FlagSet, o kit.Order, args []string) (*kit.Kit, error) {
	const try = "kitwright testprint, or kitwright testprint ginger-kit"
	if len(args) > 1 {
		return nil, say.Usage(try, "testprint takes one kit folder at most, not %d", len(args))
	}
	if len(args) == 1 {
		for _, name := range []string{"drill", "pitch"} {
			if fs.Changed(name) {
				return nil, say.Usage("leave out --"+name+", or the kit", "a kit has its own drills, and --%s was given too", name)
			}
		}
		return folder.Read(kitFolder(args[0]))
	}
	if err := o.Check(); err != nil {
		return nil, err
	}
	return o.Bare(), nil
}

// writeFile makes one file, whole or not at all. One that exists is overwritten
// where force is set and it is such a file.
func writeFile(ctx context.Context, path string, force bool, such func(io.Reader) bool, content func(io.Writer) error) error {
	file, err := beginFile(ctx, path, force, such)
	if err != nil {
		return err
	}
	defer file.Drop()
	if err := file.Fill(content); err != nil {
		return err
	}
	return file.Finish()
}

// fillFolder writes the files of a kit, with progress, and puts the folder in
// its place.
func fillFolder(ctx context.Context, e env, dir *folder.Making, files []folder.Output, job folder.Job, quiet bool) error {
	ctx, done := showProgress(ctx, e.terminal, quiet)
	defer done()
	if err := folder.WriteAll(ctx, dir, files, job); err != nil {
		return err
	}
	return dir.Finish()
}
