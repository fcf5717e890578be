package render

import (
	"kitwright/render/letters"
	"kitwright/render/pdf"
)

// column sets text down a column.
type column struct {
	ops     []pdf.Op
	x, y, w float64 // y is the top of what comes next
	size    float64 // of items, points; 0 is 10.5
}

// heading sets a line of bold type with a rule under it.
func (f *column) heading(s string) {
	f.y += 3
	f.ops = append(f.ops,
		pdf.Text{X: f.x, Y: f.y + letters.CapHeight*big*letters.PointMM, Size: big, Face: letters.Bold, S: letters.Shorten(letters.Bold, big, f.w, s)},
		pdf.Line{X1: f.x, Y1: f.y + 5.4, X2: f.x + f.w, Y2: f.y + 5.4, W: 0.18, Ink: black})
	f.y += 7.6
}

// lines sets a paragraph of at most most lines.
func (f *column) lines(face letters.Face, size float64, ink color, most int, s string) {
	f.set(face, size, ink, most, letters.Clean(s))
}

// set is lines for a text that is clean already.
func (f *column) set(face letters.Face, size float64, ink color, most int, s string) {
	leading := size * 1.32 * letters.PointMM
	for _, l := range letters.Wrap(face, size, f.w, most, s) {
		f.ops = append(f.ops, pdf.Text{X: f.x, Y: f.y + letters.Ascent*size*letters.PointMM, Size: size, Face: face, Ink: ink, S: l})
		f.y += leading
	}
}

// item sets a bold label and its text in two columns, the label labelW wide.
func (f *column) item(labelW float64, label, s string) {
	size := f.size
	if size == 0 {
		size = 10.5
	}
	leading := size * 1.32 * letters.PointMM
	base := f.y + letters.Ascent*size*letters.PointMM
	f.ops = append(f.ops, pdf.Text{X: f.x, Y: base, Size: size, Face: letters.Bold, S: letters.Shorten(letters.Bold, size, labelW-2, label)})
	for _, l := range letters.Wrap(letters.Regular, size, f.w-labelW, 5, letters.Clean(s)) {
		f.ops = append(f.ops, pdf.Text{X: f.x + labelW, Y: base, Size: size, S: l})
		base += leading
		f.y += leading
	}
	f.y += 0.15 * size
}

// pageTitle sets what a page is and whose kit it belongs to, and returns the
// ops and the place where the page goes on.
func pageTitle(x, y, w float64, what, title string) ([]pdf.Op, float64) {
	const size = 20
	ops := []pdf.Op{pdf.Text{X: x, Y: y + letters.CapHeight*size*letters.PointMM, Size: size, Face: letters.Bold, S: letters.Shorten(letters.Bold, size, w, what)}}
	y += size * 1.1 * letters.PointMM
	if title != "" {
		ops = append(ops, pdf.Text{X: x, Y: y + 4, Size: 11, Ink: dim, S: letters.Shorten(letters.Regular, 11, w, title)})
		y += 6
	}
	return ops, y + 1
}
