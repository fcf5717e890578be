package look

import (
	"fmt"
	"image"
	"io"
	"math"

	"kitwright/kit"
	"kitwright/render/letters"
)

// guideLong is the long side, in pixels, of the photo on a guide.
const guideLong = 1600

var (
	guideCut     = color{20, 20, 20}
	guideSubject = color{255, 210, 0}
	guideOutline = color{0, 190, 90}
	guideFocus   = color{0, 160, 255}
)

// Guide writes the upright photo with what boxes are told by: the grid of
// [kit.BoxColumns] columns, named A and on, by [kit.BoxRows] rows, numbered
// from the top. The part that is cut off lies in shade; the ellipse drawn about
// the subject, the outline found from it, and every focus are drawn in.
func Guide(w io.Writer, p *kit.Prepared, c kit.Choice, subject kit.Box) error {
	ph := p.Photo
	width, height := guideLong, max(1, guideLong*ph.Height/ph.Width)
	if ph.Height > ph.Width {
		width, height = max(1, guideLong*ph.Width/ph.Height), guideLong
	}
	const edge, foot = 60, 120
	s := newSheet(width+2*edge, height+edge+foot)
	s.picture(cellsPicture(ph.Sample(ph.Whole(), width, height), 1), image.Pt(edge, edge))
	at := func(x, y float64) point { // of percent
		return point{edge + x*float64(width)/100, edge + y*float64(height)/100}
	}

	// What the canvas leaves out.
	crop := p.Layout.Crop
	left, top := 100*crop.X/float64(ph.Width), 100*crop.Y/float64(ph.Height)
	right, bottom := left+100*crop.W/float64(ph.Width), top+100*crop.H/float64(ph.Height)
	from, to := at(left, top), at(right, bottom)
	for y := range height {
		for x := range width {
			px, py := float64(edge+x)+0.5, float64(edge+y)+0.5
			if px < from.x || px > to.x || py < from.y || py > to.y {
				s.blend(edge+x, edge+y, guideCut, 0.6)
			}
		}
	}

	s.boxGrid(at)
	box := func(b kit.Box, width float64, c color) {
		var round []point
		for i := range 181 {
			sin, cos := math.Sincos(float64(i) * math.Pi / 90)
			round = append(round, at(b.X+b.W*(1+cos)/2, b.Y+b.H*(1+sin)/2))
		}
		s.stroke(round, width+3, guideCut)
		s.stroke(round, width, c)
	}
	s.outline(p, c, from, to)
	if subject != (kit.Box{}) {
		box(subject, 3, guideSubject)
	}
	for _, f := range c.Focus {
		box(f.Box, 3, guideFocus)
	}
	s.write(edge, float64(height+edge+88), letters.Regular, 26, quiet,
		"Dark: cut off. Yellow: the ellipse. Green: the outline found. Blue: what counts more. Boxes as in C4-P19.", alignLeftEdge)
	return WritePNG(w, s.img)
}

// boxGrid draws the grid that boxes are named by, every fifth line stronger.
func (s *sheet) boxGrid(at func(x, y float64) point) {
	line := func(a, b point, strong bool) {
		cover := 0.35
		if strong {
			cover = 0.75
		}
		n := int(math.Max(math.Abs(b.x-a.x), math.Abs(b.y-a.y)))
		for i := range n + 1 {
			x, y := int(a.x+(b.x-a.x)*float64(i)/float64(n)), int(a.y+(b.y-a.y)*float64(i)/float64(n))
			s.blend(x, y, color{255, 255, 255}, cover)
			dx, dy := 1, 0
			if a.y == b.y {
				dx, dy = 0, 1
			}
			s.blend(x+dx, y+dy, guideCut, cover)
		}
	}
	for i := range kit.BoxColumns + 1 {
		x := 100 * float64(i) / kit.BoxColumns
		line(at(x, 0), at(x, 100), i%5 == 0)
		if i < kit.BoxColumns {
			for _, y := range []float64{at(0, 0).y - 18, at(0, 100).y + 34} {
				s.write(at(x+50/kit.BoxColumns, 0).x, y, letters.Bold, 24, ink, string(rune('A'+i)), alignMiddle)
			}
		}
	}
	for i := range kit.BoxRows + 1 {
		y := 100 * float64(i) / kit.BoxRows
		line(at(0, y), at(100, y), i%5 == 0)
		if i < kit.BoxRows {
			for _, x := range []float64{at(0, 0).x - 30, at(100, 0).x + 30} {
				s.write(x, at(0, y+50/kit.BoxRows).y+9, letters.Bold, 24, ink, fmt.Sprint(i+1), alignMiddle)
			}
		}
	}
}

// outline draws the edge of the subject, cell by cell, into the part of the
// photo that the canvas shows.
func (s *sheet) outline(p *kit.Prepared, c kit.Choice, from, to point) {
	m := p.Picture(c).Subject
	if m == nil {
		return
	}
	in := func(x, y int) bool { return x >= 0 && y >= 0 && x < m.Cols && y < m.Rows && m.In[y*m.Cols+x] }
	corner := func(x, y int) point {
		return point{from.x + (to.x-from.x)*float64(x)/float64(m.Cols), from.y + (to.y-from.y)*float64(y)/float64(m.Rows)}
	}
	for y := range m.Rows + 1 {
		for x := range m.Cols + 1 {
			if in(x, y) != in(x-1, y) && y < m.Rows {
				s.stroke([]point{corner(x, y), corner(x, y+1)}, 3, guideOutline)
			}
			if in(x, y) != in(x, y-1) && x < m.Cols {
				s.stroke([]point{corner(x, y), corner(x+1, y)}, 3, guideOutline)
			}
		}
	}
}

// stroke draws a line through points in any direction.
func (s *sheet) stroke(points []point, width float64, c color) {
	for i := 1; i < len(points); i++ {
		a, b := points[i-1], points[i]
		n := math.Ceil(2 * math.Max(math.Abs(b.x-a.x), math.Abs(b.y-a.y)))
		for j := 0.0; j <= n; j++ {
			s.disc(a.x+(b.x-a.x)*j/max(n, 1), a.y+(b.y-a.y)*j/max(n, 1), width/2, c)
		}
	}
}
