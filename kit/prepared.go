package kit

import (
	"context"
	"slices"
	"sync"

	"kitwright/chart"
	"kitwright/lab"
	"kitwright/palettes"
	"kitwright/photo"
	"kitwright/photo/subject"
)

// Prepared is what all choices of colors for one photo on one canvas share.
// It never changes, but for what it remembers of the choices it was asked for;
// several goroutines may ask at once. Nothing that a [Choice] says is in it,
// so that no choice can contradict it.
type Prepared struct {
	Layout Layout
	Photo  *photo.Photo
	Before *lab.Grid // the picture before the tone

	canvas  Canvas
	light   Light
	ref     PhotoRef
	cards   *shelf
	linear  *photo.Linear    // the picture before the tone, as light
	outline *subject.Outline // of the subject, on the whole photo; nil = not known
	found   *photo.Mask      // the same on the picture, without what a focus circles
	sharp   photo.Sharpness

	mu       sync.Mutex
	pictures recent[string, *Picture]
	tasks    recent[taskKey, *task]
}

// Title returns the title on every print: the canvas's, or the photo's name.
func (p *Prepared) Title() string {
	if p.canvas.Title != "" {
		return p.canvas.Title
	}
	return titleOf(p.ref.Name)
}

// Drill returns the drills that the canvas is made of.
func (p *Prepared) Drill() Drill { return p.canvas.drill() }

// Card returns the card that a choice names.
func (p *Prepared) Card(c Choice) (*palettes.Card, error) { return p.cards.named(c.Card) }

// Kit chooses the colors, sets the drills and names them. Where the search
// was ended early, the kit is made from the best found. The photo is neither
// decoded nor sampled again, and what an earlier choice shares is not computed
// again.
func (p *Prepared) Kit(ctx context.Context, c Choice) (*Kit, error) {
	settings := Order{p.canvas, p.light, c}.Settings() // as ordered: auto stays auto
	t, err := p.task(c)
	if err != nil {
		return nil, err
	}
	var notes []string
	if c.Colors == AutoColors {
		var note string
		if c.Colors, note, err = t.auto(ctx, c); err != nil {
			return nil, err
		}
		if note != "" {
			notes = append(notes, note)
		}
	}
	d, err := t.design(ctx, c)
	if err != nil {
		return nil, err
	}
	if !c.Own { // what is owned says what it costs
		far, err := t.farFromCard(c.Avoid)
		if err != nil {
			return nil, err
		}
		if far != "" {
			notes = append(notes, far)
		}
	}
	if note := d.ruled.words(c.Colors); note != "" {
		notes = append(notes, note)
	}
	made, err := chart.New(t.grid.Cols, t.grid.Rows, t.card, d.chosen, d.cells)
	if err != nil {
		return nil, err
	}
	if c.Turned {
		made.Turn()
	}
	target := t.target()
	own, err := t.own(ctx, c, d, d.fixed, target, made)
	if err != nil {
		return nil, err
	}
	return &Kit{
		Own:     own,
		Title:   p.Title(),
		Order:   settings,
		Drill:   p.Drill(),
		Pitch:   p.Layout.Pitch,
		Card:    CardRef{Name: t.card.Name, SHA256: t.card.SHA256(), Builtin: t.card.Builtin},
		Chart:   made,
		Quality: t.judge(target, made, d),
		Photo:   p.ref,
		Tone:    t.Tone,
		Advice:  slices.Concat(sentences(t.Advice), notes, tooRare(d.left, c.Least, t.card), unused(c.Keep, c.Least, t.card, made)),
		Stopped: d.stopped,

		Target: target, TargetSum: target.Sum(),
	}, ctx.Err()
}

// recent remembers the last two answers to questions that a slider going back
// and forth asks again and again.
type recent[K comparable, V any] struct{ asked []answer[K, V] }

type answer[K comparable, V any] struct {
	key   K
	value V
}

// get returns the answer, making it unless it is remembered.
func (r *recent[K, V]) get(key K, make func() (V, error)) (V, error) {
	for _, a := range r.asked {
		if a.key == key {
			return a.value, nil
		}
	}
	v, err := make()
	if err != nil {
		return v, err
	}
	r.asked = append([]answer[K, V]{{key, v}}, r.asked[:min(1, len(r.asked))]...)
	return v, nil
}
