package render

import (
	"io"

	"kitwright/kit"
	"kitwright/lab"
)

// Ladder writes the picture of a photo's ladder as a PNG.
func Ladder(w io.Writer, p *kit.Prepared, o kit.Order, rungs []kit.Rung, pick kit.Pick) error {
	cols, rows := p.Target.Cols, p.Target.Rows
	l := LadderPicture{
		Title:  p.Title(o),
		Photo:  p.Photo.Picture(p.Layout.Crop, max(1400, 2*cols), max(1400, 2*rows)),
		Pick:   pick.Colors,
		Why:    pick.Why,
		Meters: kit.FarMeters,
	}
	for _, r := range rungs {
		l.Rungs = append(l.Rungs, Rung{
			Colors: r.Colors, Stones: Picture(r.Chart, o.Drill),
			Mean: r.Mean, Bound: r.Bound, Far: r.Far, Confetti: r.Confetti,
		})
	}
	var focus []Focus
	for _, f := range o.Focus {
		x, y, rx, ry := p.Layout.Ellipse(f.Box, p.Photo.Width, p.Photo.Height)
		focus = append(focus, Focus{x, y, rx, ry})
	}
	l.Magnify(lab.CellsPerDegree(p.Layout.Pitch.MM(), 1000*kit.FarMeters), focus...)
	return WritePreview(w, DrawLadder(l))
}
