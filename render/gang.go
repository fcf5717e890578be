package render

import (
	"context"
	"errors"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"kitwright/internal/measure"
	"kitwright/internal/say"
	"kitwright/kit"
	"kitwright/render/letters"
	"kitwright/render/pdf"
	"kitwright/render/roll"
)

// Ganged is a kit whose canvas goes onto a roll with others.
type Ganged struct {
	Name   string // by which the shop knows it
	Kit    *kit.Kit
	Print  Print // the canvas; what was measured of a printer counts for the roll alone
	Copies int
}

// Roll is what many canvases are laid on. What all of them share, the shop's
// machine, the units and what was measured of it, is in Print.
type Roll struct {
	Width measure.Length // what it prints across
	Gap   measure.Length // from canvas to canvas, bleed included, for the knife and the names
	Turn  bool           // canvases may be turned by a quarter
	Print Print
}

// Room beside the canvases, mm: crop marks reach 5.5 mm beyond the bleed.
const (
	gapLeast  = measure.Length(6 * measure.Millimeter)
	gapMost   = 100 * measure.Millimeter
	mostOnOne = 500 // canvases
)

// Check says whether a roll can be printed on, in words.
func (r Roll) Check() error {
	switch {
	case r.Width < rollLeast || r.Width > maxSide:
		return say.Usage("rolls are 610mm, 914mm, 1067mm, 1372mm or 1626mm wide", "{media-width} takes %s to 5000mm, not %s", measure.Length(rollLeast), r.Width)
	case r.Gap < gapLeast || r.Gap > gapMost:
		return say.Usage("10mm is usual", "{gap} takes %s to %s, not %s: marks and names stand in it", gapLeast, measure.Length(gapMost), r.Gap)
	}
	return r.Print.Check(nil)
}

// edge is the room at the edges of the roll and of its stretches.
func (r Roll) edge() measure.Length { return max(gapLeast, (r.Gap+1)/2) }

// size returns the roll's width and the most that a stretch may be long, as they
// are laid out: a printer's error makes up the rest.
func (r Roll) size() (width, most measure.Length) {
	s := r.Print.printerScale(nil)
	return measure.Length(float64(r.Width) / s[0]), measure.Length(float64(maxSide) / s[1])
}

// Gang is many canvases laid on a roll.
type Gang struct {
	Roll     Roll
	Canvases []GangedCanvas
	plan     *roll.Plan
	width    measure.Length
	most     measure.Length
}

// GangedCanvas is one canvas, or one panel of one, on the roll.
type GangedCanvas struct {
	*Ganged
	Copy, Panel, Panels int
	Run                 int            // the stretch it lies on
	X, Y                measure.Length // of the upper left corner of its bleed
	Turned              bool
	page                *pdf.Page
	box                 float64
}

// NewGang lays canvases on a roll, as short as can be found. A canvas that is
// wider than the roll is laid in panels.
func NewGang(ctx context.Context, kits []Ganged, r Roll) (*Gang, error) {
	if err := r.Check(); err != nil {
		return nil, err
	}
	g := &Gang{Roll: r}
	g.width, g.most = r.size()
	for i := range kits {
		if err := g.add(&kits[i]); err != nil {
			var said *say.Error
			if errors.As(err, &said) {
				return nil, said.At("%s", kits[i].Name)
			}
			return nil, err
		}
	}
	var items []roll.Item
	for _, c := range g.Canvases {
		w, h := c.size()
		items = append(items, roll.Item{W: int64(w + r.Gap), H: int64(h + r.Gap), Turn: r.Turn})
	}
	e := 2*r.edge() - r.Gap
	plan, err := roll.Pack(ctx, int64(g.width-e), int64(g.most-e), items, roll.Effort{})
	if err != nil {
		return nil, err
	}
	g.plan = plan
	laid := make([]GangedCanvas, 0, len(g.Canvases))
	for n, run := range plan.Runs {
		for _, p := range run {
			c := g.Canvases[p.Item]
			c.Run, c.X, c.Y, c.Turned = n, measure.Length(p.X)+r.edge(), measure.Length(p.Y)+r.edge(), p.Turned
			laid = append(laid, c)
		}
	}
	g.Canvases = laid
	return g, nil
}

