package folder

import (
	"archive/zip"
	"bytes"
	"context"
	"image/png"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"kitwright/internal/say"
	"kitwright/kit"
	"kitwright/photo/tone"
	"kitwright/plan"
	"kitwright/render"
	"kitwright/render/look"
	"kitwright/render/workbook"
)

// Job is what files are made of.
type Job struct {
	Kit      *kit.Kit
	Print    render.Print
	Prepared *kit.Prepared // nil where a kit is printed again without its photo, and then there is
	Picture  *kit.Picture  // no picture either
	Progress []byte        // the log of what was ticked off in the kit that this one replaces; nil = none
}

// Output is one file of a kit.
type Output struct {
	Name  string // a contract: more may come, none is renamed
	What  string // what it is for, in a few words
	Print bool   // made anew when a kit is printed again in another way

	file  string              // its name in a kit whose files are named; "" = Name
	part  func(Job) bool      // whether the job has it; nil = always
	due   func(*kit.Kit) bool // whether the folder of a kit has it; nil = always
	write func(io.Writer, Job) error
}

// Outputs returns the one table of what is made of a kit, in the order in
// which it is named. The command, a page and the tests range over it.
func Outputs() []Output {
	print := func(write func(io.Writer, *kit.Kit, render.Print) error) func(io.Writer, Job) error {
		return func(w io.Writer, j Job) error { return write(w, j.Kit, j.Print) }
	}
	return []Output{
		{Name: "canvas.pdf", What: "the true-scale sheet for a print shop", Print: true, write: print(render.Canvas)},
		{Name: "ticket.pdf", What: "what the shop and the film should know; goes with the canvas", Print: true, write: print(render.Ticket)},
		{Name: "sheets.pdf", What: "the chart on a home printer's paper", Print: true, write: print(render.Sheets)},
		{Name: "labels.pdf", What: "a label for each color's container or bag", Print: true, write: print(render.Labels)},
		{Name: "legend.pdf", What: "all colors on one large-type card", Print: true, write: print(render.Legend)},
		{Name: "plan.pdf", What: "the work, section by section, to print and tick", Print: true, write: print(render.Plan)},
		{Name: "plan.csv", What: "the same as a table", Print: true, write: func(w io.Writer, j Job) error { return j.Print.PlanOf(j.Kit).WriteCSV(w) }},
		{Name: "preview.png", What: "the picture as drills", Print: true, write: func(w io.Writer, j Job) error { return look.Preview(w, j.Kit) }},
		{Name: "proof.png", What: "the canvas as the shop's machine will show it", Print: true,
			part: func(j Job) bool { return j.Print.Shop.Profile.Name != "" },
			due:  func(k *kit.Kit) bool { return k.Print["shop-profile"] != "" },
			write: func(w io.Writer, j Job) error {
				m, err := render.Proof(j.Kit, j.Print)
				if err != nil {
					return err
				}
				return png.Encode(w, m)
			}},
		{Name: "kit.csv", What: "the drill list: colors, drills of each, what to buy", Print: true, write: func(w io.Writer, j Job) error { return j.Kit.WriteKitCSV(w) }},
		{Name: "kit.xlsx", What: "the drill list and what each section takes, as a spreadsheet", Print: true, write: print(workbook.Write)},
		{Name: "chart.csv", What: "the chart as rows of color numbers", write: func(w io.Writer, j Job) error { return j.Kit.WriteChartCSV(w) }},
		{Name: kitKey, What: "everything, to print it again without the photo", write: writeKit},
		{Name: "subject.png", What: "the photo with the outline of your pet",
			part:  func(j Job) bool { return j.Picture != nil && j.Picture.Subject != nil },
			due:   func(k *kit.Kit) bool { return k.Quality.SubjectMiss > 0 },
			write: func(w io.Writer, j Job) error { return look.Outline(w, j.Prepared, j.Picture) }},
		{Name: kit.TargetFile, What: "what an edited chart is judged by",
			part:  func(j Job) bool { return j.Kit.Target != nil },
			due:   func(k *kit.Kit) bool { return k.Target != nil },
			write: func(w io.Writer, j Job) error { return j.Kit.Target.Write(w) }},
		{Name: kit.EditsFile, What: "what was changed by hand",
			part:  func(j Job) bool { return j.Kit.Edits != nil },
			due:   func(k *kit.Kit) bool { return k.Edits != nil },
			write: func(w io.Writer, j Job) error { return j.Kit.Edits.Write(w) }},
		{Name: kit.MadeFile, What: "the kit as it was before the first change",
			part: func(j Job) bool { return j.Kit.Edits != nil },
			due:  func(k *kit.Kit) bool { return k.Edits != nil },
			write: func(w io.Writer, j Job) error {
				made := *j.Kit.Edits.Made
				made.Sheet = nil // nobody prints it
				return made.WriteJSON(w)
			}},
		{Name: plan.LogFile, What: "what is ticked off",
			part:  func(j Job) bool { return j.Progress != nil },
			due:   func(*kit.Kit) bool { return false }, // a kit is whole without
			write: func(w io.Writer, j Job) error { _, err := w.Write(j.Progress); return err }},
		{Name: "tone.png", What: "the photo before and after its light was changed",
			part:  func(j Job) bool { return j.Prepared != nil && j.Kit.Tone != (tone.Changes{}) },
			due:   func(k *kit.Kit) bool { return k.Tone != (tone.Changes{}) },
			write: func(w io.Writer, j Job) error { return look.BeforeAfter(w, j.Prepared, j.Picture) }},
	}
}

