package kit

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"kitwright/internal/say"
	"kitwright/photo"
)

// OutlineWords says what is taken for the subject, and what looks wrong about
// it, a sentence each; nothing where no subject is known.
func (p *Prepared) OutlineWords(pic *Picture) []say.Text {
	if pic.Subject == nil {
		return nil
	}
	share := percent(pic.Subject.Count(), len(pic.Subject.In))
	var notes []say.Text
	switch pic.Subject.By {
	case "transparency":
		notes = append(notes, say.Textf("Your pet was told by what is see-through around it: %s of the picture ({subject} none takes no outline).", share))
	case "plain ground":
		notes = append(notes, say.Textf("Your pet was told by the plain ground around it: %s of the picture ({subject} none takes no outline).", share))
	default:
		notes = append(notes, say.Textf("Your pet's outline takes %s of the picture.", share))
	}
	notes = append(notes, p.doubts(pic.Subject)...)
	if p.light.Background.needsSubject() {
		where := ""
		if p.outline.Weak != "" {
			where = ", first of all " + p.outline.Weak
		}
		notes = append(notes, say.Textf("{background} %s paints over all that is not inside the outline: look at subject.png before you print%s. {add} and {cut} correct it.", p.light.Background.String(), where))
	}
	return notes
}

// Drawn returns the ellipse drawn about the subject, in percent of the picture.
func (p *Prepared) Drawn() (e photo.Ellipse, ok bool) {
	b := p.light.Subject
	return p.Photo.Within(p.Layout.Crop, photo.Ellipse(b)), b != (Box{})
}

// inCore says whether a cell of the canvas lies in the inner part of the ellipse
// drawn about the subject: it counts in full, whatever the outline says.
func (t *task) inCore(i int) bool {
	e, ok := t.Drawn()
	if !ok || !t.onPhoto(i) {
		return false
	}
	const inner = 0.35 // of the radius
	at := t.Layout.Picture
	x, y := i%t.Layout.Cols-at.X, i/t.Layout.Cols-at.Y
	return e.Center2(y*at.W+x, at.W, at.H) < inner*inner
}

// Bounds of the doubts. (Our choice: outlines that were right never came near
// them, those that went wrong did.)
const (
	coreShare   = 0.5  // the core of an ellipse: its half size
	coreLeft    = 0.25 // of it outside the outline
	nearlyNone  = 0.15 // of the ellipse
	nearlyAll   = 0.95 // of the picture
	edgeTouched = 0.03 // of an edge at which the photo goes on
	nearEdge    = 2    // percent of the photo: a side as near to its edge ends there
	mostOfPhoto = 0.6  // a pet that fills the photo (this and the next two: tried on one cat, whose exact box is not warned of)
	shortOf     = 0.18 // of the box
	filled      = 0.8  // of the box, by an outline that lost nothing
	sideCrossed = 0.4  // of a side of what was drawn, where the photo goes on: an animal has no such straight side
)

// doubts says what looks wrong about an outline.
func (p *Prepared) doubts(m *photo.Mask) (notes []say.Text) {
	n, all := m.Count(), len(m.In)
	if e, ok := p.Drawn(); ok {
		inside, core, left := 0, 0, 0
		for i, in := range m.In {
			switch r := e.Center2(i, m.Cols, m.Rows); {
			case r < coreShare*coreShare:
				core++
				if !in {
					left++
				}
				fallthrough
			case r < 1:
				inside++
			}
		}
		if float64(left) > coreLeft*float64(core) {
			notes = append(notes, say.Textf("The outline leaves out %s of the middle of what you drew: if your pet is there, {add} brings it in.", percent(left, core)))
		}
		if float64(n) < nearlyNone*float64(inside) {
			notes = append(notes, say.Textf("The outline takes nearly nothing of what you drew: draw {subject} closer about your pet, or name its parts with {add}."))
		}
	}
	if float64(n) > nearlyAll*float64(all) {
		notes = append(notes, say.Textf("The outline takes nearly all of the picture, so nothing counts less: draw {subject} closer, or take off the surroundings with {cut}."))
	}
	notes = append(notes, p.crossed(m)...)
	c := p.Layout.Crop
	for _, edge := range []struct {
		name       string
		inner      bool // the photo goes on beyond it
		from, step int
		cells      int
	}{
		{"left", c.X >= 1, 0, m.Cols, m.Rows}, {"top", c.Y >= 1, 0, 1, m.Cols},
		{"right", c.X+c.W <= float64(p.Photo.Width)-1, m.Cols - 1, m.Cols, m.Rows},
		{"bottom", c.Y+c.H <= float64(p.Photo.Height)-1, (m.Rows - 1) * m.Cols, 1, m.Cols},
	} {
		touched := 0
		for k := range edge.cells {
			if m.In[edge.from+k*edge.step] {
				touched++
			}
		}
		if edge.inner && float64(touched) > edgeTouched*float64(edge.cells) && !slices.Contains(p.Layout.CutsAt, edge.name) {
			notes = append(notes, say.Textf("The outline touches the %s edge of the part that is charted: something of your pet may be cut off there.", edge.name))
		}
	}
	return notes
}

