package folder

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"time"

	"kitwright/internal/filelock"
	"kitwright/internal/say"
)

// How long Append waits for another run to end, and how often it looks.
const (
	patience = time.Second
	pause    = 10 * time.Millisecond
)

// Append adds to the end of one of the files of a folder that stands, and
// returns once that is on the disk. It is told what the file holds and says
// what comes behind it. Meanwhile no run can replace the folder, and nothing
// that is there is touched: whatever stops it leaves what was there and a
// beginning of what was added.
func Append(dir string, kind Kind, name string, add func(present []byte) ([]byte, error)) error {
	return appendTo(&disk{}, dir, kind, name, add)
}

func appendTo(d *disk, dir string, kind Kind, name string, add func(present []byte) ([]byte, error)) error {
	p := place{d, filepath.Clean(dir)}
	j, err := openJournal(d, p.dest)
	for wait := patience; errors.Is(err, filelock.ErrLocked) && wait > 0; wait -= pause {
		time.Sleep(pause) // another tick takes a moment
		j, err = openJournal(d, p.dest)
	}
	if errors.Is(err, filelock.ErrLocked) {
		return locked("wait until it has ended, and do this again", "another run is busy with %s, so nothing was added", dir)
	} else if err != nil {
		return err
	}
	doubt, err := p.recover(j)
	if err != nil {
		j.end(true)
		return say.File("what an earlier run left cannot be put right", p.dest, err)
	}
	defer j.end(doubt)
	if _, err := os.Stat(filepath.Join(p.dest, kind.key)); err != nil { // recovering may have taken it away
		return say.File("the folder cannot be looked at", filepath.Join(p.dest, kind.key), err)
	}
	path := filepath.Join(p.dest, name)
	if info, err := os.Lstat(path); err == nil && !info.Mode().IsRegular() {
		return say.Failed("move it away", "%s is in the way and is not ours", path)
	}
	f, err := d.create(path, os.O_RDWR|os.O_APPEND)
	if err != nil {
		return say.File("the file cannot be written", path, err)
	}
	defer f.Close()
	present, err := io.ReadAll(f)
	if err != nil {
		return say.File("the file cannot be read", path, err)
	}
	more, err := add(present)
	if err != nil {
		if len(present) == 0 {
			_ = d.remove(path) // it was made just now, or nobody misses it
		}
		return err
	}
	if _, err := d.write(f, more); err != nil {
		return say.File("the file cannot be written", path, err)
	}
	if err := d.sync(f); err != nil {
		return say.File("the file cannot be written", path, err)
	}
	if runtime.GOOS != "windows" && len(present) == 0 {
		if dir, err := os.Open(p.dest); err == nil { // its name, too
			_ = dir.Sync()
			_ = dir.Close()
		}
	}
	return nil
}
