package kit

import (
	"fmt"
	"slices"
	"strings"

	"kitwright/chart"
	"kitwright/chart/symbols"
	"kitwright/internal/say"
	"kitwright/palettes"
)

// Act is what an edit does.
type Act string

// The acts. Undo and redo are edits like the others: nothing is ever taken out
// of a log.
const (
	Swap Act = "swap" // every drill of one color gets another
	Set  Act = "set"  // some drills get a color
	Undo Act = "undo" // the last edit in force no longer is
	Redo Act = "redo" // the last one undone is in force again
)

// Edit is what was wanted of a chart, by code and place, so that it can be
// done again on a kit that was made anew.
type Edit struct {
	Act  Act
	From string         // Swap: the address of the color that goes
	Area chart.Box      // Set: the drills, from the top left
	To   palettes.Drill // Swap, Set: the color that comes
	Left bool           // it did not fit a kit made anew, and was left out
	With bool           // one stroke with the edit before it: what undoes one undoes both
}

// String says an edit as it is asked for.
func (e Edit) String() string {
	switch e.Act {
	case Swap:
		return fmt.Sprintf("swap %s=%s", e.From, e.To.Address())
	case Set:
		place := fmt.Sprintf("%d,%d", e.Area.X+1, e.Area.Y+1)
		if e.Area.W > 1 || e.Area.H > 1 {
			place += fmt.Sprintf(":%d,%d", e.Area.X+e.Area.W, e.Area.Y+e.Area.H)
		}
		return fmt.Sprintf("set %s=%s", place, e.To.Address())
	}
	return string(e.Act)
}

// Edits are the edits of a kit and the kit as it was made, which they begin
// from.
type Edits struct {
	Made *Kit // without edits
	Log  []Edit
}

// InForce returns the edits that shape the chart, in their order.
func (e *Edits) InForce() []Edit {
	force, _ := e.fold()
	return force
}

// fold plays the log: what is in force, and what was undone and can be redone.
func (e *Edits) fold() (force, undone []Edit) {
	if e == nil {
		return nil, nil
	}
	for _, x := range e.Log {
		switch {
		case x.Left:
		case x.Act == Undo:
			for n, more := len(force), true; n > 0 && more; n-- {
				more = force[n-1].With
				force, undone = force[:n-1:n-1], append(undone, force[n-1])
			}
		case x.Act == Redo:
			for n, more := len(undone), true; n > 0 && more; n-- {
				force, undone = append(force, undone[n-1]), undone[:n-1:n-1]
				more = n > 1 && undone[n-2].With
			}
		default:
			force, undone = append(force, x), nil
		}
	}
	return force, undone
}

// Edit returns the kit after more edits. The log grows by them; counts,
// numbers, symbols and the figures of the quality follow. The kit itself stays
// as it is.
func (k *Kit) Edit(more ...Edit) (*Kit, error) {
	edits := &Edits{Made: k}
	if k.Edits != nil {
		edits = &Edits{Made: k.Edits.Made, Log: slices.Clone(k.Edits.Log)}
	}
	for _, e := range more {
		force, undone := edits.fold()
		switch {
		case e.Act == Undo && len(force) == 0:
			return nil, say.Usage("kitwright edit KIT {list} shows what was done", "there is no edit to undo")
		case e.Act == Redo && len(undone) == 0:
			return nil, say.Usage("kitwright edit KIT {list} shows what was done", "there is no edit to redo")
		}
		edits.Log = append(edits.Log, e)
	}
	var out *Kit
	var err error
	if slices.ContainsFunc(more, func(e Edit) bool { return e.Act == Undo || e.Act == Redo }) {
		out, err = edits.play()
	} else { // what is in force is in the chart already: the same as playing all of it
		out, err = edits.on(k, more)
	}
	if err != nil {
		return nil, err
	}
	out.Print, out.YourCodes = k.Print, k.YourCodes
	return out, nil
}

