package render

import (
	"io"

	"kitwright/chart"
	"kitwright/kit"
)

// Picture returns a kit's chart as stones.
func Picture(c *chart.Chart, shape kit.Shape) Stones {
	s := Stones{Cols: c.Cols, Rows: c.Rows, Cells: c.Cells, RGB: c.RGBs(), Round: shape == kit.Round}
	for _, e := range c.Legend {
		s.AB = append(s.AB, e.Drill.Finish == "AB")
	}
	return s
}

// Preview writes the finished look of a kit as a PNG.
func Preview(w io.Writer, k *kit.Kit) error {
	return WritePreview(w, Look(Picture(k.Chart, k.Drill.Shape), PreviewPx(k.Chart.Cols, k.Chart.Rows)))
}