// add adds the pages of a kit's canvas, as often as there are copies.
func (g *Gang) add(k *Ganged) error {
	p := k.Print
	p.Measured, p.MeasuredPicture, p.MediaWidth = Bars{}, Picture{}, measure.Auto{}
	k.Print = p
	if err := p.Check(nil); err != nil {
		return err
	}
	if err := checkKit(k.Kit); err != nil {
		return err
	}
	if err := p.checkPicture(k.Kit); err != nil {
		return err
	}
	room := (g.width - 2*g.Roll.edge() - 2*p.Bleed).MM()
	cut, err := layOn(k.Kit, p, media{upright: room, turned: room, turn: g.Roll.Turn, width: g.Roll.Width})
	if err != nil {
		return err
	}
	pages := cut.pages()
	if len(g.Canvases)+k.Copies*len(pages) > mostOnOne {
		return say.Usage("make several rolls", "a roll takes %d canvases at most", mostOnOne)
	}
	for n := range k.Copies {
		for i, pg := range pages {
			c := GangedCanvas{Ganged: k, Copy: n + 1, Panel: i + 1, Panels: len(pages), page: pg, box: cut.c.skin.Box}
			if w, h := c.size(); max(w, h) > g.most-2*g.Roll.edge() {
				return say.Usage("order a smaller picture", "its sheet is %.2f m long, and a stretch of roll ends at 5 m", max(w, h).MM()/1000)
			}
			g.Canvases = append(g.Canvases, c)
		}
	}
	return nil
}

// size returns what a canvas takes of the roll, upright: the sheet and its
// bleed.
func (c *GangedCanvas) size() (w, h measure.Length) {
	up := func(mm float64) measure.Length { return measure.Length(math.Ceil(mm*1000 - 1e-6)) }
	return up(c.page.W + 2*c.page.Bleed), up(c.page.H + 2*c.page.Bleed)
}

// lies returns what it takes as it lies.
func (c *GangedCanvas) lies() (w, h measure.Length) {
	if w, h = c.size(); c.Turned {
		return h, w
	}
	return w, h
}

// label is what stands beside a canvas, on the waste.
func (c *GangedCanvas) label() string {
	words := []string{letters.Clean(c.Name)}
	if t := titleOf(c.Kit, c.Print); t != words[0] {
		words = append(words, t)
	}
	words = append(words, markOf(c.Kit))
	if c.Panels > 1 {
		words = append(words, "panel "+strconv.Itoa(c.Panel)+" of "+strconv.Itoa(c.Panels))
	}
	if c.Copies > 1 {
		words = append(words, "copy "+strconv.Itoa(c.Copy)+" of "+strconv.Itoa(c.Copies))
	}
	return strings.Join(words, " · ")
}

// Stretches is how many pieces of roll there are, a page each.
func (g *Gang) Stretches() int { return len(g.plan.Runs) }

// long returns how long a stretch is.
func (g *Gang) long(run int) measure.Length {
	return measure.Length(g.plan.Long[run]) + 2*g.Roll.edge() - g.Roll.Gap
}

// Length returns how much of the roll is printed.
func (g *Gang) Length() (all measure.Length) {
	for run := range g.plan.Runs {
		all += g.long(run)
	}
	return all
}

// Over returns by how much it may be longer than the shortest there is; 0 is
// proven shortest.
func (g *Gang) Over() measure.Length {
	e := 2*g.Roll.edge() - g.Roll.Gap
	least := max(1, (g.plan.Bound+int64(g.most-e)-1)/int64(g.most-e)) // stretches
	return max(0, g.Length()-measure.Length(g.plan.Bound)-measure.Length(least)*e)
}

