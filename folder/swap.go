package folder

import (
	"os"
	"path/filepath"
)

// place is where a folder will stand, with the names around it.
type place struct {
	disk *disk
	dest string
}

func (p place) making(id string) string { return p.dest + ".new-" + id } // where it is built
func (p place) old(id string) string    { return p.dest + ".old-" + id } // what gives way
func (p place) before() string          { return p.dest + ".before" }    // the one it replaces

// swap puts what was built in its place.
func (p place) swap(id string, m mode) error {
	if m == next {
		if err := p.disk.rename(p.before(), p.old(id)); err != nil {
			return err
		}
	}
	switch m {
	case first, next:
		if err := p.disk.rename(p.dest, p.before()); err != nil {
			return err
		}
	case again:
		if err := p.disk.rename(p.dest, p.old(id)); err != nil {
			return err
		}
	}
	return p.disk.rename(p.making(id), p.dest)
}

// unswap takes back whatever swap did before it ended, and may itself be
// stopped and called again.
func (p place) unswap(id string, m mode) error {
	aside := ""
	switch m {
	case first:
		aside = p.before()
	case next:
		if exists(p.old(id)) { // otherwise nothing was moved yet
			aside = p.before()
		}
	case again:
		aside = p.old(id)
	}
	if aside != "" && exists(aside) && !exists(p.dest) {
		if err := p.disk.rename(aside, p.dest); err != nil {
			return err
		}
	}
	if m == next && exists(p.old(id)) && !exists(p.before()) {
		return p.disk.rename(p.old(id), p.before())
	}
	return nil
}

// recover tidies up after a run that ended without removing its journal: what
// it did not finish is taken back, what it gave up is removed. It says whether
// what stands at the place comes from a run that never ended, so that the one
// put aside for it must not give way to the next.
func (p place) recover(j *journal) (doubt bool, err error) {
	last, stands := j.last, exists(p.dest)
	switch last.state {
	case making:
		removeOurs(p.disk, p.making(last.id))
		return last.doubt && stands, nil
	case swapping:
		if exists(p.making(last.id)) || !stands {
			// Said first: once what was built is gone, it would look as if it stood.
			if err := j.add(string(undoing)); err != nil {
				return false, err
			}
			return p.takeBack(last)
		}
	case undoing:
		return p.takeBack(last)
	case "":
		return false, nil
	}
	if stands && last.mode != plain {
		removeOurs(p.disk, p.old(last.id))
	}
	return stands && exists(p.before()), nil
}

func (p place) takeBack(last record) (doubt bool, err error) {
	if err := p.unswap(last.id, last.mode); err != nil {
		return false, err
	}
	removeOurs(p.disk, p.making(last.id))
	return last.doubt && exists(p.dest), nil
}

// removeOurs removes a folder with the files we write, or one such file. What
// else is in it stays, and the folder with it.
func removeOurs(d *disk, path string) (gone bool) {
	info, err := os.Lstat(path)
	if err != nil {
		return os.IsNotExist(err)
	}
	if info.IsDir() {
		for _, k := range []Kind{Kits, Ladders} {
			names, _ := k.named(path) // what cannot be read cannot be removed either
			for _, name := range names {
				_ = d.remove(filepath.Join(path, name)) // what stays keeps the folder from going
			}
		}
	}
	return d.remove(path) == nil
}
