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

	"kitwright/internal/say"
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
			var out string
			var force, quiet bool
			only := printChoice{}
			fs.Var(&only, "only", "make only these: "+strings.Join(printNames(), ", "))
			bindOut(fs, &out, &force, &quiet, "the kit's name and -print")
			p := render.DefaultPrint().In(locale())
			p.Bind(fs)
			return func(ctx context.Context, e env, args []string) error {
				if err := wantArgs(args, 1, "one kit folder is needed", "kitwright print ginger-kit"); err != nil {
					return err
				}
				k, err := readKit(args[0])
				if err != nil {
					return err
				}
				if err := keepSettings(fs, k.Print); err != nil {
					return err
				}
				if out == "" {
					out = filepath.Clean(args[0]) + "-print"
				}
				return printAgain(ctx, e, k, p, only, out, force, quiet)
			}
		},
	}
}

// readKit reads the kit.json of a kit folder.
func readKit(dir string) (*kit.Kit, error) {
	const try = "name a folder that kitwright chart made"
	info, err := os.Stat(dir)
	if err != nil {
		return nil, fileError("the kit cannot be opened", dir, err)
	}
	if !info.IsDir() {
		return nil, say.Failed(try, "%s is not a kit folder", dir)
	}
	f, err := os.Open(filepath.Join(dir, kitKey))
	if os.IsNotExist(err) {
		return nil, say.Failed(try, "%s holds no %s", dir, kitKey)
	} else if err != nil {
		return nil, fileError("the kit cannot be opened", filepath.Join(dir, kitKey), err)
	}
	defer f.Close()
	return kit.ReadJSON(f)
}

// keepSettings sets what the kit was printed with where no flag says
// otherwise. A setting that this release does not know is left out: it cannot
// matter to what this release prints.
func keepSettings(fs *pflag.FlagSet, settings map[string]string) error {
	for _, name := range slices.Sorted(maps.Keys(settings)) {
		f, text := fs.Lookup(name), settings[name]
		if f == nil || f.Changed || len(f.Annotations[kit.GroupKey]) == 0 {
			continue
		}
		if err := f.Value.Set(text); err != nil {
			return say.Failed("give --"+name+" again", "the kit's print setting %s = %q cannot be used: %w", name, text, err)
		}
	}
	return nil
}

func printAgain(ctx context.Context, e env, k *kit.Kit, p render.Print, only printChoice, out string, force, quiet bool) error {
	if err := p.Check(k); err != nil {
		return err
	}
	k.Print = p.Settings()
	var files []kitFile
	for _, f := range kitFiles() {
		if len(only) == 0 || only[f.name] || f.name == kitKey {
			files = append(files, f)
		}
	}
	dir, err := newFolder(out, kitKey, isKitFile, force)
	if err != nil {
		return err
	}
	defer dir.drop()
	ctx, done := showProgress(ctx, e.stderr, quiet)
	defer done()
	if err := writeKit(ctx, dir, files, k, p); err != nil {
		return err
	}
	if err := dir.finish(); err != nil {
		return err
	}
	done()
	if quiet {
		return nil
	}
	var b strings.Builder
	fmt.Fprintf(&b, "%s: printed again\n", k.Title)
	for _, note := range p.Advice(k) {
		for _, l := range wrap(note.Words(asFlag), helpWidth-2) {
			fmt.Fprintf(&b, "  %s\n", l)
		}
	}
	fmt.Fprintln(&b)
	writeFiles(&b, out, files)
	_, err = io.WriteString(e.stdout, b.String())
	return err
}

// printChoice is the value of --only: file names of prints.
type printChoice map[string]bool

// printNames returns the prints by the names --only takes.
func printNames() []string {
	var out []string
	for _, f := range prints() {
		out = append(out, strings.TrimSuffix(f.name, filepath.Ext(f.name)))
	}
	return out
}

func (c *printChoice) String() string { return "" }

func (c *printChoice) Set(s string) error {
	for _, word := range strings.Split(s, ",") {
		found := false
		for _, f := range prints() {
			if strings.TrimSpace(word) == strings.TrimSuffix(f.name, filepath.Ext(f.name)) {
				(*c)[f.name], found = true, true
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
		example: "kitwright testprint --drill round\nkitwright testprint --measured 99.2mm,100.4mm ginger-kit",
		bind: func(fs *pflag.FlagSet) func(context.Context, env, []string) error {
			out := "testprint.pdf"
			var force, quiet bool
			fs.StringVarP(&out, "out", "o", out, "the file to make")
			fs.BoolVar(&force, "force", false, "overwrite the file if it exists")
			fs.BoolVar(&quiet, "quiet", false, "say nothing when all went well")
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
				if err := keepSettings(fs, k.Print); err != nil {
					return err
				}
				if err := p.Check(nil); err != nil {
					return err
				}
				if err := writeFile(out, force, func(w io.Writer) error { return render.TestPrint(w, k, p) }); err != nil || quiet {
					return err
				}
				var b strings.Builder
				fmt.Fprintf(&b, "%s  print it at 100 %% on the material of the canvas, then measure\n", out)
				for _, note := range p.Advice(k) {
					fmt.Fprintf(&b, "  %s\n", strings.Join(wrap(note.Words(asFlag), helpWidth-2), "\n  "))
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
		return readKit(args[0])
	}
	if err := o.Check(); err != nil {
		return nil, err
	}
	return o.Bare(), nil
}

// writeFile makes one file, whole or not at all.
func writeFile(path string, force bool, content func(io.Writer) error) error {
	if exists(path) && !force {
		return say.Failed("choose another name with --out, or overwrite it with --force", "%s exists already", path)
	}
	tmp, err := os.CreateTemp(filepath.Dir(path), "."+filepath.Base(path)+".*")
	if err != nil {
		return fileError("the file cannot be written", path, err)
	}
	defer os.Remove(tmp.Name()) // gone already after the rename
	if err := fill(tmp, path, content); err != nil {
		return err
	}
	if err := os.Chmod(tmp.Name(), 0o644); err != nil {
		return fileError("the file cannot be written", path, err)
	}
	if err := os.Rename(tmp.Name(), path); err != nil {
		return fileError("the file cannot be written", path, err)
	}
	return nil
}