// Waste returns the share of the roll that is no sheet, in tenths of a percent.
func (g *Gang) Waste() int {
	var sheets float64
	for _, c := range g.Canvases {
		sheets += float64(c.page.W * c.page.H)
	}
	return int(math.Round(1000 * (1 - sheets/float64(g.width.MM()*g.Length().MM()))))
}

// Write writes the roll as a PDF file, a page a stretch. Every canvas is there
// with the operations of its own file.
func (g *Gang) Write(w io.Writer) error {
	d := g.document("roll")
	d.Press, d.Paths = g.Roll.Print.Shop.press(), g.Roll.Print.Shop.Outlined
	for run := range g.plan.Runs {
		d.Pages = append(d.Pages, g.page(run))
	}
	return d.Write(w)
}

func (g *Gang) document(what string) pdf.Document {
	var marks []string
	for _, c := range g.Canvases {
		if m := markOf(c.Kit); !slices.Contains(marks, m) {
			marks = append(marks, m)
		}
	}
	return pdf.Document{
		Title: "Roll of " + g.count() + ": " + what, Creator: pdf.Producer,
		Subject: "True scale: print at 100 %. " + g.sizeWords(), Mark: strings.Join(marks, ", "),
		Date: g.Roll.Print.Date.String(), Box: g.Canvases[0].box,
	}
}

// count tells how many canvases there are; panels are part of one.
func (g *Gang) count() string {
	n := 0
	for _, c := range g.Canvases {
		if c.Panel == 1 {
			n++
		}
	}
	if n == 1 {
		return "1 canvas"
	}
	return say.Number(n) + " canvases"
}

// Words tells how much of which roll the canvases take.
func (g *Gang) Words() string { return g.sizeWords() + ", " + g.WasteWords() + " of it waste" }

// sizeWords tells how much of which roll it takes.
func (g *Gang) sizeWords() string {
	u := g.Roll.Print.Units
	return g.count() + " on " + lengthText(g.Length(), u) + " of a roll of " + lengthText(g.Roll.Width, u)
}

// page returns the page of a stretch.
func (g *Gang) page(run int) *pdf.Page {
	pg := &pdf.Page{W: g.width.MM(), H: g.long(run).MM(), Scale: g.Roll.Print.printerScale(nil)}
	if g.Stretches() > 1 {
		pg.Label = strconv.Itoa(run + 1)
	}
	for _, c := range g.Canvases {
		if c.Run == run {
			pg.Add(c.inset())
			pg.Add(c.around()...)
		}
	}
	return pg
}

// inset returns the canvas as it lies on the roll, with its crop marks, which
// reach into the gaps.
func (c *GangedCanvas) inset() pdf.Inset {
	m, slug := c.page.Margin(), c.page.Slug
	return pdf.Inset{
		X: c.X.MM() - slug, Y: c.Y.MM() - slug, Turn: c.Turned, Page: c.page, Box: c.box,
		Frame: [4]float64{-m, -m, c.page.W + 2*m, c.page.H + 2*m},
	}
}

// around returns the name of a canvas below it, on the waste, and marks to cut
// along where it has none of its own.
func (c *GangedCanvas) around() (ops []pdf.Op) {
	lw, lh := c.lies()
	x, y, w, h := c.X.MM(), c.Y.MM(), lw.MM(), lh.MM()
	if b := c.page.Bleed; b == 0 {
		for _, op := range cropMarks(&pdf.Page{W: w, H: h, Bleed: 1e-9}) {
			l := op.(pdf.Line)
			l.X1, l.Y1, l.X2, l.Y2 = l.X1+x, l.Y1+y, l.X2+x, l.Y2+y
			ops = append(ops, l)
		}
	}
	const size, clear = 10.0, 2 // the marks at the corners stay clear
	t := letters.Shorten(letters.Regular, size, w-2*c.page.Bleed-2*clear, c.label())
	middle := gapLeast / 2 // of what is there below the last ones, too
	return append(ops, pdf.Text{X: x + c.page.Bleed + clear, Y: y + h + middle.MM() + letters.CapHeight*size*letters.PointMM/2, Size: size, S: t})
}
