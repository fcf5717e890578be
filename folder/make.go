package folder

import (
	"context"
	"errors"
	"os"
	"path/filepath"

	"kitwright/internal/say"
	"kitwright/kit"
	"kitwright/render"
)

// Made is a kit whose files are written.
type Made struct {
	Job
	Files  []Output
	Edited bool       // whether changes by hand of the kit it replaces were made again
	Left   []kit.Edit // those of them that did not fit any more
	Apart  bool       // what was ticked off in the kit it replaces stays with that one: the picture is another, or its grid
}

// MakeKit makes a kit of a photo laid out, and writes its files into a folder
// in the making. What was changed by hand in the kit that stands at its place
// is changed again, unless discard is set; what was ticked off stays ticked, and
// what she calls the colors is kept.
func MakeKit(ctx context.Context, dir *Making, prep *kit.Prepared, c kit.Choice, p render.Print, discard bool) (*Made, error) {
	earlier, err := earlierEdits(dir.Dest(), discard)
	if err != nil {
		return nil, err
	}
	card, err := prep.Card(c)
	if err != nil {
		return nil, err
	}
	if err := p.CheckLayout(prep.Layout, card, c.Colors); err != nil { // before the work, not after it
		return nil, err
	}
	k, err := prep.Kit(ctx, c)
	if err != nil {
		return nil, err
	}
	m := &Made{Edited: earlier != nil}
	if m.Edited {
		if k, m.Left, err = k.Replay(earlier, card); err != nil {
			return nil, err
		}
	}
	k.YourCodes = earlierCodes(dir.Dest())
	if err := p.Check(k); err != nil {
		return nil, err
	}
	k.Print = p.Settings()
	m.Job = Job{Kit: k, Print: p, Prepared: prep, Picture: prep.Picture(c)}
	if m.Progress, m.Apart, err = earlierProgress(dir.Dest(), k); err != nil {
		return nil, err
	}
	m.Files = OutputsOf(m.Job)
	return m, WriteAll(ctx, dir, m.Files, m.Job)
}

// earlierCodes returns what she calls the colors of the kit that is to be
// replaced. One that cannot be read has none to give.
func earlierCodes(dest string) map[string]string {
	f, err := os.Open(filepath.Join(dest, kitKey))
	if err != nil {
		return nil
	}
	defer f.Close()
	if k, err := kit.ReadJSON(f); err == nil {
		return k.YourCodes
	}
	return nil
}

// earlierEdits returns what was changed by hand in the kit that is to be
// replaced, nil where there is none or it is to be left out.
func earlierEdits(dest string, discard bool) (*kit.Edits, error) {
	if _, err := os.Stat(filepath.Join(dest, kit.EditsFile)); err != nil || discard {
		return nil, nil // no such kit, or none that was changed
	}
	old, err := Read(dest)
	if err != nil {
		var said *say.Error
		if errors.As(err, &said) {
			return nil, said.At("what was changed by hand in %s cannot be read; {discard-edits} leaves it out", dest)
		}
		return nil, err
	}
	return old.Edits, nil
}
