package render

import (
	"fmt"
	"io"
	"strconv"

	"kitwright/internal/say"
	"kitwright/palettes"
	"kitwright/palettes/gauge"
	"kitwright/render/letters"
	"kitwright/render/pdf"
)

// Swatches writes a card as pages to print: for each color a swatch, its code
// first, its name and finish, and room to lay or glue one drill beside it.
func Swatches(w io.Writer, card *palettes.Card, p Print) error {
	pw, ph, m := p.Paper.Size.W.MM(), p.Paper.Size.H.MM(), p.deskMargin()
	const rowH, swatchW, swatchH, head, foot = 15.0, 15.0, 11.0, 22.0, 8.0
	cols := int((pw - 2*m) / 44)
	rows := int((ph - 2*m - head - foot) / rowH)
	if cols < 1 || rows < 1 {
		return say.Usage("use a4 or letter", "{paper}: a swatch card needs more room")
	}
	colW := (pw - 2*m) / float64(cols)
	per := cols * rows
	d := pdf.Document{Title: "Color card " + card.Name, Subject: "Swatches of the colors of a card", Creator: pdf.Producer, Box: 0.8}
	pages := (len(card.Drills) + per - 1) / per
	for n := range pages {
		page := &pdf.Page{W: pw, H: ph}
		what := "Color card: " + letters.Clean(card.Name)
		note := fmt.Sprintf("%s, page %d of %d. A printed swatch is near its color, not the same: the drill beside it is the judge.", say.Count(len(card.Drills), "color"), n+1, pages)
		ops, y := pageTitle(m, m, pw-2*m, what, "")
		page.Add(ops...)
		for _, line := range letters.Wrap(letters.Regular, 8, pw-2*m, 2, note) {
			page.Add(pdf.Text{X: m, Y: y + 3, Size: 8, Ink: dim, S: line})
			y += 3.6
		}
		for i, drill := range card.Drills[n*per : min((n+1)*per, len(card.Drills))] {
			x, y := m+float64(i/rows)*colW, m+head+float64(i%rows)*rowH
			page.Add(swatch(drill, x, y, colW-2, swatchW, swatchH)...)
		}
		if card.Source != "" {
			page.Add(pdf.Text{X: m, Y: ph - m, Size: 7, Ink: gray, S: letters.Shorten(letters.Regular, 7, pw-2*m, letters.Clean(card.Source))})
		}
		d.Pages = append(d.Pages, page)
	}
	if len(d.Pages) == 0 {
		return say.Failed("choose another card", "the card %q holds no colors", card.Name)
	}
	return d.Write(w)
}

// swatch draws one color of a card: its swatch, room for a drill, its words.
func swatch(d palettes.Drill, x, y, w, swatchW, swatchH float64) []pdf.Op {
	const drill = 3.4 // room for one of 2.5 or 2.8 mm
	fill, edge := d.RGB, faint
	ops := []pdf.Op{
		pdf.Rect{X: x, Y: y, W: swatchW, H: swatchH, Fill: &fill, Edge: &edge, Line: 0.1},
		pdf.Rect{X: x + swatchW + 1, Y: y + (swatchH-drill)/2, W: drill, H: drill, Edge: &gray, Line: 0.15},
	}
	tx := x + swatchW + drill + 2.4
	room := w - (tx - x)
	code := letters.Clean(d.Code)
	size := 10.0
	for size > 7 && letters.Width(letters.Bold, size, code) > room {
		size -= 0.5
	}
	ops = append(ops, pdf.Text{X: tx, Y: y + 3.6, Size: size, Face: letters.Bold, S: letters.Shorten(letters.Bold, size, room, code)})
	lines := []string{}
	if d.Finish != "" {
		lines = append(lines, letters.Shorten(letters.Bold, 7, room, letters.Clean(string(d.Finish))))
	}
	if name := letters.Clean(d.Name); name != code {
		lines = append(lines, letters.Wrap(letters.Regular, 7, room, 2, name)...)
	}
	if d.Beyond {
		lines = append(lines, "stronger than print")
	}
	for i, s := range lines[:min(len(lines), 3)] {
		face := letters.Regular
		if i == 0 && d.Finish != "" {
			face = letters.Bold
		}
		ops = append(ops, pdf.Text{X: tx, Y: y + 6.8 + float64(i)*2.9, Size: 7, Face: face, Ink: dim, S: s})
	}
	return ops
}

