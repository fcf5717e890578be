package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/pflag"

	"kitwright/folder"
	"kitwright/internal/measure"
	"kitwright/internal/say"
	"kitwright/internal/setting"
	"kitwright/render"
)

func gangCommand() command {
	return command{
		name: "gang", args: "KITS...", summary: "print many canvases on one roll, as short as can be",
		about: `Lays the canvases of kit folders, or of all kits in a folder, on one roll of the shop's, so that little of it is used, and says
			how much shorter any other way could be at most. Every canvas is printed as in its own file, at
			true scale, with its name and kit mark beside it on the waste. A second file, the ticket, tells
			what lies where. A kit is laid as often as its copies say; --copies sets them for all. A sheet
			that is wider than the roll is laid in panels. PDF ends at 5.08 m: a longer roll has several
			pages of at most 5 m. What is not given stays as each kit was printed before, but for what was
			measured of a printer, which is asked here for the roll.`,
		example: "kitwright gang mia-kit tom-kit --media-width 1067mm --gap 10mm -o roll.pdf\nkitwright gang kits --media-width 610mm --rotate",
		bind: func(fs *pflag.FlagSet) func(context.Context, env, []string) error {
			out := "roll.pdf"
			var force, quiet, turn bool
			gap := measure.Length(10 * measure.Millimeter)
			fs.VarP(textValue{&out, "FILE"}, "out", "o", "the file to make; its ticket gets -ticket behind its name")
			fs.Var(&gap, "gap", "from canvas to canvas, for the knife and the names, 6mm or more")
			fs.BoolVar(&turn, "rotate", false, "canvases may lie turned by a quarter")
			fs.BoolVar(&force, "force", false, "overwrite the files if they exist")
			fs.BoolVarP(&quiet, "quiet", "q", false, "say nothing when all went well")
			p := render.DefaultPrint().In(locale())
			p.Bind(fs)
			return func(ctx context.Context, e env, args []string) error {
				if len(args) == 0 {
					return say.Usage("kitwright gang mia-kit tom-kit --media-width 610mm", "gang takes one kit folder or more")
				}
				if !p.MediaWidth.Given {
					return say.Usage("give what the roll prints across, as in {media-width} 1067mm", "gang needs to know how wide the roll is")
				}
				if x := filepath.Ext(out); !strings.EqualFold(x, ".pdf") {
					return say.Usage("{out} roll.pdf", "a roll is made as PDF, and %q names another kind of file", out)
				}
				kits, err := gangKits(fs, p, args)
				if err != nil {
					return err
				}
				r := render.Roll{Width: p.MediaWidth.Length, Gap: gap, Turn: turn, Print: p}
				r.Print.Shop = kits[0].Print.Shop
				r.Print.MediaWidth, r.Print.MeasuredPicture = measure.Auto{}, render.Picture{}
				return gang(ctx, e, kits, r, out, force, quiet)
			}
		},
	}
}

// gangKits reads kits with the settings they were printed with, and those that
// are given for all.
func gangKits(fs *pflag.FlagSet, p render.Print, args []string) ([]render.Ganged, error) {
	var kits []render.Ganged
	for _, dir := range kitFolders(args) {
		k, err := folder.Read(dir)
		if err != nil {
			return nil, err
		}
		own := render.DefaultPrint().In(locale())
		of := pflag.NewFlagSet("kit", pflag.ContinueOnError)
		own.Bind(of)
		if err := keepSettings(of, k.Print, "the prints of "+dir); err != nil {
			return nil, err
		}
		fs.VisitAll(func(f *pflag.Flag) {
			if to := of.Lookup(f.Name); to != nil && f.Changed && setting.GroupOf(f) != "" {
				_ = to.Value.Set(f.Value.String()) // the same kind of value took it
			}
		})
		if own.Shop.Profile.Name == p.Shop.Profile.Name {
			own.Shop.Profile = p.Shop.Profile
		}
		if own.Font.String() == p.Font.String() {
			own.Font = p.Font
		}
		g := render.Ganged{Name: filepath.Base(dir), Kit: k, Print: own, Copies: int(own.Copies)}
		if err := own.Check(nil); err != nil {
			return nil, ofKit(err, g.Name)
		}
		if first := kits; len(first) > 0 && !sameShop(first[0].Print.Shop, own.Shop) {
			return nil, say.Usage("give {pdf} for all, and {shop-profile} and {convert} with x4", "%s and %s were printed for different machines, or in different ways", first[0].Name, g.Name)
		}
		kits = append(kits, g)
	}
	return kits, nil
}

// kitFolders returns the kit folders that arguments name, or that lie in a folder
// that one names, such as what a batch filled.
func kitFolders(args []string) (dirs []string) {
	for _, arg := range args {
		dir := kitFolder(arg)
		entries, err := os.ReadDir(dir)
		if err != nil || folder.Exists(filepath.Join(dir, "kit.json")) {
			dirs = append(dirs, dir) // what is wrong with it is said when it is read
			continue
		}
		found := len(dirs)
		for _, in := range entries {
			if d := filepath.Join(dir, in.Name()); !strings.HasSuffix(d, ".before") && folder.Exists(filepath.Join(d, "kit.json")) {
				dirs = append(dirs, d)
			}
		}
		if len(dirs) == found {
			dirs = append(dirs, dir)
		}
	}
	return dirs
}

// ofKit names the kit in an error about it.
func ofKit(err error, name string) error {
	var said *say.Error
	if errors.As(err, &said) {
		return said.At("%s", name)
	}
	return err
}

// sameShop says whether two canvases are made for one machine in one way.
func sameShop(a, b render.Shop) bool {
	return a.Standard == b.Standard && a.Profile.Name == b.Profile.Name && a.Convert == b.Convert && a.Intent == b.Intent && a.InkLimit == b.InkLimit && a.Outlined == b.Outlined
}

func gang(ctx context.Context, e env, kits []render.Ganged, r render.Roll, out string, force, quiet bool) error {
	ticket := strings.TrimSuffix(out, filepath.Ext(out)) + "-ticket.pdf"
	file, err := beginFile(ctx, out, force, isPDF)
	if err != nil {
		return err
	}
	defer file.Drop()
	beside, err := beginFile(ctx, ticket, force, isPDF)
	if err != nil {
		return err
	}
	defer beside.Drop()
	shown, done := showProgress(ctx, e.terminal, quiet)
	defer done()
	say.Step(shown, "laying canvases", 0, 0)
	g, err := render.NewGang(shown, kits, r)
	if err != nil {
		return err
	}
	say.Step(shown, "writing "+out, 0, 0)
	if err := file.Fill(g.Write); err != nil {
		return err
	}
	if err := beside.Fill(g.Ticket); err != nil {
		return err
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	if err := beside.Finish(); err != nil {
		return err
	}
	if err := file.Finish(); err != nil {
		return err
	}
	done()
	if quiet {
		return nil
	}
	var b strings.Builder
	fmt.Fprintf(&b, "%s\n", g.Words())
	for _, l := range wrap(g.ShortWords(), helpWidth-2) {
		fmt.Fprintf(&b, "  %s\n", l)
	}
	fmt.Fprintf(&b, "\n  %s  print it at 100 %%\n  %s  what lies where, for the shop\n", out, ticket)
	_, err = io.WriteString(e.stdout, b.String())
	return err
}
