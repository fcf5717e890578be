package main

import (
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"kitwright/folder"
	"kitwright/internal/measure"
	"kitwright/internal/say"
	"kitwright/kit"
	"kitwright/render"
)

// writeSummary tells in a few lines what was made.
func writeSummary(w io.Writer, k *kit.Kit, prep *kit.Prepared, asked int, p render.Print, dir *folder.Making, files []folder.Output) error {
	var b strings.Builder
	c := k.Chart
	fmt.Fprintf(&b, "%s: %d x %d %s drills, %s cm\n", k.Title, c.Cols, c.Rows, k.Drill.Shape, sizeCM(k))
	line := func(format string, args ...any) {
		for _, l := range wrap(fmt.Sprintf(format, args...), helpWidth-2) {
			fmt.Fprintf(&b, "  %s\n", l)
		}
	}
	line("%s in %s of the card %s", say.Count(c.Drills(), "drill"), say.Count(len(c.Legend), "color"), k.Card.Name)
	if asked > len(c.Legend) {
		line("%d of the %d colors asked for are used.", len(c.Legend), asked)
	}
	for _, note := range prep.Layout.Words() {
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
	_, err := io.WriteString(w, b.String())
	return err
}

// writeFiles lists files with what they are for.
func writeFiles(b *strings.Builder, dir *folder.Making, files []folder.Output) {
	for _, f := range files {
		fmt.Fprintf(b, "  %-*s  %s\n", len(dir.Dest())+12, filepath.Join(dir.Dest(), f.Name), f.What)
	}
	if left := dir.Left(); left != "" {
		fmt.Fprintf(b, "\n  %s is an older one that could not be removed.\n", left)
	}
}

func sizeCM(k *kit.Kit) string {
	return k.Width().In(measure.Centimeter) + " x " + k.Height().In(measure.Centimeter)
}
