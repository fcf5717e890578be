package render

import (
	"kitwright/render/letters"
	"kitwright/render/pdf"
)

// finishing is what the last page says, common practice, no source.
var finishing = []struct {
	head, text string
}{
	{"After each sitting",
		"Put the liner back over open film. Close every container. Sweep the floor, the chair and your sleeves, and count: what rolled away is small enough for a child or a pet to swallow."},
	{"Fill the gaps",
		"Hold the picture against the light: bare film shines. Fill every gap from the extra drills, and push crooked rows straight with the edge of a ruler."},
	{"Press it down",
		"Lay the liner or baking paper over it and go over every part with a roller or a rolling pin. Then leave it flat under books for a night."},
	{"Seal it, or not",
		"Behind glass it needs no sealer. Where it hangs open, a sealer holds the drills for good; it can dull their shine, AB above all, and it cannot be undone. Try it on a few drills on leftover film first. Two thin coats, in moving air, with gloves."},
	{"Mount it",
		"On bars, stretch from the middles of the sides to the corners, a little at a time. On a board, use mounting film or spray glue on the board, not on the canvas. Never fold what is drilled; roll it with the drills outside."},
	{"Frame it",
		"Measure canvas, film and drills together with a ruler before you choose: the frame has to be deeper than that and its back together. Without glass, or with spacers so that the glass touches no drill."},
	{"Keep it",
		"Out of the sun, and not over a heater or in a bathroom: light fades print, heat and steam loosen the film. Dust it with a soft dry brush. Keep the leftover drills with their codes, for repairs and for the next picture."},
}

// finishPages tell how to finish, and what to mind.
func (l *planPages) finishPages() []*pdf.Page {
	const size = 10.0
	out := &flow{planPages: l, title: "Finishing"}
	for _, part := range finishing {
		out.group(func(f *column) {
			f.heading(part.head)
			f.lines(letters.Regular, size, black, 12, part.text)
			f.y += 0.6
		})
	}
	out.group(func(f *column) {
		f.heading("Please mind")
		for _, t := range cautions[:len(cautions)-1] { // the last is about the photo
			f.lines(letters.Regular, size, black, 3, t)
			f.y += 0.8
		}
		f.lines(letters.Bold, size, black, 3, "A drill in a nose or an ear is for a doctor or a vet, too. Go at once, and take a drill along.")
		f.y++
		f.lines(letters.Regular, 8.5, dim, 3, "Common practice, without a published source. The advice of whoever makes your film, sealer and frame comes first.")
	})
	out.group(l.sittings)
	return out.pages
}

// sittings rules lines for what was done when, as many as there is room for: it
// is what her own pace is reckoned from.
func (l *planPages) sittings(f *column) {
	const row, head, most = 7.2, 13.0, 14
	rows := min(most, int((l.h-l.m-f.y-head-4)/row))
	if rows < 3 {
		return
	}
	f.y += 1
	f.heading("Your sittings")
	columns := []struct {
		what  string
		share float64
	}{{"date", 0.2}, {"sections", 0.3}, {"minutes", 0.2}, {"floor swept, drills counted", 0.3}}
	x := f.x
	for i, c := range columns {
		f.ops = append(f.ops, pdf.Text{X: x, Y: f.y + 2.6, Size: small + 0.5, Ink: dim, S: letters.Shorten(letters.Regular, small+0.5, c.share*f.w-2, c.what)})
		if i == len(columns)-1 {
			e := gray
			for r := range rows {
				f.ops = append(f.ops, pdf.Rect{X: x, Y: f.y + 3.4 + (float64(r)+0.5)*row - 1.6, W: 3.2, H: 3.2, Edge: &e, Line: 0.18})
			}
		}
		x += c.share * f.w
	}
	for r := range rows {
		y := f.y + 3.4 + float64(r+1)*row
		f.ops = append(f.ops, pdf.Line{X1: f.x, Y1: y, X2: f.x + f.w, Y2: y, W: hair, Ink: gray})
	}
	f.y += 3.4 + float64(rows)*row
}
