package folder

import (
	"crypto/rand"
	"encoding/hex"
	"errors"
	"io"
	"os"
	"path/filepath"
	"sync"
	"time"

	"kitwright/internal/filelock"
	"kitwright/internal/say"
)

// Options say how a folder may come about.
type Options struct {
	Force bool // replace a folder of the same kind; it is kept as NAME.before
	Keep  bool // of a folder that is replaced, keep the files that are not made anew
	Spare bool // what is replaced gives way altogether, and NAME.before stays what it is: its successor can be put back to it
}

// Making is a folder, or a file, in the making. It takes its place whole or
// not at all.
type Making struct {
	place
	kind    Kind
	opt     Options
	id      string
	journal *journal
	was     os.FileInfo // what stood at the place; nil = nothing
	doubt   bool
	parents []string // folders made on the way, outermost first

	mu      sync.Mutex // held while files come and go, not while they are written
	over    bool       // finished or dropped
	stands  bool       // finished
	file    *os.File   // being written
	written map[string]bool
	left    string
}

// Begin begins a folder of a kind that will stand at dest. A folder that
// stands there already is refused, unless it may be replaced and is one that
// we made.
func Begin(dest string, kind Kind, opt Options) (*Making, error) {
	return begin(&disk{}, dest, kind, opt)
}

func begin(d *disk, dest string, kind Kind, opt Options) (*Making, error) {
	m, err := open(d, dest, func(p place) error {
		if !exists(p.dest) {
			return nil
		}
		if !opt.Force {
			return say.Failed("choose another place with {out}, or replace it with {force}", "%s exists already", p.dest)
		}
		return mayReplace(p, kind, opt.Spare)
	})
	if err != nil {
		return nil, err
	}
	m.kind, m.opt, m.written = kind, opt, map[string]bool{}
	if err := m.disk.mkdir(m.making(m.id)); err != nil {
		m.Drop()
		return nil, say.File("the folder cannot be made", m.dest, err)
	}
	return m, nil
}

// BeginFile begins a single file that will stand at dest. A file that stands
// there already is refused, unless force is set and it looks like one of ours.
func BeginFile(dest string, force bool, ours func(io.Reader) bool) (*Making, error) {
	return beginFile(&disk{}, dest, force, ours)
}

func beginFile(d *disk, dest string, force bool, ours func(io.Reader) bool) (*Making, error) {
	return open(d, dest, func(p place) error {
		info, err := os.Lstat(p.dest)
		switch {
		case os.IsNotExist(err):
			return nil
		case err != nil:
			return say.File("the file cannot be looked at", p.dest, err)
		case !force:
			return say.Failed("choose another name with {out}, or overwrite it with {force}", "%s exists already", p.dest)
		case !info.Mode().IsRegular():
			return say.Failed("choose another name with {out}", "%s is not a file that we made", p.dest)
		}
		f, err := os.Open(p.dest)
		if err != nil {
			return say.File("the file cannot be looked at", p.dest, err)
		}
		defer f.Close()
		if !ours(f) {
			return say.Failed("choose another name with {out}", "%s is not a file that we made", p.dest)
		}
		return nil
	})
}

// open locks the place, tidies up after a run that was killed there, looks
// whether this one may go on, and says in the journal that it does.
func open(d *disk, dest string, may func(place) error) (*Making, error) {
	dest = filepath.Clean(dest)
	if base := filepath.Base(dest); base == "." || base == ".." {
		if abs, err := filepath.Abs(dest); err == nil {
			dest = abs
		}
	}
	p := place{d, dest}
	m := &Making{place: p}
	if err := m.lock(); err != nil {
		// What stands there is judged under the lock only: without it, another
		// run may be between two renames. Where none can be had, as in a folder
		// that can't be written to, the nearer reason is told.
		if refused := may(p); refused != nil && !errors.Is(err, filelock.ErrLocked) {
			return nil, refused
		}
		return nil, err
	}
	var err error
	if m.doubt, err = p.recover(m.journal); err != nil {
		m.journal.end(true)
		m.removeParents()
		return nil, say.File("what an earlier run left cannot be put right", dest, err)
	}
	if err := may(p); err != nil {
		m.journal.end(m.doubt)
		m.removeParents()
		return nil, err
	}
	m.was, _ = os.Lstat(dest) // nil where there is nothing
	if m.id, err = p.newID(); err == nil {
		words := []string{string(making), m.id}
		if m.doubt {
			words = append(words, "doubt")
		}
		err = m.journal.add(words...)
	}
	if err != nil {
		m.journal.end(m.doubt)
		m.removeParents()
		return nil, say.File("nothing can be written", dest, err)
	}
	return m, nil
}

// lock makes the folders that the place lies in and takes its lock.
func (m *Making) lock() (err error) {
	for range 10 {
		if err = m.makeParents(filepath.Dir(m.dest)); err == nil {
			if m.journal, err = openJournal(m.disk, m.dest); err == nil {
				return nil
			}
			m.removeParents()
		}
		if !errors.Is(err, os.ErrNotExist) { // otherwise a run that gave up took its folders away
			break
		}
	}
	return err
}

// newID returns a word under which nothing lies beside the place.
func (p place) newID() (string, error) {
	for {
		var b [4]byte
		if _, err := rand.Read(b[:]); err != nil {
			return "", err
		}
		if id := hex.EncodeToString(b[:]); !exists(p.making(id)) && !exists(p.old(id)) {
			return id, nil
		}
	}
}

// makeParents makes the folders that the place lies in.
func (m *Making) makeParents(dir string) error {
	var missing []string
	for d := dir; !exists(d); d = filepath.Dir(d) {
		missing = append([]string{d}, missing...)
		if filepath.Dir(d) == d {
			break
		}
	}
	for _, d := range missing {
		if err := m.disk.mkdir(d); err != nil && !os.IsExist(err) {
			m.removeParents()
			return say.File("the folder cannot be made", d, err)
		} else if err == nil {
			m.parents = append(m.parents, d)
		}
	}
	return nil
}

