package kit

import (
	"slices"
	"strings"

	"kitwright/chart"
	"kitwright/internal/say"
	"kitwright/lab"
	"kitwright/photo"
	"kitwright/photo/subject"
	"kitwright/photo/tone"
)

// easyFrom is the calm from which drills should be easy to place: the tone
// then leaves out the sharpening, which costs lone drills.
const easyFrom = 0.75

// stage turns the photo into the target of the whole canvas, in this order:
// sample in linear light, find the subject, tone (exposure, darks, local
// contrast, sharpness), then lay border and caption around it.
func (p *Prepared) stage(o Order) error {
	at := p.Layout.Picture
	light := p.Photo.Linear(p.Layout.Crop, at.W, at.H)
	var hand *photo.Ellipse
	if o.Subject != (Box{}) {
		e := photo.Ellipse(o.Subject)
		hand = &e
	}
	p.Subject = subject.Find(p.Photo, p.Layout.Crop, at.W, at.H, hand)
	p.circled(o.Focus)
	if p.Subject == nil && o.Background.needsSubject() {
		return say.Usage("draw an ellipse about your pet with {subject}, as in {subject} 20,10,60,80",
			"{background} %s needs to know what the subject is, and neither transparency nor a plain ground tells", o.Background.String())
	}

	if hand != nil && p.Subject != nil && !slices.Contains(p.Subject.In, true) {
		return say.Usage("draw it about all of your pet, on the part of the photo that is charted",
			"no subject could be found by {subject} %s", &o.Subject)
	}

	var eyes []photo.Ellipse
	for _, f := range o.Focus {
		eyes = append(eyes, photo.Ellipse(f.Box))
	}
	p.Advice = p.Photo.Advise(p.Layout.Crop, at.W, at.H, p.Subject, eyes)
	p.Before = light.Grid()
	if o.Tone == ToneAuto {
		light, p.Tone = tone.Apply(light, p.Subject, o.Calm >= easyFrom)
	}
	return p.surround(o, light.Grid())
}

// circled makes what a focus circles part of the subject: an eye that the
// outline missed is no background.
func (p *Prepared) circled(focus []Focus) {
	if p.Subject == nil {
		return
	}
	at := p.Layout.Picture
	for _, f := range focus {
		cx, cy, rx, ry := p.Layout.Ellipse(f.Box, p.Photo.Width, p.Photo.Height)
		for i := range p.Subject.In {
			x, y := float64(at.X+i%at.W)+0.5, float64(at.Y+i/at.W)+0.5
			if dx, dy := (x-cx)/rx, (y-cy)/ry; float64(dx*dx)+float64(dy*dy) < 1 {
				p.Subject.In[i] = true
			}
		}
	}
}

// After returns the picture after the tone, without border and caption.
func (p *Prepared) After() *lab.Grid {
	at := p.Layout.Picture
	g := lab.NewGrid(at.W, at.H)
	for y := range at.H {
		for x := range at.W {
			g.Set(x, y, p.Target.At(at.X+x, at.Y+y))
		}
	}
	return g
}

// surround lays border and caption around the picture.
func (p *Prepared) surround(o Order, picture *lab.Grid) error {
	l := p.Layout
	if l.Picture == (chart.Box{W: l.Cols, H: l.Rows}) {
		p.Target = picture
		return nil
	}
	colors := labs(p.card)
	ink, ground, err := p.captionColors(o, mean(picture))
	if err != nil {
		return err
	}
	if p.fixed, err = o.frameOf(l).Cells(int32(ground), int32(ink), int32(ground)); err != nil {
		return err
	}
	p.Target = lab.NewGrid(l.Cols, l.Rows)
	for i, j := range p.fixed {
		if j >= 0 {
			p.Target.Cells[i] = colors[j].Round()
		}
	}
	for y := range picture.Rows {
		for x := range picture.Cols {
			p.Target.Set(l.Picture.X+x, l.Picture.Y+y, picture.At(x, y))
		}
	}
	return nil
}

// captionColors chooses ink and ground for the caption, as indices of the
// card, among the colors that the order does not avoid.
func (p *Prepared) captionColors(o Order, picture lab.Color) (ink, ground int, err error) {
	avoid, err := indices(p.card, o.Avoid, "avoid")
	if err != nil {
		return -1, -1, err
	}
	border := -1
	if o.Border.Code != "" {
		j, err := indices(p.card, []string{o.Border.Code}, "border")
		if err != nil {
			return -1, -1, err
		}
		if slices.Contains(avoid, j[0]) {
			return -1, -1, p.bothNamed("border", j[0])
		}
		border = j[0]
	}
	var from []lab.Color
	var at []int
	for j, c := range labs(p.card) {
		if slices.Contains(avoid, j) {
			continue
		}
		if j == border {
			border = len(from)
		}
		from, at = append(from, c), append(at, j)
	}
	if ink, ground, err = chart.CaptionColors(from, picture, border); err != nil {
		return -1, -1, err
	}
	return at[ink], at[ground], nil
}

// bothNamed says that a flag asks for a color that is to be avoided.
func (p *Prepared) bothNamed(flag string, j int) error {
	return say.Usage("take it off one of the two", "%s and {avoid} both name %s", say.Setting(flag), p.card.Drills[j].Address())
}

// mean is the mean of a picture's L*, a* and b*.
func mean(g *lab.Grid) (m lab.Color) {
	for _, c := range g.Cells {
		m.L, m.A, m.B = m.L+c.L, m.A+c.A, m.B+c.B
	}
	n := float64(len(g.Cells))
	return lab.Color{L: m.L / n, A: m.A / n, B: m.B / n}
}

// onPhoto says whether a cell of the canvas shows the photo, not border or
// caption.
func (p *Prepared) onPhoto(i int) bool { return p.fixed == nil || p.fixed[i] < 0 }

// onSubject says whether a cell of the canvas shows the subject; everything on
// the photo does where none is known.
func (p *Prepared) onSubject(i int) bool {
	if !p.onPhoto(i) {
		return false
	}
	if p.Subject == nil {
		return true
	}
	at := p.Layout.Picture
	x, y := i%p.Layout.Cols-at.X, i/p.Layout.Cols-at.Y
	return p.Subject.In[y*at.W+x]
}

// advice returns what to know about the photo, each a sentence and a hint.
func (p *Prepared) advice() []string {
	out := []string{}
	for _, a := range p.Advice {
		out = append(out, sentence(a.Says)+" To help: "+a.Try+".")
	}
	return out
}

// sentence makes a sentence of words that begin small and have no full stop.
func sentence(s string) string {
	return strings.ToUpper(s[:1]) + s[1:] + "."
}
