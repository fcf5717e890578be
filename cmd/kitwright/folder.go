package main

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"

	"kitwright/internal/say"
)

// folder is a kit folder in the making. It is built as NAME.new beside the
// place it is for, and takes that place whole or not at all. An older kit that
// it replaces is kept as NAME.before.
type folder struct {
	dest   string // where it will stand
	making string // where it is built

	replaces bool        // whether something stood at dest, to be put aside
	mark     os.FileInfo // of the mark: another run for the same place has another
}

// unfinished marks a folder in the making as ours, so that what a broken run
// left behind can be told from what belongs to the user.
const unfinished = ".unfinished"

// newFolder begins a folder that will stand at dest. The key is a name that
// every folder of this kind holds; may says whether a name is one we write.
// An existing folder is refused, unless force is set and the folder is ours.
func newFolder(dest, key string, may func(name string) bool, force bool) (*folder, error) {
	dest = filepath.Clean(dest)
	f := &folder{dest: dest, making: dest + ".new"}
	before := dest + ".before"

	// A run that broke between the two renames left an older folder aside and
	// none in its place: put that back. One that broke after them only left
	// its mark.
	if !exists(dest) && exists(filepath.Join(f.making, unfinished)) && ours(before, key, may) == nil {
		if err := os.Rename(before, dest); err != nil {
			return nil, fileError("the folder from before cannot be put back", before, err)
		}
	}
	if ours(dest, key, may) == nil {
		_ = os.Remove(filepath.Join(dest, unfinished))
	}
	if f.replaces = exists(dest); f.replaces {
		if !force {
			return nil, say.Failed("choose another place with --out, or replace it with --force", "%s exists already", dest)
		}
		if err := ours(dest, key, may); err != nil {
			return nil, err
		}
		if exists(before) {
			if err := ours(before, key, may); err != nil {
				return nil, err
			}
		}
	}
	if exists(f.making) {
		if !exists(filepath.Join(f.making, unfinished)) {
			return nil, say.Failed("move it away", "%s is in the way and is not ours", f.making)
		}
		if err := os.RemoveAll(f.making); err != nil {
			return nil, fileError("an unfinished kit cannot be removed", f.making, err)
		}
	}
	if err := os.MkdirAll(filepath.Dir(dest), 0o777); err != nil {
		return nil, fileError("the folder cannot be made", filepath.Dir(dest), err)
	}
	if err := os.Mkdir(f.making, 0o777); err != nil {
		return nil, fileError("the folder cannot be made", f.making, err)
	}
	mark := filepath.Join(f.making, unfinished)
	err := os.WriteFile(mark, nil, 0o666)
	if err == nil {
		f.mark, err = os.Lstat(mark)
	}
	if err != nil {
		_ = os.RemoveAll(f.making)
		return nil, fileError("nothing can be written", f.making, err)
	}
	return f, nil
}

// mine says whether the folder in the making is still the one this run began.
func (f *folder) mine() bool {
	now, err := os.Lstat(filepath.Join(f.making, unfinished))
	return err == nil && os.SameFile(now, f.mark) && now.ModTime().Equal(f.mark.ModTime())
}

// ours returns an error unless dir is a folder that holds the key and only
// names that we write.
func ours(dir, key string, may func(string) bool) error {
	const keep = "choose another place with --out"
	entries, err := os.ReadDir(dir)
	if err != nil {
		return say.Failed(keep, "%s is not a folder that we made", dir)
	}
	found := false
	for _, e := range entries {
		if e.Name() == unfinished {
			continue
		}
		if e.IsDir() || !may(e.Name()) {
			return say.Failed(keep+", or move that away", "%s holds %s, which we did not write, so it is not replaced", dir, e.Name())
		}
		found = found || e.Name() == key
	}
	if !found {
		return say.Failed(keep, "%s holds no %s, so it is not a folder that we made", dir, key)
	}
	return nil
}

func exists(path string) bool {
	_, err := os.Lstat(path)
	return err == nil
}

// write makes one file of the folder.
func (f *folder) write(name string, content func(io.Writer) error) error {
	path := filepath.Join(f.making, name)
	out, err := os.Create(path)
	if err != nil {
		return fileError("the file cannot be written", filepath.Join(f.dest, name), err)
	}
	return fill(out, filepath.Join(f.dest, name), content)
}

// fill writes a file, through to the disk, and closes it. Its errors name the
// path that the file is for.
func fill(out *os.File, path string, content func(io.Writer) error) error {
	w := &diskWriter{file: out}
	err := content(w)
	if err == nil && w.err == nil {
		w.err = out.Sync()
	}
	if cerr := out.Close(); w.err == nil {
		w.err = cerr
	}
	if w.err != nil {
		return fileError("the file cannot be written", path, w.err)
	}
	return err
}

// diskWriter remembers the disk's own error, whatever is made of it above.
type diskWriter struct {
	file *os.File
	err  error
}

func (w *diskWriter) Write(p []byte) (int, error) {
	n, err := w.file.Write(p)
	if err != nil && w.err == nil {
		w.err = err
	}
	return n, err
}

// finish puts the folder in its place. The mark stays inside until it stands
// there, so that a break at any point can be told from a finished folder.
func (f *folder) finish() error {
	before := f.dest + ".before"
	if !f.mine() || exists(f.dest) != f.replaces {
		return say.Failed("let one run end before the next begins, or give each its own --out", "another run made or removed %s meanwhile", f.dest)
	}
	if f.replaces {
		if err := os.RemoveAll(before); err != nil {
			return fileError("the folder from before cannot be removed", before, err)
		}
		if err := os.Rename(f.dest, before); err != nil {
			return fileError("the old folder cannot be put aside", f.dest, err)
		}
	}
	if err := os.Rename(f.making, f.dest); err != nil {
		_ = os.Rename(before, f.dest) // undo; the first error is the one to tell
		return fileError("the new folder cannot be put in its place", f.dest, err)
	}
	if err := os.Remove(filepath.Join(f.dest, unfinished)); err != nil {
		return fileError("the folder cannot be finished", f.dest, err)
	}
	return nil
}

// drop removes what was begun. It does nothing after finish.
func (f *folder) drop() {
	if f.mine() {
		_ = os.RemoveAll(f.making) // a leftover is taken away by the next run
	}
}

// fileError says what the system said about a file, in plain words.
func fileError(what, path string, err error) error {
	var pe *os.PathError
	var le *os.LinkError
	reason := err
	if errors.As(err, &pe) {
		reason = pe.Err
	} else if errors.As(err, &le) {
		reason = le.Err
	}
	try := "look at the place and its permissions"
	switch {
	case errors.Is(err, os.ErrNotExist):
		try = "check how the name is spelled, and which folder it is in"
	case strings.Contains(reason.Error(), "no space left"):
		try = "free some room on the disk"
	}
	return say.Failed(try, "%s: %s: %w", what, path, reason)
}
