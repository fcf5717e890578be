package folder

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/filelock"
)

// While a run looks at what stands at its place, no other run can be between
// two of its renames there.
func TestJudgedUnderTheLock(t *testing.T) {
	dir := t.TempDir()
	makeFolder(t, Kits, filepath.Join(dir, "cat-kit"), "old")
	s := scene{kind: Kits, dest: "cat-kit", opt: Options{Force: true}}

	within, goOn, ended := make(chan bool, 1), make(chan bool), make(chan error, 1)
	other := calm()
	other.hook = func(op, path string) error {
		if op == "rename" && strings.Contains(path, ".new-") { // nothing stands at the place
			within <- true
			<-goOn
		}
		return nil
	}
	looking := s
	begun := false
	looking.kind.files = func() []string { // asked for between listing the folder and reading its kit.json
		if !begun {
			begun = true
			go func() { ended <- s.run(other, dir, "other") }()
			select {
			case <-within:
			case err := <-ended:
				ended <- err
			}
		}
		return Kits.files()
	}
	assert.NoError(t, looking.run(calm(), dir, "looking"))
	close(goOn)
	assert.ErrorIs(t, <-ended, filelock.ErrLocked)
	title, err := titleAt(Kits, filepath.Join(dir, "cat-kit"))
	require.NoError(t, err)
	assert.Equal(t, "looking", title)
}

// In the moment with nothing at the place, another run is told that it is
// busy, with force or without.
func TestBusyBetweenRenames(t *testing.T) {
	dir := t.TempDir()
	makeFolder(t, Kits, filepath.Join(dir, "cat-kit"), "old")
	s := scene{kind: Kits, dest: "cat-kit", opt: Options{Force: true}}
	d, asked := calm(), 0
	d.hook = func(op, path string) error {
		if op == "rename" && strings.Contains(path, ".new-") {
			for _, opt := range []Options{{Force: true}, {}} {
				_, err := begin(calm(), filepath.Join(dir, "cat-kit"), Kits, opt)
				assert.ErrorIs(t, err, filelock.ErrLocked)
				asked++
			}
		}
		return nil
	}
	require.NoError(t, s.run(d, dir, "one"))
	assert.Equal(t, 2, asked)
}

// However many runs replace one folder, whoever is turned away is told that
// another was there first.
func TestManyRunsForOnePlace(t *testing.T) {
	dir := t.TempDir()
	makeFolder(t, Kits, filepath.Join(dir, "cat-kit"), "old")
	s := scene{kind: Kits, dest: "cat-kit", opt: Options{Force: true}}
	done := make(chan int)
	for range 4 {
		go func() {
			n := 0
			for range 60 {
				err := s.run(calm(), dir, "one")
				if err == nil {
					n++
				} else if !errors.Is(err, filelock.ErrLocked) {
					t.Error(err)
				}
			}
			done <- n
		}()
	}
	made := 0
	for range 4 {
		made += <-done
	}
	assert.Positive(t, made)
	assert.Equal(t, []string{"cat-kit", "cat-kit.before"}, names(dir))
}

// A run that gives up takes the folders away that it made on the way; another
// that is about to begin in them makes them again.
func TestFoldersTakenAwayMeanwhile(t *testing.T) {
	dir := t.TempDir()
	d, taken := calm(), false
	d.hook = func(op, path string) error {
		if op == "create" && !taken {
			taken = true
			return os.RemoveAll(filepath.Join(dir, "a"))
		}
		return nil
	}
	s := scene{kind: Kits, dest: "a/b/cat-kit"}
	require.NoError(t, s.run(d, dir, "one"))
	title, err := titleAt(Kits, filepath.Join(dir, "a/b/cat-kit"))
	require.NoError(t, err)
	assert.Equal(t, "one", title)
}

// Where no lock can be had, the nearer reason is told: in a folder that can't
// be written to, what stands there must not be replaced anyway.
func TestRefusedWithoutALock(t *testing.T) {
	dir := t.TempDir()
	makeFolder(t, Kits, filepath.Join(dir, "cat-kit"), "old")
	d := calm()
	d.hook = func(op, path string) error {
		if op == "create" {
			return &os.PathError{Op: op, Path: path, Err: syscall.EACCES}
		}
		return nil
	}
	s := scene{kind: Kits, dest: "cat-kit"}
	assert.ErrorContains(t, s.run(d, dir, "one"), "exists already")
	s.opt.Force = true
	assert.ErrorContains(t, s.run(d, dir, "one"), "permission denied")
}
