// Package look paints pictures: how a kit looks when it is made ([Preview]),
// the same photo in few to many colors side by side ([Ladder]), the photo before
// and after its light was changed ([BeforeAfter]), and the outline of the
// subject ([Outline]).
//
// Stones are cut, tilted and lit by a small model of our own ([Paint]). All of
// it counts in integers or in operations that round alike everywhere: the same
// kit gives the same pixels on any machine with any number of cores.
package look

import (
	"io"

	"kitwright/chart"
	"kitwright/kit"
	"kitwright/lab"
)

// Picture returns a kit's chart as stones.
func Picture(c *chart.Chart, shape kit.Shape) Stones {
	s := Stones{Cols: c.Cols, Rows: c.Rows, Cells: c.Cells, RGB: c.RGBs(), Round: shape == kit.Round}
	for _, e := range c.Legend {
		s.AB = append(s.AB, e.Drill.Finish != "") // the shimmer stands for any finish but plain
	}
	return s
}

// Preview writes the finished look of a kit as a PNG.
func Preview(w io.Writer, k *kit.Kit) error {
	return WritePNG(w, Paint(Picture(k.Chart, k.Drill.Shape), PreviewPx(k.Chart.Cols, k.Chart.Rows)))
}

// Ladder writes the picture of a photo's ladder as a PNG.
func Ladder(w io.Writer, p *kit.Prepared, c kit.Choice, rungs []kit.Rung, pick kit.Pick) error {
	l := LadderOf(p, c, rungs, pick)
	l.Photo = p.Photo.Picture(p.Layout.Crop, max(1400, 2*p.Layout.Cols), max(1400, 2*p.Layout.Rows))
	return WritePNG(w, DrawLadder(l))
}

// LadderOf returns what the picture of a ladder shows, but for the photo: what
// to magnify, and a few words on what each rung changes.
func LadderOf(p *kit.Prepared, c kit.Choice, rungs []kit.Rung, pick kit.Pick) LadderPicture {
	l := LadderPicture{Title: p.Title(), Pick: pick.Asked, Why: pick.Why, Meters: kit.FarMeters, Toned: p.Picture(c).Tone.Brightened()}
	for _, r := range rungs {
		l.Views = append(l.Views, View{
			Colors: r.Colors, Asked: r.Asked, Stones: Picture(r.Chart, p.Drill().Shape),
			Mean: r.Mean, Subject: r.Subject, Bound: r.Bound, Far: r.Far, Confetti: r.Confetti,
		})
	}
	var focus []Oval
	for _, f := range c.Focus {
		x, y, rx, ry := p.Layout.Ellipse(f.Box, p.Photo.Width, p.Photo.Height)
		focus = append(focus, Oval{x, y, rx, ry})
	}
	l.Magnify(lab.CellsPerDegree(p.Layout.Pitch.MM(), 1000*kit.FarMeters), focus...)
	return l
}
