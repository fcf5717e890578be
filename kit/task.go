package kit

import (
	"slices"
	"sync"

	"kitwright/chart"
	"kitwright/lab"
	"kitwright/palettes"
	"kitwright/place"
	"kitwright/quantize"
)

// task is what colors are chosen for: the picture with border and caption
// around it, and what it costs to show each part of it in each color of a
// card.
type task struct {
	*Prepared
	*Picture
	card    *palettes.Card
	grid    *lab.Grid // of the whole canvas
	fixed   []int32   // a cell: index of the card, or -1 where the photo is; nil without border and caption
	problem *quantize.Problem
	scene   func() *place.Scene // what all ways to lay the grid share
}

// task returns what a choice is made for.
func (p *Prepared) task(c Choice) (*task, error) {
	if err := c.check(); err != nil {
		return nil, err
	}
	card, err := p.Card(c)
	if err != nil {
		return nil, err
	}
	if err := (Order{p.canvas, p.light, c}).CheckOn(card); err != nil {
		return nil, err
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	key := taskKey{picture: p.picture(c), card: card}
	if p.framed() {
		key.avoid = codes(&c.Avoid).String() // the colors around the photo follow what is avoided
		if c.Own {
			key.avoid += "\n" + stock(&c.Stock).String() + "\n" + spare{&c.Spare}.String() // and what is owned
		}
	}
	return p.tasks.get(key, func() (*task, error) {
		t := &task{Prepared: p, Picture: key.picture, card: card, grid: key.picture.After}
		if p.framed() {
			if err := t.surround(c); err != nil {
				return nil, err
			}
		}
		t.scene = sync.OnceValue(func() *place.Scene { return place.NewScene(t.grid, t.eyeDegree()) })
		t.problem, err = quantize.Prepare(t.grid, labs(t.card))
		return t, err
	})
}

// taskKey is all that a task depends on beside its Prepared.
type taskKey struct {
	picture *Picture
	card    *palettes.Card
	avoid   string
}

// framed says whether there is a border or a caption.
func (p *Prepared) framed() bool {
	return p.Layout.Picture != chart.Box{W: p.Layout.Cols, H: p.Layout.Rows}
}

// surround lays border and caption around the picture.
func (t *task) surround(c Choice) error {
	l := t.Layout
	colors := labs(t.card)
	ink, ground, err := t.captionColors(c)
	if err != nil {
		return err
	}
	if t.fixed, err = t.canvas.frameOf(l).Cells(int32(ground), int32(ink), int32(ground)); err != nil {
		return err
	}
	t.grid = lab.NewGrid(l.Cols, l.Rows)
	for i, j := range t.fixed {
		if j >= 0 {
			t.grid.Cells[i] = colors[j].Round()
		}
	}
	for y := range t.After.Rows {
		for x := range t.After.Cols {
			t.grid.Set(l.Picture.X+x, l.Picture.Y+y, t.After.At(x, y))
		}
	}
	return nil
}

// captionColors chooses ink and ground for the caption, as indices of the
// card, among the colors that the choice does not avoid.
func (t *task) captionColors(c Choice) (ink, ground int, err error) {
	avoid, err := indices(t.card, c.Avoid, "avoid")
	if err != nil {
		return -1, -1, err
	}
	if avoid, err = t.tooFewAround(c, avoid); err != nil {
		return -1, -1, err
	}
	border := -1
	if code := t.canvas.Border.Code; code != "" {
		j, err := indices(t.card, []string{code}, "border")
		if err != nil {
			return -1, -1, err
		}
		border = j[0]
	}
	var from []lab.Color
	var at []int
	for j, c := range labs(t.card) {
		if slices.Contains(avoid, j) {
			continue
		}
		if j == border {
			border = len(from)
		}
		from, at = append(from, c), append(at, j)
	}
	if ink, ground, err = chart.CaptionColors(from, mean(t.After), border); err != nil {
		return -1, -1, err
	}
	return at[ink], at[ground], nil
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
func (t *task) onPhoto(i int) bool { return t.fixed == nil || t.fixed[i] < 0 }

// onSubject says whether a cell of the canvas shows the subject; everything on
// the photo does where none is known.
func (t *task) onSubject(i int) bool {
	if !t.onPhoto(i) {
		return false
	}
	if t.Subject == nil {
		return true
	}
	at := t.Layout.Picture
	x, y := i%t.Layout.Cols-at.X, i/t.Layout.Cols-at.Y
	return t.Subject.In[y*at.W+x]
}

// target returns what a chart is judged by.
func (t *task) target() *Target {
	shows := make([]Part, len(t.grid.Cells))
	for i := range shows {
		switch {
		case !t.onPhoto(i):
			shows[i] = OnFrame
		case t.Subject != nil && t.onSubject(i):
			shows[i] = OnSubject
		default:
			shows[i] = OnBackground
		}
	}
	return &Target{t.grid, shows}
}

func labs(c *palettes.Card) []lab.Color {
	out := make([]lab.Color, len(c.Drills))
	for i, d := range c.Drills {
		out[i] = d.Lab
	}
	return out
}