// removeParents removes the folders that were made on the way, if nothing else
// came into them.
func (m *Making) removeParents() {
	for i := len(m.parents) - 1; i >= 0; i-- {
		_ = m.disk.remove(m.parents[i]) // not empty any more: it stays
	}
	m.parents = nil
}

// Dest is the path that the folder or file is for.
func (m *Making) Dest() string { return m.dest }

// Write makes one file of the folder.
func (m *Making) Write(name string, content func(io.Writer) error) error {
	return m.write(filepath.Join(m.making(m.id), name), filepath.Join(m.dest, name), name, content)
}

// Fill makes the file that BeginFile began.
func (m *Making) Fill(content func(io.Writer) error) error {
	return m.write(m.making(m.id), m.dest, "", content)
}

func (m *Making) write(path, stands, name string, content func(io.Writer) error) error {
	out, err := m.create(path, stands, name)
	if err != nil {
		return err
	}
	onDisk, own := m.disk.fill(out, content)
	m.mu.Lock()
	m.file = nil
	m.mu.Unlock()
	if onDisk != nil {
		return say.File("the file cannot be written", stands, onDisk)
	}
	return own
}

func (m *Making) create(path, stands, name string) (*os.File, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.over {
		return nil, say.Failed("run it again", "%s was given up", m.dest)
	}
	out, err := m.disk.create(path, os.O_WRONLY|os.O_EXCL)
	if err != nil {
		return nil, say.File("the file cannot be written", stands, err)
	}
	m.file = out
	if m.written != nil {
		m.written[name] = true
	}
	return out, nil
}

// Finish puts the folder or file in its place. Whatever fails on the way is
// taken back; the next run does it where this one can't.
func (m *Making) Finish() error {
	if m.opt.Keep && m.was != nil {
		if err := m.keepOthers(); err != nil {
			return err
		}
	}
	if err := m.settle(); err != nil {
		return err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.over {
		return say.Failed("run it again", "%s was given up", m.dest)
	}
	now, _ := os.Lstat(m.dest)
	if (now == nil) != (m.was == nil) || now != nil && !os.SameFile(now, m.was) {
		return say.Failed("let one run end before the next begins, or give each its own {out}", "something made, replaced or removed %s meanwhile", m.dest)
	}
	how := plain
	if m.was != nil && m.kind.Name != "" {
		if err := mayReplace(m.place, m.kind, m.opt.Spare); err != nil {
			return err
		}
		switch {
		case m.opt.Spare, m.doubt && exists(m.before()):
			how = again
		case exists(m.before()):
			how = next
		default:
			how = first
		}
	}
	if err := m.journal.add(string(swapping), string(how)); err != nil {
		return say.File("nothing can be written", m.dest, err)
	}
	if err := m.swap(m.id, how); err != nil {
		said := m.journal.add(string(undoing))
		undone := m.unswap(m.id, how)
		if said != nil || undone != nil {
			// What was built stays: without it the journal would tell the next run
			// that it had taken its place.
			m.over = true
			m.journal.end(true)
		}
		if undone != nil {
			return say.Failed("run the same again: it first puts back what was there", "%s cannot be put in its place, nor can what was there be put back: %w", m.dest, err)
		}
		return say.File("the new one cannot be put in its place", m.dest, err)
	}
	m.over, m.stands = true, true
	_ = m.journal.add(string(going)) // the same
	if old := m.old(m.id); (how == next || how == again) && !removeOurs(m.disk, old) {
		m.left = old
	}
	m.journal.end(false)
	return nil
}

// Left is a folder that had to give way and could not be removed, or "".
func (m *Making) Left() string { return m.left }

// keepOthers copies what is not made anew from the folder that is replaced.
func (m *Making) keepOthers() error {
	written := map[string]bool{} // by their own names: one under another name is the same
	for name := range m.written {
		written[m.kind.plain(name)] = true
	}
	names, err := m.kind.named(m.dest)
	if err != nil {
		return say.File("the folder cannot be looked at", m.dest, err)
	}
	for _, name := range names {
		if written[m.kind.plain(name)] {
			continue
		}
		in, err := os.Open(filepath.Join(m.dest, name))
		if os.IsNotExist(err) {
			continue
		} else if err != nil {
			return say.File("the file cannot be kept", filepath.Join(m.dest, name), err)
		}
		err = m.Write(name, func(w io.Writer) error {
			if _, err := io.Copy(w, in); err != nil {
				return say.File("the file cannot be kept", filepath.Join(m.dest, name), err)
			}
			return nil
		})
		_ = in.Close() // only read from
		if err != nil {
			return err
		}
	}
	return nil
}

// Drop removes what was begun, and does nothing after Finish. It may be called
// from beside the run, in the middle of a file.
func (m *Making) Drop() {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.drop()
}

// DropWithin is Drop for an end that can't wait: it gives up after a while. It
// says whether something stands at the place now that this run put there.
func (m *Making) DropWithin(wait time.Duration) (stands bool) {
	for end := time.Now().Add(wait); !m.mu.TryLock(); time.Sleep(time.Millisecond) {
		if time.Now().After(end) {
			return false
		}
	}
	defer m.mu.Unlock()
	m.drop()
	return m.stands
}

func (m *Making) drop() {
	if m.over {
		return
	}
	m.over = true
	if m.file != nil {
		_ = m.file.Close() // some systems keep open files
	}
	removeOurs(m.disk, m.making(m.id))
	m.journal.end(m.doubt)
	m.removeParents()
}
