package kit

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"io"
	"path/filepath"
	"slices"
	"strings"

	"kitwright/chart"
	"kitwright/internal/measure"
	"kitwright/internal/say"
	"kitwright/internal/wording"
	"kitwright/lab"
	"kitwright/palettes"
	"kitwright/photo"
	"kitwright/photo/tone"
	"kitwright/quantize"
)

// Input is what an order is made from. Whoever calls opens it; nothing below
// opens files.
type Input struct {
	Photo     io.Reader
	PhotoName string // the base name goes into the kit and, without its ending, on the prints
	Card      *palettes.Card
}

// Prepared is what all color counts of one photo share: the target grid and
// what it costs to show each part of it in each color.
type Prepared struct {
	Layout  Layout
	Photo   *photo.Photo
	Subject *photo.Mask // cells of the picture; nil = not known
	Tone    tone.Changes
	Before  *lab.Grid // the picture before the tone
	Target  *lab.Grid // of the whole canvas: the toned picture, with border and caption
	Advice  []photo.Advice

	ref     PhotoRef
	card    *palettes.Card
	fixed   []int32 // a cell: index of the card, or -1 where the photo is; nil without border and caption
	problem *quantize.Problem
}

// Prepare reads the photo, lays it on the canvas and samples it to one color
// a drill.
func Prepare(ctx context.Context, in Input, o Order) (*Prepared, error) {
	if err := o.Check(); err != nil {
		return nil, err
	}
	if n := len(in.Card.Drills); o.Colors > n {
		return nil, say.Usage(say.Hint("ask for {colors} %d or fewer, or use a larger card", n),
			"the card %q has %d colors, fewer than the %d asked for", in.Card.Name, n, o.Colors)
	}

	say.Step(ctx, "reading the photo", 0, 0)
	sum := sha256.New()
	ph, err := photo.Read(ctx, io.TeeReader(in.Photo, sum), photo.Limits{})
	if err != nil {
		return nil, err
	}
	// The decoder may stop before the end of the file; the sum is of all of it.
	if _, err := io.Copy(sum, in.Photo); err != nil {
		return nil, say.Failed("try the file again, or copy it to another place first", "the photo cannot be read to its end: %w", err)
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}

	p := &Prepared{
		Photo: ph,
		ref:   PhotoRef{Name: filepath.Base(in.PhotoName), SHA256: hex.EncodeToString(sum.Sum(nil))},
		card:  in.Card,
	}
	if p.Layout, err = o.Lay(ph.Width, ph.Height); err != nil {
		return nil, err
	}
	say.Step(ctx, "sampling the photo", 0, 0)
	if err := p.stage(o); err != nil {
		return nil, err
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	p.problem, err = quantize.Prepare(p.Target, labs(p.card))
	return p, err
}

// Kit chooses the colors, sets the drills and names them. Where the search
// was ended early, the kit is made from the best found.
func (p *Prepared) Kit(ctx context.Context, o Order) (*Kit, error) {
	settings := o.Settings() // as ordered: auto stays auto
	if o.Colors == AutoColors {
		pick, err := p.Pick(ctx, o)
		if err != nil {
			return nil, err
		}
		o.Colors = pick.Colors
	}
	d, err := p.design(ctx, o)
	if err != nil {
		return nil, err
	}
	c, err := chart.New(p.Target.Cols, p.Target.Rows, p.card, d.chosen, d.cells)
	if err != nil {
		return nil, err
	}
	return &Kit{
		Title:   p.Title(o),
		Order:   settings,
		Drill:   o.drill(),
		Pitch:   p.Layout.Pitch,
		Card:    CardRef{Name: p.card.Name, SHA256: p.card.SHA256(), Builtin: p.card.Builtin},
		Chart:   c,
		Quality: p.judge(c, d),
		Photo:   p.ref,
		Tone:    p.Tone,
		Advice:  append(p.advice(), unused(o.Keep, p.card, c)...),
		Stopped: d.stopped,
	}, ctx.Err()
}

// unused says which of the codes that had to be kept no drill has.
func unused(keep []string, card *palettes.Card, c *chart.Chart) (notes []string) {
	for _, code := range keep {
		j, ok := card.Index(code)
		if ok && !slices.ContainsFunc(c.Legend, func(e chart.Entry) bool { return e.Drill.Address() == card.Drills[j].Address() }) {
			notes = append(notes, code+" was kept, but no drill of this photo comes out in it, so it is not in the kit.")
		}
	}
	return notes
}

// Builtin says whether the card is a built-in one: reference colors.
func (p *Prepared) Builtin() bool { return p.card.Builtin }

// Choices returns how many colors the card has.
func (p *Prepared) Choices() int { return len(p.card.Drills) }

// Title returns the title on every print: the order's, or the photo's name.
func (p *Prepared) Title(o Order) string {
	if o.Title != "" {
		return o.Title
	}
	return titleOf(p.ref.Name)
}

// titleOf makes a title of a file's name: without its ending, and without what
// cannot be printed, which file systems let into names.
func titleOf(name string) string {
	base := strings.TrimSuffix(name, filepath.Ext(name))
	if base == "" {
		base = name
	}
	words := []rune(wording.Printable(base))
	return string(words[:min(len(words), wording.Title.Most())])
}

// Make is Prepare, then Kit.
func Make(ctx context.Context, in Input, o Order) (*Kit, error) {
	p, err := Prepare(ctx, in, o)
	if err != nil {
		return nil, err
	}
	return p.Kit(ctx, o)
}

// drill returns the drills of an order: the size they are sold in, common
// practice, no source; never larger than the pitch leaves room for.
func (o Order) drill() Drill {
	size := 2500 * measure.Micrometer
	if o.Drill == Round {
		size = 2800 * measure.Micrometer
	}
	return Drill{Shape: o.Drill, Size: min(size, o.pitch())}
}

// Bare returns a kit without a chart: only the drills that an order asks for.
func (o Order) Bare() *Kit { return &Kit{Drill: o.drill(), Pitch: o.pitch()} }

func labs(c *palettes.Card) []lab.Color {
	out := make([]lab.Color, len(c.Drills))
	for i, d := range c.Drills {
		out[i] = d.Lab
	}
	return out
}
