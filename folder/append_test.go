package folder

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/filelock"
)

const logName = "kit.csv" // any file of the kind

func appended(d *disk, dir, line string) error {
	return appendTo(d, filepath.Join(dir, "cat-kit"), Kits, logName, func(present []byte) ([]byte, error) {
		if len(present) > 0 && present[len(present)-1] != '\n' {
			line = "\n" + line
		}
		return []byte(line + "\n"), nil
	})
}

// Stopped at any operation, or refused one, a run leaves what was there, and
// what it added in whole, in part or not at all; what it acknowledged is there.
func TestAppendStoppedAtEveryOperation(t *testing.T) {
	for _, once := range []bool{false, true} {
		appendStopped(t, once)
	}
}

func appendStopped(t *testing.T, once bool) {
	stopped := 0
	for n := 1; ; n++ {
		dir := t.TempDir()
		makeFolder(t, Kits, filepath.Join(dir, "cat-kit"), "old")
		require.NoError(t, appended(calm(), dir, "one"))
		at := 0
		d := calm()
		d.hook = func(string, string) error {
			if at++; at == n || at > n && !once {
				return errors.New("stopped")
			}
			return nil
		}
		err := appended(d, dir, "two")
		for _, f := range d.open {
			_ = f.Close()
		}
		require.NoError(t, appended(calm(), dir, "three"))
		b, rerr := os.ReadFile(filepath.Join(dir, "cat-kit", logName))
		require.NoError(t, rerr)
		lines := strings.Split(strings.TrimSpace(string(b)), "\n")
		require.Equal(t, []string{"colors of old", "one"}, lines[:2])
		require.Equal(t, "three", lines[len(lines)-1])
		if err == nil {
			require.Contains(t, lines, "two")
		}
		if !once { // a journal that could not be removed stays for the next run
			require.Equal(t, []string{"cat-kit"}, names(dir), "nothing is left beside it")
		}
		if at < n {
			break
		}
		stopped++
	}
	assert.GreaterOrEqual(t, stopped, 4)
}

// Many at once: every line that was acknowledged is there, once.
func TestManyAppend(t *testing.T) {
	dir := t.TempDir()
	makeFolder(t, Kits, filepath.Join(dir, "cat-kit"), "old")
	var wg sync.WaitGroup
	var mu sync.Mutex
	acknowledged := map[string]bool{}
	for w := range 4 {
		wg.Go(func() {
			for i := range 25 {
				line := string(rune('a'+w)) + string(rune('a'+i))
				err := appended(calm(), dir, line)
				if err == nil {
					mu.Lock()
					acknowledged[line] = true
					mu.Unlock()
				} else if !errors.Is(err, filelock.ErrLocked) {
					t.Error(err)
				}
			}
		})
	}
	wg.Wait()
	b, err := os.ReadFile(filepath.Join(dir, "cat-kit", logName))
	require.NoError(t, err)
	n := 0
	for _, line := range strings.Split(strings.TrimSpace(string(b)), "\n")[1:] {
		assert.True(t, acknowledged[line], line)
		n++
	}
	assert.Equal(t, len(acknowledged), n)
	assert.Positive(t, n)
}

// While a run replaces the folder nothing is added, so that nothing is lost.
func TestNothingIsAppendedMeanwhile(t *testing.T) {
	dir := t.TempDir()
	makeFolder(t, Kits, filepath.Join(dir, "cat-kit"), "old")
	m, err := begin(calm(), filepath.Join(dir, "cat-kit"), Kits, Options{Force: true, Keep: true})
	require.NoError(t, err)
	assert.ErrorIs(t, appended(calm(), dir, "two"), filelock.ErrLocked)
	m.Drop()
	require.NoError(t, appended(calm(), dir, "two"))

	assert.Error(t, appended(calm(), t.TempDir(), "two"), "there is no folder")
	d := t.TempDir()
	require.NoError(t, os.MkdirAll(filepath.Join(d, "cat-kit", logName), 0o777))
	assert.Error(t, appended(calm(), d, "two"))
}