// writeKit writes the kit with the size of the sheet that it is printed on.
func writeKit(w io.Writer, j Job) error {
	k := *j.Kit
	k.Sheet = render.SheetOf(j.Kit, j.Print)
	return k.WriteJSON(w)
}

// Of says whether the job has this output: a photo whose light was left alone
// has no picture of how it was changed.
func (o Output) Of(j Job) bool { return o.part == nil || o.part(j) }

// Due says whether the folder of a kit holds this output, made with its photo.
func (o Output) Due(k *kit.Kit) bool { return o.due == nil || o.due(k) }

// Write writes the file.
func (o Output) Write(w io.Writer, j Job) error { return o.write(w, j) }

// Word is the output's name without its ending: "canvas".
func (o Output) Word() string { return strings.TrimSuffix(o.Name, filepath.Ext(o.Name)) }

// OutputsOf returns the outputs that a job has.
func OutputsOf(j Job) []Output {
	var out []Output
	for _, o := range Outputs() {
		if o.Of(j) {
			o.file = o.fileOf(j.Kit, j.Print)
			out = append(out, o)
		}
	}
	return out
}

// Target is where files go: a folder in the making, or an archive.
type Target interface {
	Write(name string, content func(io.Writer) error) error
}

// WriteAll writes outputs of a job.
func WriteAll(ctx context.Context, to Target, outputs []Output, j Job) error {
	for _, o := range outputs {
		say.Step(ctx, "writing "+o.File(), 0, 0)
		if err := to.Write(o.File(), func(w io.Writer) error { return o.Write(w, j) }); err != nil {
			return err
		}
		if err := ctx.Err(); err != nil {
			return err
		}
	}
	return nil
}

// Zip is a Target: an archive with the same bytes for the same files.
type Zip struct {
	folder string
	zip    *zip.Writer
}

// NewZip returns an archive whose files lie in a folder of the given name.
// Close it to finish it.
func NewZip(w io.Writer, folder string) *Zip { return &Zip{folder, zip.NewWriter(w)} }

// zipTime is the time of every file: the first that an archive can tell, so
// that no clock gets into it.
var zipTime = time.Date(1980, 1, 1, 0, 0, 0, 0, time.UTC)

// Write adds one file.
func (z *Zip) Write(name string, content func(io.Writer) error) error {
	w, err := z.zip.CreateHeader(&zip.FileHeader{Name: z.folder + "/" + name, Method: zip.Deflate, Modified: zipTime})
	if err != nil {
		return err
	}
	return content(w)
}

// Close ends the archive. It does not close the writer it was made for.
func (z *Zip) Close() error { return z.zip.Close() }

// Holds says whether a file is there with just the content that write writes,
// or not there at all.
func Holds(path string, write func(io.Writer) error) (bool, error) {
	is, err := os.ReadFile(path)
	if os.IsNotExist(err) {
		return true, nil
	} else if err != nil {
		return false, say.File("the file cannot be looked at", path, err)
	}
	var b bytes.Buffer
	if err := write(&b); err != nil {
		return false, err
	}
	return bytes.Equal(is, b.Bytes()), nil
}