// crossed names the sides of what was drawn that the outline lies across for long,
// though the photo goes on beyond them: there the pet goes on, or something
// else was taken for it.
func (p *Prepared) crossed(m *photo.Mask) []say.Text {
	e, ok := p.Drawn()
	if !ok {
		return nil
	}
	b := p.light.Subject
	column, row := e.W/100*float64(m.Cols), e.H/100*float64(m.Rows)
	var sides []string
	for _, side := range []struct {
		name   string
		inner  bool
		x, y   float64 // where it begins, in percent of the picture
		dx, dy float64
		cells  float64
	}{
		{"left", b.X > nearEdge, e.X, e.Y, 0, e.H, row}, {"upper", b.Y > nearEdge, e.X, e.Y, e.W, 0, column},
		{"right", b.X+b.W < 100-nearEdge, e.X + e.W, e.Y, 0, e.H, row}, {"lower", b.Y+b.H < 100-nearEdge, e.X, e.Y + e.H, e.W, 0, column},
	} {
		if !side.inner {
			continue
		}
		in, n := 0, int(math.Ceil(side.cells))
		for k := range n {
			at := (float64(k) + 0.5) / float64(n)
			x := int(math.Floor((side.x + float64(side.dx*at)) / 100 * float64(m.Cols)))
			y := int(math.Floor((side.y + float64(side.dy*at)) / 100 * float64(m.Rows)))
			if x >= 0 && y >= 0 && x < m.Cols && y < m.Rows && m.In[y*m.Cols+x] {
				in++
			}
		}
		if float64(in) > sideCrossed*float64(n) {
			sides = append(sides, side.name)
		}
	}
	var notes []say.Text
	if near := b.stopsShort(); len(near) > 0 && float64(m.Count()) < filled*e.W*e.H/1e4*float64(len(m.In)) {
		notes = append(notes, say.Textf("What you drew takes most of the photo, but stops short of its %s: if your pet goes on to there, draw {subject} up to the edge.", sidesOf(near)))
	}
	if len(sides) == 0 {
		return notes
	}
	return append(notes, say.Textf("The outline lies across the %s of what you drew: if your pet goes on there, draw {subject} larger; if not, {cut} takes off what is too much.", sidesOf(sides)))
}

// stopsShort names the sides of a box around most of the photo that end shortly
// before its edge: drawn about a pet that fills the photo, they are more often
// meant to reach it.
func (b Box) stopsShort() (sides []string) {
	if b.W*b.H < mostOfPhoto*1e4 {
		return nil
	}
	for _, s := range []struct {
		name   string
		gap, w float64
	}{{"left", b.X, b.W}, {"upper", b.Y, b.H}, {"right", 100 - b.X - b.W, b.W}, {"lower", 100 - b.Y - b.H, b.H}} {
		if s.gap > nearEdge && s.gap < shortOf*s.w {
			sides = append(sides, s.name)
		}
	}
	return sides
}

func sidesOf(names []string) string {
	if len(names) == 1 {
		return names[0] + " side"
	}
	return strings.Join(names[:len(names)-1], ", ") + " and " + names[len(names)-1] + " sides"
}

// percent says a share in whole percent.
func percent(n, of int) string { return fmt.Sprintf("%d %%", (100*n+of/2)/max(1, of)) }
