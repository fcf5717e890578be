package main

import (
	"context"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/spf13/pflag"

	"kitwright/internal/say"
	"kitwright/kit"
	"kitwright/render/look"
)

func lookCommand() command {
	return command{
		name: "look", args: "PHOTO", summary: "see a photo with a grid, to say where your pet and its eyes are",
		about: `Writes the photo as a picture with a grid of columns A to T and rows 1 to 20, the part that the
			canvas would show, and, where you gave them, the ellipse about your pet, the outline found from
			it (--add and --cut correct it) and the circles about its eyes. Boxes are then named by their first and last cell, as in
			C4-P19, in percent (left, top, width, height), or in pixels of the photo, as in
			760px,200px,90px,60px.`,
		example: "kitwright look ginger.jpg\nkitwright look --size 40x50cm --subject C4-P19 --focus F6-H7 ginger.jpg",
		bind: func(fs *pflag.FlagSet) func(context.Context, env, []string) error {
			run := photoRun{}
			fs.BoolVar(&run.demo, "demo", false, "use the built-in photo of a cat")
			fs.VarP(textValue{&run.out, "FILE"}, "out", "o", "the picture to make; the photo's name and -look.png, or the next free -look-2.png, unless given")
			fs.BoolVar(&run.force, "force", false, "overwrite the picture if it exists")
			fs.BoolVarP(&run.quiet, "quiet", "q", false, "say nothing when all went well")
			run.like.bind(fs)
			order := kit.DefaultOrder()
			all := pflag.NewFlagSet("order", pflag.ContinueOnError)
			order.Bind(all)
			for _, name := range []string{"size", "grid", "turn", "fit", "crop", "crop-to", "caption", "caption-size", "border", "drill", "pitch", "subject", "add", "cut", "focus"} {
				fs.AddFlag(all.Lookup(name))
			}
			run.pixels = pixelBoxes{}
			run.pixels.wrap(fs)
			return func(ctx context.Context, e env, args []string) error {
				args, err := run.like.apply(fs, args, &run.demo)
				if err != nil {
					return err
				}
				return run.look(ctx, e, args, order, chartOf(fs, args))
			}
		},
	}
}

func (r *photoRun) look(ctx context.Context, e env, args []string, o kit.Order, next []string) error {
	src, err := openPhoto(args, r.demo)
	if err != nil {
		return err
	}
	defer src.close()
	if err := o.Check(); err != nil {
		return err
	}
	if r.out == "" {
		r.out = freePlace(src.base()+"-look", ".png", r.force)
	}
	ctx, done := showProgress(ctx, e.terminal, r.quiet)
	defer done()
	read, err := kit.Open(ctx, src.file, src.name)
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
	say.Step(ctx, "drawing the photo", 0, 0)
	err = writeFile(ctx, r.out, r.force, isPNG, func(w io.Writer) error { return look.Guide(w, prep, o.Choice, o.Subject) })
	if err != nil {
		return err
	}
	done()
	if r.quiet {
		return nil
	}
	told := slices.Clone(prep.Photo.Notes)
	for _, note := range prep.OutlineWords(prep.Picture(o.Choice)) {
		told = append(told, note.Words(asFlag))
	}
	var notes strings.Builder
	for _, note := range told {
		for _, l := range wrap(note, helpWidth) {
			fmt.Fprintln(&notes, l)
		}
	}
	if notes.Len() > 0 {
		notes.WriteByte('\n')
	}
	_, err = fmt.Fprintf(e.stdout, `%s  the photo with its grid

%sName boxes by their first and last cell, as in --subject C4-P19 --focus F6-H7, and look again.
Then:
  %s
`, r.out, notes.String(), shellLine(next...))
	return err
}
