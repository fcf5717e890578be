package web

import (
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"kitwright/folder"
	"kitwright/internal/say"
	"kitwright/kit"
)

// saver brings edits to the disk: the newest kit, as soon as the one before is
// there. The kit folder is always a whole one.
type saver struct {
	pending *kit.Kit // not on the disk yet; nil = all is saved
	running bool
	prints  *time.Timer // makes the prints again once nothing changed for a while
}

const (
	saveAgain  = 2 * time.Second // after a save that failed
	printsRest = 4 * time.Second // without an edit, before the prints are made again
)

// save takes a kit that was edited, with e.mu held, and returns at once.
func (t *Table) save(e *entry, k *kit.Kit) {
	if e.saver.pending == nil {
		t.unsaved.Add(1)
	}
	e.saver.pending = k
	if e.saver.running {
		return
	}
	e.saver.running = true
	t.saves.Add(1)
	go func() {
		defer t.saves.Done()
		for {
			e.mu.Lock()
			k := e.saver.pending
			if k == nil {
				e.saver.running = false
				e.mu.Unlock()
				return
			}
			dir := e.lib.path(e.id, baseOf(e.st.Photo)+"-"+folder.Kits.Name)
			e.mu.Unlock()
			e.disk.Lock()
			err := saveKit(dir, k)
			e.disk.Unlock()
			if err == nil {
				e.wrote(k)
			}
			e.mu.Lock()
			if err == nil && e.saver.pending == k {
				e.saver.pending = nil
				t.unsaved.Add(-1)
			}
			e.mu.Unlock()
			if err != nil {
				t.hub.tell("unsaved", map[string]any{"kit": e.id, "error": faultOf(err)})
				select {
				case <-time.After(saveAgain):
				case <-t.closing:
					e.mu.Lock()
					e.saver.running = false
					e.mu.Unlock()
					return
				}
				continue
			}
			t.hub.tell("saved", map[string]any{"kit": e.id, "log": logLength(k)})
			t.printLater(e)
		}
	}()
}

// saved says whether all that was edited is on the disk.
func (e *entry) saved() bool {
	e.mu.Lock()
	defer e.mu.Unlock()
	return e.saver.pending == nil
}

// logLength is how many edits there ever were: the version of a chart.
func logLength(k *kit.Kit) int {
	if k.Edits == nil {
		return 0
	}
	return len(k.Edits.Log)
}

// saveKit writes what is not printed of a kit that was edited in its place.
// Prints of the chart before would be mixed up with it: they are made again
// when she rests.
func saveKit(dir string, k *kit.Kit) error {
	if _, err := os.Stat(dir); err != nil {
		if errors.Is(err, fs.ErrNotExist) {
			return say.Failed("put it back, or make the kit again", "the kit's folder is gone: %s", dir)
		}
		return say.File("the kit cannot be saved", dir, err)
	}
	m, err := folder.Begin(dir, folder.Kits, folder.Options{Force: true, Spare: true})
	if err != nil {
		return err
	}
	defer m.Drop()
	p, err := printOf(k.Print) // kit.json tells the sheet by them
	if err != nil {
		return err
	}
	job := folder.Job{Kit: k, Print: p}
	for _, o := range folder.Outputs() {
		switch {
		case o.Print:
			continue
		case o.Of(job):
			err = m.Write(o.Name, func(w io.Writer) error { return o.Write(w, job) })
		default: // made of the photo: it stays as it is
			err = keepFile(m, filepath.Join(dir, o.Name), o.Name)
		}
		if err != nil {
			return err
		}
	}
	return m.Finish()
}

// keepFile takes a file of the folder over, if it is there.
func keepFile(m *folder.Making, path, name string) error {
	in, err := os.Open(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	} else if err != nil {
		return say.File("the file cannot be kept", path, err)
	}
	defer in.Close()
	return m.Write(name, func(w io.Writer) error {
		_, err := io.Copy(w, in)
		return err
	})
}