// Replay returns a kit made anew with the edits of an earlier one done again,
// and names those that do not fit: their color or place is not there, or the
// card has the code no more. They stay in the log as left out.
func (k *Kit) Replay(earlier *Edits, card *palettes.Card) (out *Kit, left []Edit, err error) {
	edits := &Edits{Made: k}
	sameGrid := earlier.Made.Chart.Cols == k.Chart.Cols && earlier.Made.Chart.Rows == k.Chart.Rows
	for _, e := range earlier.Log {
		if e.Left {
			edits.Log = append(edits.Log, e)
		}
	}
	headless := false // the first edit of a stroke was left out
	for _, e := range earlier.InForce() {
		e.With = e.With && !headless
		i, ok := card.Index(e.To.Address())
		if ok {
			e.To = card.Drills[i]
		}
		edits.Log = append(edits.Log, e)
		if ok && (e.Act == Swap || sameGrid) {
			if _, err := edits.play(); err == nil {
				headless = false
				continue
			}
		}
		headless = !e.With
		e.Left = true
		edits.Log[len(edits.Log)-1] = e
		left = append(left, e)
	}
	out, err = edits.play()
	return out, left, err
}

// play makes the kit that the edits make of the one they begin from.
func (e *Edits) play() (*Kit, error) { return e.on(e.Made, e.InForce()) }

// on makes the kit that more edits make of another.
func (e *Edits) on(from *Kit, more []Edit) (*Kit, error) {
	k := *from
	k.Edits = e
	for _, x := range more {
		c, err := x.on(k.Chart)
		if err != nil {
			return nil, err
		}
		k.Chart = c
	}
	if len(more) > 0 && k.Target != nil {
		if err := k.Judge(); err != nil {
			return nil, err
		}
	}
	return &k, nil
}

// on returns the chart after the edit.
func (e Edit) on(c *chart.Chart) (*chart.Chart, error) {
	drills := make([]palettes.Drill, len(c.Legend), len(c.Legend)+1)
	from := -1
	for i, l := range c.Legend {
		drills[i] = l.Drill
		if l.Drill.Address() == e.From {
			from = i
		}
	}
	to := uint16(slices.IndexFunc(drills, func(d palettes.Drill) bool { return d.Address() == e.To.Address() }))
	if int(to) >= len(drills) { // not there yet
		to = uint16(len(drills))
		drills = append(drills, e.To)
	}
	cells := slices.Clone(c.Cells)
	switch e.Act {
	case Swap:
		if from < 0 {
			return nil, say.Usage("kit.csv lists the colors of the kit", "no drill of the kit has the color %s", e.From)
		}
		for i, v := range cells {
			if int(v) == from {
				cells[i] = to
			}
		}
	case Set:
		a := e.Area
		if a.X < 0 || a.Y < 0 || a.W < 1 || a.H < 1 || a.X+a.W > c.Cols || a.Y+a.H > c.Rows {
			return nil, say.Usage(say.Hint("columns run from 1 to %d and rows from 1 to %d", c.Cols, c.Rows), "%s lies outside the picture", e)
		}
		for y := a.Y; y < a.Y+a.H; y++ {
			for x := a.X; x < a.X+a.W; x++ {
				cells[y*c.Cols+x] = to
			}
		}
	}
	out, err := chart.Recolor(c, drills, cells)
	if err != nil {
		return nil, say.Usage(say.Hint("a kit has at most %d colors: swap one that is there", symbols.Max), "%s cannot be done: %w", e, err)
	}
	return out, nil
}

// Find returns the drill that an address means: one of the legend, or one of
// the card, which may be nil.
func (k *Kit) Find(address string, card *palettes.Card) (palettes.Drill, error) {
	all := &palettes.Card{Name: k.Card.Name}
	for _, e := range k.Chart.Legend {
		all.Drills = append(all.Drills, e.Drill)
	}
	if i, ok := all.Index(strings.TrimSpace(address)); ok {
		return all.Drills[i], nil
	}
	if card == nil {
		return palettes.Drill{}, say.Usage(say.Hint("the kit was made from the card %q: give it with %s", k.Card.Name, say.Setting("card")),
			"no drill of the kit has the color %q", address)
	}
	if i, ok := card.Index(strings.TrimSpace(address)); ok {
		return card.Drills[i], nil
	}
	return palettes.Drill{}, say.Usage(say.Hint("kitwright card show %s lists its codes", card.Name), "the card %q has no color %q", card.Name, address)
}

// CanRedo says whether there is an edit that was undone and can be in force
// again.
func (e *Edits) CanRedo() bool {
	_, undone := e.fold()
	return len(undone) > 0
}
