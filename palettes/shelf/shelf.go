// Package shelf keeps a crafter's own cards under names of hers, as CSV files
// in a folder that she can open, copy and carry to another machine.
//
// Begin with [Shelf]: its zero value but for Dir is ready. Nothing is ever
// overwritten, and what is removed goes to a trash folder beside the cards.
package shelf

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"kitwright/internal/say"
	"kitwright/palettes"
)

// Shelf is a folder of cards. It is made when the first card is added.
type Shelf struct {
	Dir string // the folder of all that kitwright keeps; cards lie in its folder "cards"
}

// maxName is how many characters a name may have.
const maxName = 40

// CheckName says what is wrong with a name for a card: it becomes a file's
// name on any system, and must not hide a built-in card.
func CheckName(name string) error {
	const try = "use letters, digits, - and _, such as my-drills"
	if name == "" || utf8.RuneCountInString(name) > maxName {
		return say.Usage(try, "a card's name has 1 to %d characters", maxName)
	}
	for i, c := range name {
		if !unicode.IsLetter(c) && !unicode.IsDigit(c) && (i == 0 || c != '-' && c != '_') {
			return say.Usage(try, "%q cannot be a card's name", name)
		}
	}
	for _, taken := range append(palettes.Names(), "con", "prn", "aux", "nul", "com1", "com2", "com3", "com4", "lpt1", "lpt2", "lpt3") {
		if strings.EqualFold(name, taken) {
			return say.Usage("choose another name", "the name %q is taken", name)
		}
	}
	return nil
}

func (s Shelf) cards() string { return filepath.Join(s.Dir, "cards") }

// file returns the file of a card, whichever way its name is capitalized.
func (s Shelf) file(name string) (string, bool) {
	for _, n := range s.Names() {
		if strings.EqualFold(n, name) {
			return filepath.Join(s.cards(), n+".csv"), true
		}
	}
	return filepath.Join(s.cards(), name+".csv"), false
}

// Names returns the names of all cards, in order of the alphabet.
func (s Shelf) Names() []string {
	if s.Dir == "" {
		return nil
	}
	entries, err := os.ReadDir(s.cards())
	if err != nil {
		return nil // no shelf yet
	}
	var names []string
	for _, e := range entries {
		name, csv := strings.CutSuffix(e.Name(), ".csv")
		if csv && e.Type().IsRegular() && CheckName(name) == nil {
			names = append(names, name)
		}
	}
	slices.Sort(names)
	return names
}

// Has says whether a card of this name is kept.
func (s Shelf) Has(name string) bool {
	_, has := s.file(name)
	return has
}

// Open reads a card.
func (s Shelf) Open(name string) (*palettes.Card, error) {
	path, has := s.file(name)
	if !has {
		return nil, say.Usage("kitwright card list names them", "you keep no card called %q", name)
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, diskError("the card cannot be opened", path, err)
	}
	defer f.Close()
	return palettes.Read(strings.TrimSuffix(filepath.Base(path), ".csv"), f)
}

// Add keeps a card. A card of that name that is kept already is left alone
// and said, unless replace is set: then it goes to the trash first.
func (s Shelf) Add(name string, card *palettes.Card, replace bool) (path string, err error) {
	if err := s.ready(); err != nil {
		return "", err
	}
	if err := CheckName(name); err != nil {
		return "", err
	}
	path, has := s.file(name)
	if has && !replace {
		return "", say.Failed("choose another name, or replace it with {force}: the old one goes to the trash", "you keep a card called %q already", name)
	}
	if err := os.MkdirAll(s.cards(), 0o755); err != nil {
		return "", diskError("the folder for your cards cannot be made", s.cards(), err)
	}
	tmp, err := os.CreateTemp(s.cards(), ".new-*")
	if err != nil {
		return "", diskError("the card cannot be written", path, err)
	}
	defer os.Remove(tmp.Name()) // gone already after the rename
	if err := errors.Join(card.WriteCSV(tmp), tmp.Sync(), tmp.Chmod(0o644), tmp.Close()); err != nil {
		return "", diskError("the card cannot be written", path, err)
	}
	if has {
		if _, err := s.Remove(name); err != nil {
			return "", err
		}
		path = filepath.Join(s.cards(), name+".csv")
		err = os.Rename(tmp.Name(), path)
	} else {
		err = newFile(tmp.Name(), path)
	}
	if errors.Is(err, fs.ErrExist) { // another run was quicker
		return "", say.Failed("choose another name", "you keep a card called %q already", name)
	}
	if err != nil {
		return "", diskError("the card cannot be written", path, err)
	}
	return path, nil
}

// newFile gives a finished file its name, never over another. Where the disk
// knows no second name for a file, it is copied.
func newFile(from, to string) error {
	err := os.Link(from, to)
	if err == nil || errors.Is(err, fs.ErrExist) {
		return err
	}
	in, err := os.Open(from)
	if err != nil {
		return err
	}
	defer in.Close()
	out, err := os.OpenFile(to, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if err != nil {
		return err
	}
	_, err = io.Copy(out, in)
	if err = errors.Join(err, out.Sync(), out.Close()); err != nil {
		_ = os.Remove(to)
	}
	return err
}

// Remove moves a card to the trash and returns where it lies there.
func (s Shelf) Remove(name string) (string, error) {
	if err := s.ready(); err != nil {
		return "", err
	}
	path, has := s.file(name)
	if !has {
		return "", say.Usage("kitwright card list names them; built-in cards stay", "you keep no card called %q", name)
	}
	trash := filepath.Join(s.Dir, "trash")
	if err := os.MkdirAll(trash, 0o755); err != nil {
		return "", diskError("the trash folder cannot be made", trash, err)
	}
	base := strings.TrimSuffix(filepath.Base(path), ".csv")
	for i := 1; ; i++ {
		to := filepath.Join(trash, fmt.Sprintf("%s-%d.csv", base, i))
		switch err := newFile(path, to); {
		case errors.Is(err, fs.ErrExist):
			continue
		case err != nil:
			return "", diskError("the card cannot be moved to the trash", path, err)
		}
		if err := os.Remove(path); err != nil {
			return "", diskError("the card cannot be taken off the shelf; a copy lies in the trash", path, err)
		}
		return to, nil
	}
}

func (s Shelf) ready() error {
	if s.Dir == "" {
		return say.Failed("name a folder with {home}", "this system names no folder for your data")
	}
	return nil
}

// diskError says what the disk refused, in the system's words.
func diskError(what, path string, err error) error {
	reason := err
	var at *fs.PathError
	if errors.As(err, &at) {
		reason = at.Err
	}
	return say.Failed("check the place and the space on it, or name another folder with {home}", "%s: %s (%w)", what, path, reason)
}
