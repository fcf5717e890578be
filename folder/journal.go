package folder

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"strings"

	"kitwright/internal/filelock"
	"kitwright/internal/say"
)

// state is how far a run has come.
type state string

const (
	making   state = "making"   // building beside the place; nothing else was touched
	swapping state = "swapping" // the renames are under way
	undoing  state = "undoing"  // they failed, and are being taken back
	going    state = "going"    // the new one stands; what gave way to it is being removed
)

// mode is which renames a swap takes.
type mode string

const (
	plain mode = "plain" // nothing stands at the place
	first mode = "first" // what stands there is put aside
	next  mode = "next"  // the one put aside earlier gives way to it
	again mode = "again" // what stands there gives way: the run that put it there never ended
)

// record is what a journal says of the last run.
type record struct {
	id    string // of the names it builds and puts aside under
	state state
	mode  mode
	doubt bool // what stands at the place comes from a run that never ended
}

// journal is the file beside a place that holds the lock and says what the run
// is doing. A line is added for each step, so that no moment leaves it without
// a meaning.
type journal struct {
	disk *disk
	file *os.File
	last record
	torn bool // the last line has no end
}

const journalHead = "kitwright\n"

// openJournal opens the journal of a place, or makes it, and locks it.
func openJournal(d *disk, dest string) (*journal, error) {
	path := journalPath(dest)
	for range 10 {
		if info, err := os.Lstat(path); err == nil && !info.Mode().IsRegular() {
			return nil, say.Failed("move it away", "%s is in the way and is not ours", path)
		}
		f, err := d.create(path, os.O_RDWR|os.O_APPEND)
		if err != nil {
			return nil, say.File("the folder cannot be made", dest, err)
		}
		if err := filelock.Try(f); err != nil {
			_ = f.Close()
			if err == filelock.ErrLocked {
				return nil, locked("let it end before this one begins, or give each its own {out}", "another run is making %s just now", dest)
			}
			return nil, say.File("the place cannot be locked", dest, err)
		}
		// A run that ended meanwhile has taken the file away with its lock.
		held, err1 := f.Stat()
		there, err2 := os.Lstat(path)
		if err1 != nil || err2 != nil || !os.SameFile(held, there) {
			_ = f.Close()
			continue
		}
		j := &journal{disk: d, file: f}
		if err := j.read(); err != nil {
			_ = f.Close()
			return nil, err
		}
		return j, nil
	}
	return nil, locked("wait until they have ended, or choose another place with {out}", "other runs are busy with %s", dest)
}

// locked is an error that says that others are about the place.
func locked(try, format, dest string) error {
	err := say.Failed(try, format, dest)
	var said *say.Error
	if errors.As(err, &said) {
		said.Err = filelock.ErrLocked
	}
	return err
}

func journalPath(dest string) string {
	return filepath.Join(filepath.Dir(dest), "."+filepath.Base(dest)+".run")
}

// read reads what the last run said, if it ended without removing the file.
func (j *journal) read() error {
	b, err := io.ReadAll(io.LimitReader(j.file, 1<<20))
	if err != nil {
		return say.File("the file cannot be read", j.file.Name(), err)
	}
	text := string(b)
	if strings.HasPrefix(journalHead, text) {
		return nil // nothing was begun
	}
	if !strings.HasPrefix(text, journalHead) {
		return say.Failed("move it away", "%s is in the way and is not ours", j.file.Name())
	}
	lines := strings.Split(text[len(journalHead):], "\n")
	j.torn = lines[len(lines)-1] != ""
	for _, line := range lines[:len(lines)-1] {
		words := strings.Fields(line)
		switch {
		case len(words) >= 2 && state(words[0]) == making && isID(words[1]):
			j.last = record{id: words[1], state: making, doubt: len(words) == 3 && words[2] == "doubt"}
		case len(words) == 2 && state(words[0]) == swapping:
			j.last.state, j.last.mode = swapping, mode(words[1])
		case len(words) == 1 && (state(words[0]) == undoing || state(words[0]) == going):
			j.last.state = state(words[0])
		}
	}
	return nil
}

func isID(s string) bool { return len(s) == 8 && strings.Trim(s, "0123456789abcdef") == "" }

// add says what is done next, through to the disk.
func (j *journal) add(words ...string) error {
	line := strings.Join(words, " ") + "\n"
	if info, err := j.file.Stat(); err == nil && info.Size() < int64(len(journalHead)) {
		line = journalHead[info.Size():] + line
	} else if j.torn {
		line = "\n" + line
	}
	if _, err := j.disk.write(j.file, []byte(line)); err != nil {
		j.torn = true
		return err
	}
	j.torn = false
	return j.disk.sync(j.file)
}

// end removes the journal and lets go of the lock; keep leaves the file for
// the next run to read.
func (j *journal) end(keep bool) {
	if j.file == nil {
		return
	}
	if runtime.GOOS == "windows" { // an open file stays there
		_ = j.file.Close()
	}
	if !keep {
		// A journal that stays is read by the next run, and does no harm.
		_ = j.disk.remove(j.file.Name())
	}
	_ = j.file.Close()
	j.file = nil
}
