package stash

import (
	"context"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"

	"kitwright/internal/filelock"
	"kitwright/internal/home"
	"kitwright/internal/measure"
	"kitwright/internal/say"
)

// Name is the ledger's name in the folder of a person's data.
const Name = "stash.csv"

// Default returns the usual place of the ledger, "" where the system names
// none.
func Default() string {
	dir := home.Dir(runtime.GOOS, os.Getenv)
	if dir == "" {
		return ""
	}
	return filepath.Join(dir, Name)
}

// Ledger is the stash as it stands in its file.
type Ledger struct {
	path  string
	disk  disk
	notes []string
	*parsed
}

// Open reads a ledger. A file that is not there is an empty one: the first
// entry makes it.
func Open(path string) (*Ledger, error) { return openOn(system{}, path) }

func openOn(d disk, path string) (*Ledger, error) {
	if path == "" {
		return nil, say.Failed("name a file with {stash}", "this system names no folder for your data")
	}
	l := &Ledger{path: path, disk: d}
	if err := l.read(); err != nil {
		return nil, err
	}
	if l.Torn() || len(l.faults) > 0 { // another run may be writing: look again when it has ended
		if unlock, err := d.lock(context.Background(), lockOf(path)); err == nil {
			err = l.read()
			unlock()
			if err != nil {
				return nil, err
			}
		}
	}
	if l.Torn() {
		l.notes = append(l.notes, "the last entry was stopped before it was written to its end, and does not count")
	}
	return l, nil
}

func lockOf(path string) string { return path + ".lock" }

// read reads the file anew.
func (l *Ledger) read() error {
	data, err := l.disk.read(l.path)
	var said *say.Error
	switch {
	case errors.Is(err, fs.ErrNotExist):
		data = nil
	case errors.As(err, &said):
		return err
	case err != nil:
		return say.File("the stash cannot be read", l.path, err)
	}
	p, ok := parse(data)
	if !ok {
		return say.Failed("name another file with {stash}; kitwright stash import reads tables", "%s is no stash: it does not begin with the names of our columns, and no line has our checksum", l.path)
	}
	l.parsed = p
	return nil
}

// Path returns where the ledger lies.
func (l *Ledger) Path() string { return l.path }

// Torn says whether the last entry was stopped while it was written.
func (l *Ledger) Torn() bool { return l.good < len(l.data) }

// Notes returns what was found or mended at the end of the file, a sentence
// each.
func (l *Ledger) Notes() []string { return l.notes }

// Faults returns what is broken, by its line. It does not count.
func (l *Ledger) Faults() []Fault { return l.faults }

// Lots returns what is owned, and what was once, in order.
func (l *Ledger) Lots() []Lot {
	lots := make([]Lot, 0, len(l.lots))
	for i, lot := range l.lots {
		if l.seen[i] {
			lots = append(lots, lot)
		}
	}
	slices.SortFunc(lots, func(a, b Lot) int { return Compare(a.Key, b.Key) })
	return lots
}

// Lot returns what is owned of a key.
func (l *Ledger) Lot(k Key) Lot {
	if l.at == nil {
		l.at = make(map[Key]int, len(l.lots))
		for i, lot := range l.lots {
			l.at[lot.Key] = i
		}
	}
	if i, ok := l.at[k]; ok {
		return l.lots[i]
	}
	return Lot{Key: k}
}

// Owned returns the drills that are owned of a card in one shape and size, by
// the address of their color. Cards are told by their name, in capitals or
// not.
func (l *Ledger) Owned(card, shape string, size measure.Length) map[string]int {
	owned := map[string]int{}
	for _, lot := range l.lots {
		if lot.Drills > 0 && lot.Shape == shape && lot.Size == size && strings.EqualFold(lot.Card, card) {
			owned[lot.Address()] += lot.Drills
		}
	}
	return owned
}

// Cards returns the names of the cards that lots are of, in order.
func (l *Ledger) Cards() (names []string) {
	for _, lot := range l.Lots() {
		if !slices.Contains(names, lot.Card) {
			names = append(names, lot.Card)
		}
	}
	return names
}

// busy says that another run holds the ledger.
func busy(path string, err error) error {
	if errors.Is(err, filelock.ErrLocked) {
		return say.Failed("let it end, then try again", "another run is writing in %s", path)
	}
	return say.File("the stash cannot be locked", lockOf(path), err)
}
