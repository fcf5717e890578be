package main

import (
	"context"
	"io"
	"os"

	"github.com/spf13/pflag"

	"kitwright/internal/say"
	"kitwright/kit"
	"kitwright/photo/tone"
	"kitwright/render"
	"kitwright/render/look"
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
		{"preview.png", "the picture as drills", func(w io.Writer, k *kit.Kit, _ render.Print) error { return look.Preview(w, k) }},
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
			run := photoRun{ending: "-kit", key: kitKey, may: isKitFile}
			order, print := kit.DefaultOrder(), render.DefaultPrint().In(locale())
			run.bind(fs)
			order.Bind(fs)
			print.Bind(fs)
			return func(ctx context.Context, e env, args []string) error {
				if err := print.Check(nil); err != nil {
					return err
				}
				return run.do(ctx, e, args, order, func(ctx context.Context, prep *kit.Prepared, c kit.Choice, dir *folder) (summary, error) {
					return makeKit(ctx, prep, c, print, dir)
				})
			}
		},
	}
}

// makeKit makes the files of a kit folder.
func makeKit(ctx context.Context, prep *kit.Prepared, c kit.Choice, p render.Print, dir *folder) (summary, error) {
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
	files := kitFiles()
	if k.Tone != (tone.Changes{}) {
		files = append(files, kitFile{toneFile, "the photo before and after its light was changed", func(w io.Writer, _ *kit.Kit, _ render.Print) error { return look.BeforeAfter(w, prep, prep.Picture(c)) }})
	}
	if err := writeKit(ctx, dir, files, k, p); err != nil {
		return nil, err
	}
	return func(w io.Writer) error { return writeSummary(w, k, prep, c.Colors, p, dir.dest, files) }, nil
}
