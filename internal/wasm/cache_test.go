package wasm

import (
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestMain keeps what the tests compile out of the person's own folder.
func TestMain(m *testing.M) {
	dir, err := os.MkdirTemp("", "cache")
	if err != nil {
		panic(err)
	}
	os.Setenv("XDG_CACHE_HOME", dir)
	code := m.Run()
	os.RemoveAll(dir)
	os.Exit(code)
}

// works opens the tiny module as a new process would, and asks it something.
func works(t *testing.T) {
	t.Helper()
	in, err := New(gz(t, tiny), 1).Open(t.Context())
	require.NoError(t, err)
	defer in.Close()
	at, err := in.Alloc(5)
	require.NoError(t, err)
	assert.Equal(t, uint32(13), at)
}

// cacheAt makes a folder the cache of the person.
func cacheAt(t *testing.T, dir string) {
	t.Helper()
	if runtime.GOOS != "linux" {
		t.Skip("the folder is named by other means on this system")
	}
	t.Setenv("XDG_CACHE_HOME", dir)
}

// kept returns the files of a cache: an entry and its sum.
func kept(t *testing.T, dir string) (entry string, all []string) {
	t.Helper()
	require.NoError(t, filepath.Walk(dir, func(path string, info os.FileInfo, err error) error {
		if err == nil && info.Mode().IsRegular() {
			all = append(all, path)
			if filepath.Ext(path) == "" {
				entry = path
			}
		}
		return err
	}))
	return entry, all
}

// What is compiled is kept, and read by later processes; what was spoiled there
// or never finished is made anew.
func TestKeptCompiled(t *testing.T) {
	dir := t.TempDir()
	cacheAt(t, dir)
	works(t)
	entry, all := kept(t, dir)
	require.Equal(t, []string{entry, entry + sumEnding}, all)
	whole, err := os.ReadFile(entry)
	require.NoError(t, err)
	then := time.Now().Add(-24 * time.Hour)
	require.NoError(t, os.Chtimes(entry, then, then))
	works(t)
	info, err := os.Stat(entry)
	require.NoError(t, err)
	assert.WithinDuration(t, then, info.ModTime(), time.Second, "it was read, not made")

	for at := range whole { // a bit anywhere, also where the runtime's own sum does not reach
		if at%31 != 0 {
			continue
		}
		bad := append([]byte(nil), whole...)
		bad[at] ^= 4
		require.NoError(t, os.WriteFile(entry, bad, 0o600))
		works(t)
		is, err := os.ReadFile(entry)
		require.NoError(t, err)
		require.Equal(t, whole, is, "byte %d", at)
	}
	for _, spoil := range []func() error{
		func() error { return os.Truncate(entry, int64(len(whole)/2)) },
		func() error { return os.Remove(entry + sumEnding) },
		func() error { return os.WriteFile(entry, nil, 0o600) },
		func() error { // killed while it wrote, long ago
			left := entry + ".1.tmp"
			return firstOf(os.WriteFile(left, whole[:9], 0o600), os.Chtimes(left, then, then), os.Remove(entry))
		},
	} {
		require.NoError(t, spoil())
		works(t)
		is, err := os.ReadFile(entry)
		require.NoError(t, err)
		assert.Equal(t, whole, is)
		_, all := kept(t, dir)
		assert.Len(t, all, 2)
	}
}

func firstOf(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// Where nothing can be kept, or others could put something there, it is
// compiled each time, and nothing is said or written.
func TestNothingKept(t *testing.T) {
	file := filepath.Join(t.TempDir(), "file")
	require.NoError(t, os.WriteFile(file, nil, 0o600))
	open := t.TempDir()
	require.NoError(t, os.Chmod(open, 0o777))
	inside := t.TempDir()
	require.NoError(t, os.MkdirAll(filepath.Join(inside, "kitwright"), 0o700))
	require.NoError(t, os.WriteFile(filepath.Join(inside, "kitwright", "decoders"), nil, 0o600))
	for _, dir := range []string{file, filepath.Join(file, "below"), filepath.Join(t.TempDir(), "no", "such"), "relative", open, inside} {
		cacheAt(t, dir)
		works(t)
		if cache, _ := openCache([]byte("x")); cache != nil {
			t.Errorf("%s was taken", dir)
		}
	}
	_, all := kept(t, open)
	assert.Empty(t, all)
	assert.NoDirExists(t, "relative")
	if os.Getuid() == 0 { // root takes nothing from another's folder
		theirs := t.TempDir()
		require.NoError(t, os.Chown(theirs, 12345, 12345))
		cacheAt(t, theirs)
		works(t)
		_, all := kept(t, theirs)
		assert.Empty(t, all)
	} else {
		locked := t.TempDir()
		require.NoError(t, os.Chmod(locked, 0o500))
		cacheAt(t, locked)
		works(t)
	}
}

// Many at once, as processes are: each works, and one whole entry is left.
func TestManyKeepAtOnce(t *testing.T) {
	dir := t.TempDir()
	cacheAt(t, dir)
	var wait sync.WaitGroup
	for range 8 {
		wait.Go(func() { works(t) })
	}
	wait.Wait()
	works(t)
	entry, all := kept(t, dir)
	assert.Equal(t, []string{entry, entry + sumEnding}, all, strings.Join(all, "\n"))
}
