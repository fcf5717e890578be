package folder

import (
	"cmp"
	"errors"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"sync"

	"kitwright/internal/say"
)

// settle makes sure that what was written is on the disk.
func (m *Making) settle() error {
	m.mu.Lock()
	names, over := slices.Sorted(maps.Keys(m.written)), m.over
	m.mu.Unlock()
	if over {
		return nil // Finish says so
	}
	stands, paths := map[string]string{}, []string{m.making(m.id)}
	if m.written != nil {
		paths = nil
		for _, name := range names {
			paths = append(paths, filepath.Join(m.making(m.id), name))
			stands[paths[len(paths)-1]] = filepath.Join(m.dest, name)
		}
	}
	if path, err := m.disk.settle(paths); err != nil {
		return say.File("the file cannot be written", cmp.Or(stands[path], m.dest), err)
	}
	return nil
}

// settle brings written files through to the disk, all at once: a disk that is
// told of one after the other is waited for as many times as there are files.
// It returns the first path that it can't be done for.
func (d *disk) settle(paths []string) (string, error) {
	errs := make([]error, len(paths))
	var wait sync.WaitGroup
	for i, path := range paths {
		one := func() {
			f, err := os.OpenFile(path, os.O_WRONLY, 0)
			if err == nil {
				err = errors.Join(d.sync(f), f.Close())
			}
			errs[i] = err
		}
		if d.hook != nil {
			one() // a test counts on the order
		} else {
			wait.Go(one)
		}
	}
	wait.Wait()
	for i, err := range errs {
		if err != nil {
			return paths[i], err
		}
	}
	return "", nil
}