// FramesOf returns the measuring sheets for codes on every paper they may have
// been printed on.
func FramesOf(codes []string) (all []*gauge.Frame, err error) {
	for _, name := range []string{"a4", "letter"} {
		paper := paperNamed(name)
		frames, err := gauge.Frames(codes, paper.Size.W.MM(), paper.Size.H.MM())
		if err != nil {
			return nil, err
		}
		all = append(all, frames...)
	}
	return all, nil
}

// MeasuringSheets writes the sheets that drills are laid on to be measured
// from a photo.
func MeasuringSheets(w io.Writer, frames []*gauge.Frame) error {
	d := pdf.Document{Title: "Measuring sheet", Subject: "Lay drills in the cells and photograph the sheet", Creator: pdf.Producer, Box: 0.8}
	for _, f := range frames {
		d.Pages = append(d.Pages, measuringSheet(f))
	}
	return d.Write(w)
}

func measuringSheet(f *gauge.Frame) *pdf.Page {
	page := &pdf.Page{W: f.W, H: f.H}
	fill := func(r gauge.Rect, c color) {
		page.Add(pdf.Rect{X: r.X, Y: r.Y, W: r.W, H: r.H, Fill: &c})
	}
	for _, m := range f.Markers {
		fill(m, black)
	}
	fill(f.Hole, white)
	for _, ramp := range f.Ramps {
		for i, r := range ramp {
			g := gauge.RampGrays[i]
			fill(r, color{g, g, g})
		}
	}
	for i, r := range f.Marks {
		if f.Bits[i] {
			fill(r, black)
		}
	}
	head := "Measuring " + f.Name() + ". Nine drills in each cell, edge to edge; leave the white between rows free."
	page.Add(pdf.Text{X: 20, Y: 40, Size: 9, Face: letters.Bold, S: letters.Shorten(letters.Bold, 9, f.W-40, head)})
	how := "Print at 100 %, plain, black only. Strips of thin double-sided tape along the rows hold the drills. Photograph straight from above, in daylight, no flash, no HDR, all four black squares in the picture."
	y := 44.0
	for _, line := range letters.Wrap(letters.Regular, 7.5, f.W-40, 2, how) {
		page.Add(pdf.Text{X: 20, Y: y, Size: 7.5, Ink: dim, S: line})
		y += 3.2
	}
	for i, c := range f.Cells {
		for _, at := range [4][2]float64{{c.X, c.Y}, {c.X + c.W, c.Y}, {c.X + c.W, c.Y + c.H}, {c.X, c.Y + c.H}} {
			// Corner ticks outside the cell: a box would tint the white.
			dx, dy := -1.2, -1.2
			if at[0] > c.X {
				dx = 1.2
			}
			if at[1] > c.Y {
				dy = 1.2
			}
			page.Add(
				pdf.Line{X1: at[0], Y1: at[1] + dy/3, X2: at[0], Y2: at[1] + dy, W: 0.15, Ink: gray},
				pdf.Line{X1: at[0] + dx/3, Y1: at[1], X2: at[0] + dx, Y2: at[1], W: 0.15, Ink: gray},
			)
		}
		code := letters.Clean(f.Codes[i])
		page.Add(pdf.Text{X: c.X + c.W/2, Y: c.Y + c.H + 4.4, Size: 8, Face: letters.Bold, Align: pdf.Center, S: letters.Shorten(letters.Bold, 8, 32, code)})
	}
	page.Add(pdf.Text{X: f.W / 2, Y: f.H - 26, Size: 7, Ink: gray, Align: pdf.Center, S: "drills are small parts: keep them from children under three and from pets"})
	return page
}

// MeasuringTime says how long filling measuring sheets takes, in words: about
// 9 drills a cell at 3 seconds each, and 2 minutes a sheet for tape and photo
// (our own estimate, not measured).
func MeasuringTime(codes, sheets int) string {
	minutes := (codes*9*3+59)/60 + 2*sheets
	if minutes < 90 {
		return "about " + strconv.Itoa((minutes+4)/5*5) + " minutes"
	}
	return "about " + strconv.FormatFloat(float64((minutes+15)/30)/2, 'f', -1, 64) + " hours"
}
