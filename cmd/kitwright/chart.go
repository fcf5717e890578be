package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/spf13/pflag"

	"kitwright/folder"
	"kitwright/internal/say"
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
			var discard bool
			run.bind(fs)
			fs.BoolVar(&discard, "discard-edits", false, "of a kit that is replaced, leave out what was changed by hand instead of changing it again; also what a spreadsheet changed in its tables")
			order.Bind(fs)
			run.pixels = pixelBoxes{}
			run.pixels.wrap(fs)
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
					return makeKit(ctx, prep, c, print, dir, discard)
				})
			}
		},
	}
}

// makeKit makes the files of a kit folder.
func makeKit(ctx context.Context, prep *kit.Prepared, c kit.Choice, p render.Print, dir *folder.Making, discard bool) (summary, error) {
	if old, err := folder.Read(dir.Dest()); err == nil && !discard {
		if err := untouched(dir.Dest(), old); err != nil {
			return nil, err
		}
	}
	m, err := folder.MakeKit(ctx, dir, prep, c, p, discard)
	if err != nil {
		return nil, err
	}
	return func(w io.Writer) error {
		if err := writeSummary(w, m.Kit, prep, m.Picture, c.Colors, p, dir, m.Files); err != nil {
			return err
		}
		if m.Edited {
			if err := tellReplay(w, m.Kit, m.Left); err != nil {
				return err
			}
		}
		if m.Apart {
			_, err := fmt.Fprintf(w, "  What was ticked off stays with the earlier kit, %s.before: the picture is another, or its grid.\n", dir.Dest())
			return err
		}
		return tellTicked(w, dir.Dest(), m.Kit, p)
	}, nil
}

// tellReplay says which earlier changes were made again, and which did not fit.
func tellReplay(w io.Writer, k *kit.Kit, left []kit.Edit) error {
	var b strings.Builder
	fmt.Fprintf(&b, "  %s made by hand earlier: done again (--discard-edits leaves them out).\n", say.Count(len(k.Edits.InForce()), "change"))
	for _, x := range left {
		fmt.Fprintf(&b, "  Does not fit any more, and was left out: %s\n", x)
	}
	_, err := io.WriteString(w, b.String())
	return err
}
