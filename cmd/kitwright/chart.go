package main

import (
	"context"
	"io"
	"os"

	"github.com/spf13/pflag"

	"kitwright/folder"
	"kitwright/kit"
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

func chartCommand() command {
	return command{
		name: "chart", args: "PHOTO", summary: "make a kit folder from a photo",
		about: `Turns a photo into a kit folder: the true-scale sheet for a print shop, a preview,
			the colors with their counts, and the chart itself. Sizes are those of the drilled picture;
			the sheet is larger by its margins and legend.`,
		example: "kitwright chart --size 40x50cm --drill round --colors 36 ginger.jpg",
		bind: func(fs *pflag.FlagSet) func(context.Context, env, []string) error {
			run := photoRun{kind: folder.Kits}
			order, print := kit.DefaultOrder(), render.DefaultPrint().In(locale())
			run.print = &print
			run.bind(fs)
			order.Bind(fs)
			print.Bind(fs)
			return func(ctx context.Context, e env, args []string) error {
				args, err := run.like.apply(fs, args, &run.demo)
				if err != nil {
					return err
				}
				if err := print.Check(nil); err != nil {
					return err
				}
				return run.do(ctx, e, args, order, func(ctx context.Context, prep *kit.Prepared, c kit.Choice, dir *folder.Making) (summary, error) {
					return makeKit(ctx, prep, c, print, dir)
				})
			}
		},
	}
}

// makeKit makes the files of a kit folder.
func makeKit(ctx context.Context, prep *kit.Prepared, c kit.Choice, p render.Print, dir *folder.Making) (summary, error) {
	card, err := prep.Card(c)
	if err != nil {
		return nil, err
	}
	if err := p.CheckLayout(prep.Layout, card, c.Colors); err != nil { // before the work, not after it
		return nil, err
	}
	k, err := prep.Kit(ctx, c)
	if err != nil {
		return nil, err
	}
	if err := p.Check(k); err != nil {
		return nil, err
	}
	k.Print = p.Settings()
	job := folder.Job{Kit: k, Print: p, Prepared: prep, Picture: prep.Picture(c)}
	files := folder.OutputsOf(job)
	if err := folder.WriteAll(ctx, dir, files, job); err != nil {
		return nil, err
	}
	return func(w io.Writer) error { return writeSummary(w, k, prep, job.Picture, c.Colors, p, dir, files) }, nil
}
