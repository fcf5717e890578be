package main

import (
	"fmt"
	"io"
	"path/filepath"
	"strconv"
	"strings"
	"unicode/utf8"

	"kitwright/folder"
	"kitwright/internal/measure"
	"kitwright/internal/say"
	"kitwright/kit"
	"kitwright/plan"
	"kitwright/render"
)

// writeSummary tells in a few lines what was made.
func writeSummary(w io.Writer, k *kit.Kit, prep *kit.Prepared, pic *kit.Picture, asked int, p render.Print, dir *folder.Making, files []folder.Output) error {
	var b strings.Builder
	c := k.Chart
	fmt.Fprintf(&b, "%s: %d x %d %s drills, %s\n", k.Title, c.Cols, c.Rows, k.Drill.Shape, sizeWords(measure.Size{W: k.Width(), H: k.Height()}, p.Units))
	line := func(format string, args ...any) {
		for _, l := range wrap(fmt.Sprintf(format, args...), helpWidth-2) {
			fmt.Fprintf(&b, "  %s\n", l)
		}
	}
	line("%s in %s of the card %s", say.Count(c.Drills(), "drill"), say.Count(len(c.Legend), "color"), k.Card.Name)
	line("%s at %s to %s drills an hour; the sheet measures %s once it is cut", plan.UsualPace.Setting(c.Drills()).Words(), say.Number(plan.UsualPace.Slow), say.Number(plan.UsualPace.Fast), sizeWords(toMillimeters(render.SheetSize(k, p)), p.Units))
	line("%s", p.Buying(k).Sum())
	if asked > len(c.Legend) {
		line("Of the %d colors asked for it uses %s.", asked, say.Number(len(c.Legend)))
	}
	for _, note := range prep.Layout.Words() {
		line("%s", note.Words(asFlag))
	}
	for _, note := range prep.OutlineWords(pic) {
		line("%s", note.Words(asFlag))
	}
	for _, note := range prep.Photo.Notes {
		line("%s", note)
	}
	for _, note := range k.Advice {
		line("%s", note)
	}
	for _, note := range p.Advice(k) {
		line("%s", note.Words(asFlag))
	}
	if k.Card.Builtin {
		line("%s", kit.ReferenceNote)
	}
	fmt.Fprintln(&b)
	writeFiles(&b, dir, files)
	fmt.Fprintln(&b)
	for _, l := range k.Words() {
		line("%s", l.Words(asFlag))
	}
	fmt.Fprintf(&b, "\nNext, a test print on the material of the canvas:\n  %s\n", shellLine("kitwright", "testprint", argument(dir.Dest())))
	_, err := io.WriteString(w, b.String())
	return err
}

// writeFiles lists files with what they are for.
func writeFiles(b *strings.Builder, dir *folder.Making, files []folder.Output) {
	widest := 11
	for _, f := range files {
		widest = max(widest, utf8.RuneCountInString(f.File()))
	}
	for _, f := range files {
		fmt.Fprintf(b, "  %-*s  %s\n", utf8.RuneCountInString(dir.Dest())+1+widest, filepath.Join(dir.Dest(), f.File()), f.What)
	}
	if left := dir.Left(); left != "" {
		fmt.Fprintf(b, "\n  %s is an older one that could not be removed.\n", left)
	}
}

// sizeWords writes a size: "40 x 30 cm", "15.75 x 11.81 in".
func sizeWords(z measure.Size, u render.Units) string {
	if u == render.Inches {
		return hundredths(z.W) + " x " + hundredths(z.H) + " in"
	}
	return z.W.In(measure.Centimeter) + " x " + z.H.In(measure.Centimeter) + " cm"
}

func toMillimeters(z measure.Size) measure.Size {
	mm := func(l measure.Length) measure.Length {
		return (l + measure.Millimeter/2) / measure.Millimeter * measure.Millimeter
	}
	return measure.Size{W: mm(z.W), H: mm(z.H)}
}

// hundredths writes a length in inches, to the hundredth.
func hundredths(l measure.Length) string {
	return strconv.FormatFloat(float64((l*100+measure.Inch/2)/measure.Inch)/100, 'f', -1, 64)
}
