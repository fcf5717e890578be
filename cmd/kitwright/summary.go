package main

import (
	"fmt"
	"io"
	"math"
	"path/filepath"
	"strings"

	"kitwright/internal/measure"
	"kitwright/internal/say"
	"kitwright/kit"
	"kitwright/render"
)

// writeSummary tells in a few lines what was made.
func writeSummary(w io.Writer, k *kit.Kit, prep *kit.Prepared, asked int, p render.Print, out string, files []kitFile) error {
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
	for _, note := range layoutNotes(prep.Layout) {
		line("%s", note)
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
	writeFiles(&b, out, files)
	fmt.Fprintln(&b)
	for _, l := range qualityLines(k) {
		line("%s", l)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// writeFiles lists files with what they are for.
func writeFiles(b *strings.Builder, out string, files []kitFile) {
	for _, f := range files {
		fmt.Fprintf(b, "  %-*s  %s\n", len(out)+12, filepath.Join(out, f.name), f.what)
	}
}

// qualityLines says how close the chart is to the photo, and what is proven
// about it.
func qualityLines(k *kit.Kit) []string {
	q := k.Quality
	less := fmt.Sprintf("; no %d colors of this card get below %.2f (proven)", len(k.Chart.Legend), floor2(q.MeanBound))
	if len(k.Chart.Legend) == 1 {
		less = fmt.Sprintf("; no single color of this card gets below %.2f (proven)", floor2(q.MeanBound))
	}
	text := fmt.Sprintf("%.2f off the photo on average", q.MeanMiss)
	if q.SubjectMiss > 0 {
		text += fmt.Sprintf(", %.2f on the subject", q.SubjectMiss)
	}
	switch {
	case q.MeanProven: // also where nothing is missed and the bound is zero
		text += less
	case q.MeanBound == 0:
		text += fmt.Sprintf("; the best found by then reach %.2f, and nothing is proven", q.MeanBest)
	default:
		text += less + fmt.Sprintf(", and the best found reach %.2f", q.MeanBest)
	}
	if spent := spentOn(k); spent != "" {
		text += "; the difference bought " + spent
	}
	lines := []string{
		text + ".",
		"Under 2 is hard to see side by side, over 5 is plain: our reading, no source.",
	}
	switch {
	case k.Stopped && q.Bound == 0 && !q.Proven:
		lines = append(lines, "The search was stopped early: how far these colors are from the best possible is not known.")
	case k.Stopped:
		lines = append(lines, fmt.Sprintf("The search was stopped early: for what was asked, these colors are at most %.2f percent from the best possible.", 100*q.Gap))
	}
	return lines
}

// floor2 rounds a proven lower limit down to two decimals, so that it stays
// true.
func floor2(v float64) float64 { return math.Floor(v*100) / 100 }

// spentOn says what the chart gave up its last bit of closeness for.
func spentOn(k *kit.Kit) string {
	q := k.Quality
	const visible = 0.005 // what two decimals show
	var spent []string
	if q.MeanNearest-q.MeanBest >= visible {
		if q.Bought != "" {
			spent = append(spent, q.Bought)
		} else {
			spent = append(spent, "what --focus, --subject, --rare, --keep and --avoid asked for")
		}
	}
	if q.MeanMiss-q.MeanNearest >= visible {
		if b := k.Order["background"]; b != "" && b != "soft" {
			spent = append(spent, "a background as asked for ("+b+")")
		}
		spent = append(spent, "calm areas with few lone drills")
	}
	if n := len(spent); n > 2 {
		return strings.Join(spent[:n-1], ", ") + " and " + spent[n-1]
	}
	return strings.Join(spent, " and ")
}

// layoutNotes says what was done to the size and the photo to fit each other.
func layoutNotes(l kit.Layout) []string {
	var notes []string
	if l.Turned {
		notes = append(notes, "Width and height were swapped to follow the photo (--turn asked keeps them).")
	}
	if l.Smaller {
		notes = append(notes, "The picture is smaller than asked one way, so that the whole photo fits (--fit fill crops instead).")
	}
	if l.Cut >= 0.005 {
		// Never all of it: something is left to chart.
		notes = append(notes, fmt.Sprintf("%.0f %% of the photo was cropped to fill the picture (--fit whole keeps all of it).", min(100*l.Cut, 99)))
	}
	return notes
}

func sizeCM(k *kit.Kit) string {
	return k.Width().In(measure.Centimeter) + " x " + k.Height().In(measure.Centimeter)
}
