package kit

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"io"
	"path/filepath"
	"slices"
	"strings"
	"sync"

	"kitwright/internal/say"
	"kitwright/internal/wording"
	"kitwright/palettes"
	"kitwright/photo"
	"kitwright/photo/subject"
)

// Source is a photo read once, and the cards there are to choose from. It
// never changes; several canvases may be laid out from it at once.
type Source struct {
	Photo *photo.Photo
	ref   PhotoRef
	cards *shelf
}

// Open reads a photo. Its base name goes into the kit and, without its ending,
// on the prints. A card that an order names is looked for among own first, by
// its name, and then among the built-in ones. Whoever calls opens the files;
// nothing below does.
func Open(ctx context.Context, r io.Reader, name string, own ...*palettes.Card) (*Source, error) {
	say.Step(ctx, "reading the photo", 0, 0)
	sum := sha256.New()
	ph, err := photo.Read(ctx, io.TeeReader(r, sum), photo.Limits{})
	if err != nil {
		return nil, err
	}
	// The decoder may stop before the end of the file; the sum is of all of it.
	if _, err := io.Copy(sum, r); err != nil {
		return nil, say.Failed("try the file again, or copy it to another place first", "the photo cannot be read to its end: %w", err)
	}
	return &Source{
		Photo: ph,
		ref:   PhotoRef{Name: wording.Printable(filepath.Base(name)), SHA256: hex.EncodeToString(sum.Sum(nil))},
		cards: &shelf{own: own},
	}, ctx.Err()
}

// Lay lays the photo on a canvas, samples it to one color a drill and finds
// the subject: what all choices of colors share.
func (s *Source) Lay(ctx context.Context, c Canvas, l Light) (*Prepared, error) {
	if err := c.check(); err != nil {
		return nil, err
	}
	if err := l.check(); err != nil {
		return nil, err
	}
	p := &Prepared{Photo: s.Photo, canvas: c, light: l, ref: s.ref, cards: s.cards}
	var err error
	if p.Layout, err = c.Lay(s.Photo.Width, s.Photo.Height); err != nil {
		return nil, err
	}
	if !l.NoSubject {
		say.Step(ctx, "looking for the subject", 0, 0)
		if p.outline = subject.Locate(s.Photo, c.part(s.Photo.Width, s.Photo.Height), l.Hints()); p.outline != nil {
			if box := p.outline.Box(); c.CropTo == (Box{}) {
				p.Layout = p.Layout.holding(box)
			} else { // told what has to stay in
				p.Layout.CutsAt = p.Layout.cuts(box)
			}
		}
	}
	say.Step(ctx, "sampling the photo", 0, 0)
	if err := p.sample(); err != nil {
		return nil, err
	}
	return p, ctx.Err()
}

// sample takes from the photo all that is needed of it.
func (p *Prepared) sample() error {
	at := p.Layout.Picture
	p.linear = p.Photo.Linear(p.Layout.Crop, at.W, at.H)
	p.Before = p.linear.Grid()
	if p.outline != nil {
		p.found = p.outline.On(p.Layout.Crop, at.W, at.H)
	}
	p.sharp = p.Photo.Sharpness(p.Layout.Crop, p.linear, p.found)
	if p.outline == nil && len(p.light.Add)+len(p.light.Cut) > 0 {
		return say.Usage("draw an ellipse about your pet with {subject}, as in {subject} 20,10,60,80",
			"{add} and {cut} correct an outline, and there is none: neither transparency nor a plain ground tells the subject")
	}
	if b := p.light.Background; p.found == nil && b.needsSubject() {
		return say.Usage("draw an ellipse about your pet with {subject}, as in {subject} 20,10,60,80",
			"{background} %s needs to know what the subject is, and neither transparency nor a plain ground tells", b.String())
	}
	if p.light.Subject != (Box{}) && !slices.Contains(p.found.In, true) {
		return say.Usage("draw it about all of your pet, on the part of the photo that is charted",
			"no subject could be found by {subject} %s", p.light.Subject.Words())
	}
	return nil
}

// Hints returns what is said about the subject.
func (l Light) Hints() subject.Hints {
	ellipses := func(boxes ...Box) (all []photo.Ellipse) {
		for _, b := range boxes {
			if b != (Box{}) {
				all = append(all, photo.Ellipse(b))
			}
		}
		return all
	}
	return subject.Hints{About: ellipses(l.Subject), Add: ellipses(l.Add...), Cut: ellipses(l.Cut...)}
}

// Make is Open, then Lay, then Kit. What can be refused without the photo is
// refused before it is read.
func Make(ctx context.Context, r io.Reader, name string, o Order, own ...*palettes.Card) (*Kit, error) {
	if err := o.Check(); err != nil {
		return nil, err
	}
	cards := &shelf{own: own}
	card, err := cards.named(o.Card)
	if err != nil {
		return nil, err
	}
	if err := o.CheckOn(card); err != nil {
		return nil, err
	}
	s, err := Open(ctx, r, name, own...)
	if err != nil {
		return nil, err
	}
	p, err := s.Lay(ctx, o.Canvas, o.Light)
	if err != nil {
		return nil, err
	}
	return p.Kit(ctx, o.Choice)
}

// shelf is the cards there are.
type shelf struct {
	own []*palettes.Card

	mu    sync.Mutex
	taken map[string]*palettes.Card // built-in ones that were asked for
}

// named returns the card of a name.
func (s *shelf) named(name string) (*palettes.Card, error) {
	for _, c := range s.own {
		if c.Name == name {
			return c, nil
		}
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if c := s.taken[name]; c != nil {
		return c, nil
	}
	c, err := palettes.Named(name)
	if err != nil {
		return nil, err
	}
	if s.taken == nil {
		s.taken = map[string]*palettes.Card{}
	}
	s.taken[name] = c
	return c, nil
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
