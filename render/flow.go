package render

import (
	"strings"

	"kitwright/internal/measure"
	"kitwright/kit"
)

// deskPaper is the paper of the pages that go to the shop or hang at the desk:
// Letter where the home paper is a North American one, else A4.
func (p Print) deskPaper() Paper {
	switch p.Paper.Name {
	case "letter", "legal", "tabloid":
		return paperNamed("letter")
	}
	return paperNamed("a4")
}

// deskMargin is the margin of those pages, mm.
func (p Print) deskMargin() float64 { return min(max(p.PaperMargin.MM(), 12), 20) }

// flow sets text down a column.
type flow struct {
	ops     []op
	x, y, w float64 // y is the top of what comes next
}

// heading sets a line of bold type with a rule under it.
func (f *flow) heading(s string) {
	f.y += 3
	f.ops = append(f.ops,
		text{X: f.x, Y: f.y + capHeight*big*pointMM, Size: big, Face: bold, S: shorten(bold, big, f.w, s)},
		line{X1: f.x, Y1: f.y + 5.4, X2: f.x + f.w, Y2: f.y + 5.4, W: 0.18, Ink: black})
	f.y += 7.6
}

// lines sets a paragraph of at most most lines.
func (f *flow) lines(face face, size float64, ink color, most int, s string) {
	leading := size * 1.32 * pointMM
	for _, l := range wrap(face, size, f.w, most, clean(s)) {
		f.ops = append(f.ops, text{X: f.x, Y: f.y + ascent*size*pointMM, Size: size, Face: face, Ink: ink, S: l})
		f.y += leading
	}
}

// item sets a bold label and its text in two columns, the label labelW wide.
func (f *flow) item(labelW float64, label, s string) {
	const size = 10.5
	leading := size * 1.32 * pointMM
	base := f.y + ascent*size*pointMM
	f.ops = append(f.ops, text{X: f.x, Y: base, Size: size, Face: bold, S: shorten(bold, size, labelW-2, label)})
	for _, l := range wrap(regular, size, f.w-labelW, 5, clean(s)) {
		f.ops = append(f.ops, text{X: f.x + labelW, Y: base, Size: size, S: l})
		base += leading
		f.y += leading
	}
	f.y += 1.6
}

// pageTitle sets what a page is and whose kit it belongs to, and returns the
// ops and the place where the page goes on.
func pageTitle(x, y, w float64, what, title string) ([]op, float64) {
	const size = 20
	ops := []op{text{X: x, Y: y + capHeight*size*pointMM, Size: size, Face: bold, S: shorten(bold, size, w, what)}}
	y += size * 1.1 * pointMM
	if title != "" {
		ops = append(ops, text{X: x, Y: y + 4, Size: 11, Ink: dim, S: shorten(regular, 11, w, title)})
		y += 6
	}
	return ops, y + 1
}

// sheetOutline draws the canvas in small: sheet, wrap and picture, at most w
// by h mm, and returns the scale and the picture's place.
func sheetOutline(c *canvas, x, y, w, h float64) (ops []op, scale, px, py float64) {
	scale = min(w/c.sheetW, h/c.sheetH)
	px, py = x+c.x*scale, y+c.y*scale
	edge, pale := gray, color{250, 250, 250}
	ops = append(ops, rect{X: x, Y: y, W: c.sheetW * scale, H: c.sheetH * scale, Fill: &pale, Edge: &edge, Line: 0.2})
	if c.wrap > 0 {
		f := faint
		ops = append(ops, rect{X: px - c.wrap*scale, Y: py - c.wrap*scale, W: (c.w + 2*c.wrap) * scale, H: (c.h + 2*c.wrap) * scale, Fill: &f})
	}
	t := thumbnail(c.kit.Chart, 240)
	// The thumbnail may be short of a few drills on its right and lower side.
	cell := min(c.w*scale/float64(t.Cols), c.h*scale/float64(t.Rows))
	ops = append(ops, area{X: px, Y: py, Pitch: cell, Lattice: t})
	b := black
	ops = append(ops, rect{X: px, Y: py, W: c.w * scale, H: c.h * scale, Edge: &b, Line: 0.25})
	return ops, scale, px, py
}

// strip is one piece of film: drills From to To along its width.
type strip struct{ From, To int }

// filmOver is how far the film reaches beyond the drills on every side: 2 to
// 3 mm, common practice, no source.
const filmOver = 2500 * measure.Micrometer

// filmStrips divides the picture into strips of film as wide as the roll, its
// seams on grid lines, every ten if that takes no more strips. Upright says
// that the strips run from top to bottom, so that seams lie between columns.
// One strip means no seam.
func filmStrips(k *kit.Kit, width measure.Auto) (strips []strip, upright bool) {
	cols, rows := k.Chart.Cols, k.Chart.Rows
	if !width.Given {
		return []strip{{0, cols}}, true
	}
	across, down := cutStrips(cols, k.Pitch, width.Length), cutStrips(rows, k.Pitch, width.Length)
	if len(down) < len(across) {
		return down, false
	}
	return across, true
}

func cutStrips(n int, pitch, width measure.Length) []strip {
	cut := func(step int) []strip {
		var out []strip
		for at := 0; at < n; {
			room := width
			if at == 0 {
				room -= filmOver
			}
			to := at + max(1, int(room/pitch)/step*step)
			if left := measure.Length(n-at)*pitch + filmOver; left <= room {
				to = n
			} else if to >= n { // the drills fit, the overhang doesn't
				to = max(at+1, (n-1)/step*step)
				if to <= at {
					to = at + 1
				}
			}
			out = append(out, strip{at, min(to, n)})
			at = to
		}
		return out
	}
	fine := cut(1)
	if int(width/pitch) > 20 {
		if tens := cut(10); len(tens) <= len(fine) {
			return tens
		}
	}
	return fine
}

// stripText tells the strips in words: "1–120, 121–200".
func stripText(strips []strip) string {
	var parts []string
	for _, s := range strips {
		parts = append(parts, thousands(s.From+1)+"–"+thousands(s.To))
	}
	return strings.Join(parts, ", ")
}

// roomAround returns the margin of a page of w by h mm whose content is scaled
// about its middle for a measured printer: m, or more where the content would
// otherwise come within a millimeter of the page's edge.
func (p Print) roomAround(m, w, h float64) float64 {
	const air = 1
	s := p.Measured.scale()
	return max(m, w/2-(w/2-air)/s[0], h/2-(h/2-air)/s[1])
}
