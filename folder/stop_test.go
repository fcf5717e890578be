package folder

import (
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/say"
)

// stopped is what a test's stop panics with.
type stopped struct{}

// until runs a scene and stops it dead before its n-th operation on the disk,
// as if the process ended there. It says whether there was one.
func (s scene) until(n int, dir string) (was bool) {
	d := calm()
	at := 0
	d.hook = func(string, string) error {
		if at++; at >= n {
			panic(stopped{})
		}
		return nil
	}
	defer func() {
		for _, f := range d.open {
			_ = f.Close() // as the system does
		}
		if p := recover(); p != nil {
			if _, ok := p.(stopped); !ok {
				panic(p)
			}
			was = true
		}
	}()
	_ = s.run(d, dir, "first")
	return false
}

// all skips a test that takes minutes where not everything is to be checked.
func all(t *testing.T) {
	t.Helper()
	if os.Getenv("KITWRIGHT_CHECKERS") != "all" {
		t.Skip("skipped: takes minutes; set KITWRIGHT_CHECKERS=all")
	}
}

// However a run is stopped, the next one is clean and nothing is lost.
func TestStoppedAtEveryOperation(t *testing.T) {
	if testing.Short() {
		t.Skip("skipped: makes a thousand folders")
	}
	points := 0
	for _, s := range scenes() {
		for n := 1; ; n++ {
			dir := t.TempDir()
			s.found(t, dir)
			if !s.until(n, dir) {
				break
			}
			points++
			assert.NoError(t, s.judge(dir), "%s, operation %d", s.name, n)
			if t.Failed() {
				return
			}
		}
	}
	t.Logf("%d points", points)
	assert.GreaterOrEqual(t, points, 472)
}

// Nor does it matter when the run after a stopped one is stopped as well.
func TestStoppedTwice(t *testing.T) {
	all(t)
	points := 0
	for _, s := range scenes()[3:5] {
		for n := 14; ; n++ { // where the renames begin, and a little before
			probe := t.TempDir()
			s.found(t, probe)
			if !s.until(n, probe) {
				break
			}
			for m := 1; ; m++ {
				dir := t.TempDir()
				s.found(t, dir)
				s.until(n, dir)
				if !s.until(m, dir) {
					break
				}
				points++
				require.NoError(t, s.judge(dir), "%s, operations %d and %d", s.name, n, m)
			}
		}
	}
	t.Logf("%d points", points)
	assert.Greater(t, points, 300)
}

// A run without force after a stopped one is refused, and gives nothing up.
func TestStoppedThenRefused(t *testing.T) {
	for _, s := range scenes()[3:5] {
		for n := 1; ; n++ {
			dir := t.TempDir()
			s.found(t, dir)
			if !s.until(n, dir) {
				break
			}
			careful := s
			careful.opt = Options{}
			require.ErrorContains(t, careful.run(calm(), dir, "careful"), "exists already")
			require.NoError(t, s.judge(dir), "%s, operation %d", s.name, n)
		}
	}
}

// When the system refuses an operation, or all from then on, the run says so
// and nothing is lost; or it succeeds and says what it could not remove.
func TestRefusedAtEveryOperation(t *testing.T) {
	some := scenes()
	if os.Getenv("KITWRIGHT_CHECKERS") != "all" {
		some = some[4:5]
	}
	for _, s := range some {
		for _, all := range []bool{false, true} {
			for n := 1; ; n++ {
				dir := t.TempDir()
				s.found(t, dir)
				at := 0
				d := &disk{hook: func(string, string) error {
					if at++; at == n || all && at > n {
						return syscall.EPERM
					}
					return nil
				}}
				err := s.run(d, dir, "first")
				for _, f := range d.open {
					_ = f.Close()
				}
				if at < n {
					break
				}
				place := filepath.Join(dir, s.dest)
				title, terr := titleAt(s.kind, place)
				require.NoError(t, terr, "%s, operation %d", s.name, n)
				if err == nil {
					assert.Equal(t, "first", title)
					if aside, err := titleAt(s.kind, place+".before"); assert.NoError(t, err) {
						assert.Equal(t, s.aside, aside, "%s, operation %d", s.name, n)
					}
					continue
				}
				assert.NotEqual(t, "first", title, "%s, operation %d: it stands, and the run says %s", s.name, n, err)
				var said *say.Error
				assert.True(t, errors.As(err, &said) && said.Try != "", "%s", err)
				assert.NoError(t, s.judge(dir), "%s, operation %d (all: %v) failed with %s", s.name, n, all, err)
				if t.Failed() {
					return
				}
			}
		}
	}
}

// childScene names the scene and the operation for a child process.
const childScene = "KITWRIGHT_TEST_SCENE"

// TestKillChild is the run of a child process that is killed; see below.
func TestKillChild(t *testing.T) {
	spec := os.Getenv(childScene)
	if spec == "" {
		t.Skip("runs in a child process only")
	}
	var i, n int
	_, err := fmt.Sscanf(spec, "%d %d", &i, &n)
	require.NoError(t, err)
	s := scenes()[i]
	at := 0
	d := &disk{hook: func(string, string) error {
		if at++; at == n {
			self, err := os.FindProcess(os.Getpid())
			if err == nil {
				err = self.Kill()
			}
			select {} // until it takes effect
		}
		return nil
	}}
	_ = s.run(d, ".", "first")
}

// The same in real processes, killed by the system.
func TestKilledAtEveryOperation(t *testing.T) {
	all(t)
	points := 0
	for i, s := range scenes() {
		for n := 1; ; n++ {
			dir := t.TempDir()
			s.found(t, dir)
			child := exec.Command(os.Args[0], "-test.run=^TestKillChild$")
			child.Dir, child.Env = dir, append(os.Environ(), childScene+"="+strconv.Itoa(i)+" "+strconv.Itoa(n))
			out, err := child.CombinedOutput()
			if err == nil {
				break
			}
			if runtime.GOOS != "windows" {
				require.Contains(t, err.Error(), "killed", "%s", out)
			}
			points++
			require.NoError(t, s.judge(dir), "%s, operation %d", s.name, n)
		}
	}
	t.Logf("%d points", points)
	assert.GreaterOrEqual(t, points, 472)
}

// Of two runs for one place at a time, one is refused at once, and a whole kit
// stands there in the end.
func TestTwoRunsForOnePlace(t *testing.T) {
	for pair := range 80 {
		dir := t.TempDir()
		force := pair%2 == 1
		if force {
			makeFolder(t, Kits, filepath.Join(dir, "cat-kit"), "old")
		}
		s := scene{kind: Kits, dest: "cat-kit", opt: Options{Force: force}}
		errs := make(chan error)
		for _, title := range []string{"one", "two"} {
			go func() { errs <- s.run(calm(), dir, title) }()
		}
		done := 0
		for range 2 {
			if err := <-errs; err == nil {
				done++
			} else {
				assert.Regexp(t, "another run is making|exists already", err.Error())
			}
		}
		assert.GreaterOrEqual(t, done, 1)
		title, err := titleAt(Kits, filepath.Join(dir, "cat-kit"))
		require.NoError(t, err)
		assert.Contains(t, []string{"one", "two"}, title)
		if got := names(dir); force {
			assert.Equal(t, []string{"cat-kit", "cat-kit.before"}, got)
		} else {
			assert.Equal(t, []string{"cat-kit"}, got)
		}
	}
}

// What we did not make is neither replaced nor removed.
func TestNotOurs(t *testing.T) {
	foreign := strings.Repeat(`{"name":"kit","version":"2.0"}`, 1)
	for name, c := range map[string]struct {
		found func(dir string)
		says  string
	}{
		"a kit.json of something else": {func(dir string) {
			makeFolder(t, Kits, dir+"/cat-kit", "old")
			require.NoError(t, os.WriteFile(dir+"/cat-kit/kit.json", []byte(foreign), 0o666))
		}, "not as we write it"},
		"a file of the user's in it": {func(dir string) {
			makeFolder(t, Kits, dir+"/cat-kit", "old")
			require.NoError(t, os.WriteFile(dir+"/cat-kit/receipt.txt", nil, 0o666))
		}, "receipt.txt"},
		"a folder named like a file of ours": {func(dir string) {
			makeFolder(t, Kits, dir+"/cat-kit", "old")
			require.NoError(t, os.Mkdir(dir+"/cat-kit/preview.png", 0o777))
		}, "preview.png"},
		"a file of the user's in the one aside": {func(dir string) {
			makeFolder(t, Kits, dir+"/cat-kit", "old")
			makeFolder(t, Kits, dir+"/cat-kit.before", "older")
			require.NoError(t, os.WriteFile(dir+"/cat-kit.before/receipt.txt", nil, 0o666))
		}, "receipt.txt"},
		"something else aside": {func(dir string) {
			makeFolder(t, Kits, dir+"/cat-kit", "old")
			require.NoError(t, os.WriteFile(dir+"/cat-kit.before", []byte("diary"), 0o666))
		}, "not a folder that we made"},
		"a file": {func(dir string) {
			require.NoError(t, os.WriteFile(dir+"/cat-kit", []byte("diary"), 0o666))
		}, "not a folder that we made"},
		"a ladder": {func(dir string) { makeFolder(t, Ladders, dir+"/cat-kit", "old") }, "ladder.csv"},
		"a journal of the user's": {func(dir string) {
			require.NoError(t, os.WriteFile(dir+"/.cat-kit.run", []byte("ran 5 km"), 0o666))
		}, "not ours"},
		"a pipe instead of a journal": {func(dir string) {
			require.NoError(t, os.Mkdir(dir+"/.cat-kit.run", 0o777))
		}, "not ours"},
	} {
		dir := t.TempDir()
		c.found(dir)
		before := tree(t, dir)
		err := scene{kind: Kits, dest: "cat-kit", opt: Options{Force: true}}.run(calm(), dir, "first")
		assert.ErrorContains(t, err, c.says, name)
		assert.Equal(t, before, tree(t, dir), name)
	}
}

// Nor is what comes while a run is at work, nor what a stopped run's folder
// was given.
func TestNotOursMeanwhile(t *testing.T) {
	for name, put := range map[string]string{"the place": "cat-kit/note.txt", "the one aside": "cat-kit.before/note.txt"} {
		dir := t.TempDir()
		makeFolder(t, Kits, dir+"/cat-kit", "old")
		makeFolder(t, Kits, dir+"/cat-kit.before", "older")
		m, err := Begin(dir+"/cat-kit", Kits, Options{Force: true})
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(filepath.Join(dir, put), []byte("dear diary"), 0o666))
		before := tree(t, dir+"/"+filepath.Dir(put))
		assert.ErrorContains(t, m.Finish(), "note.txt", name)
		m.Drop()
		assert.Equal(t, before, tree(t, dir+"/"+filepath.Dir(put)), name)
		assert.Equal(t, []string{"cat-kit", "cat-kit.before"}, names(dir))
	}

	// Another kit took the place, or none is left there.
	for _, move := range []bool{false, true} {
		dir := t.TempDir()
		makeFolder(t, Kits, dir+"/cat-kit", "old")
		m, err := Begin(dir+"/cat-kit", Kits, Options{Force: true})
		require.NoError(t, err)
		require.NoError(t, os.Rename(dir+"/cat-kit", dir+"/mine"))
		if move {
			makeFolder(t, Kits, dir+"/cat-kit", "another")
		}
		assert.ErrorContains(t, m.Finish(), "meanwhile")
		m.Drop()
		assert.ElementsMatch(t, slices.Compact([]string{"old", map[bool]string{true: "another", false: "old"}[move]}), whole(dir))
	}

	// A stopped run's folder holds a file of the user's, who found it there.
	s := scenes()[8]
	dir := t.TempDir()
	s.found(t, dir)
	note := dir + "/cat-kit.new-01234567/note.txt"
	require.NoError(t, os.WriteFile(note, []byte("dear diary"), 0o666))
	require.NoError(t, s.run(calm(), dir, "first"))
	b, err := os.ReadFile(note)
	require.NoError(t, err)
	assert.Equal(t, "dear diary", string(b))

	// Folders named as a run would name its own are not touched without a
	// journal that names them.
	dir = t.TempDir()
	for _, name := range []string{"cat-kit.new", "cat-kit.new-01234567", "cat-kit.old-01234567"} {
		makeFolder(t, Kits, dir+"/"+name, "mine")
	}
	before := tree(t, dir)
	require.NoError(t, scenes()[0].run(calm(), dir, "first"))
	for path, content := range before {
		b, err := os.ReadFile(path)
		require.NoError(t, err)
		assert.Equal(t, content, string(b))
	}
}

// tree returns all files below a folder with their content.
func tree(t *testing.T, dir string) map[string]string {
	t.Helper()
	out := map[string]string{}
	require.NoError(t, filepath.WalkDir(dir, func(path string, d os.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		b, err := os.ReadFile(path)
		out[path] = string(b)
		return err
	}))
	return out
}

// A failed run leaves no folders that it made on the way.
func TestFoldersOnTheWay(t *testing.T) {
	dir := t.TempDir()
	m, err := Begin(dir+"/a/b/c/cat-kit", Kits, Options{})
	require.NoError(t, err)
	require.NoError(t, m.Write("kit.csv", func(w io.Writer) error { return nil }))
	m.Drop()
	m.Drop()
	assert.Empty(t, names(dir))
	assert.Error(t, m.Finish())
	assert.Error(t, m.Write("kit.json", func(io.Writer) error { return nil }))

	m, err = Begin(dir+"/a/b/cat-kit", Kits, Options{})
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(dir+"/a/mine.txt", nil, 0o666))
	m.Drop()
	assert.Equal(t, []string{"mine.txt"}, names(dir+"/a"), "what came into them keeps them")
}

// A run may be dropped from beside it, in the middle of a file.
func TestDropBesideTheRun(t *testing.T) {
	dir := t.TempDir()
	m, err := Begin(dir+"/cat-kit", Kits, Options{})
	require.NoError(t, err)
	inside, dropped := make(chan bool), make(chan bool)
	go func() {
		<-inside
		assert.False(t, m.DropWithin(1e9))
		close(dropped)
	}()
	err = m.Write("kit.csv", func(w io.Writer) error {
		close(inside)
		<-dropped
		_, err := w.Write([]byte("too late"))
		return err
	})
	assert.Error(t, err)
	assert.Empty(t, names(dir))
}

// A single file appears whole or not at all, by the same means.
func TestSingleFile(t *testing.T) {
	dir := t.TempDir()
	ours := func(r io.Reader) bool {
		b, _ := io.ReadAll(r)
		return strings.HasPrefix(string(b), "page")
	}
	run := func(d *disk, force bool, text string) error {
		m, err := beginFile(d, dir+"/t.pdf", force, ours)
		if err != nil {
			return err
		}
		defer m.Drop()
		if err := m.Fill(func(w io.Writer) error { _, err := io.WriteString(w, text); return err }); err != nil {
			return err
		}
		return m.Finish()
	}
	require.NoError(t, run(calm(), false, "page 1"))
	assert.ErrorContains(t, run(calm(), false, "page 2"), "exists already")
	require.NoError(t, run(calm(), true, "page 2"))
	for n := 1; ; n++ {
		at := 0
		d := &disk{hook: func(string, string) error {
			if at++; at >= n {
				return syscall.EIO
			}
			return nil
		}}
		err := run(d, true, "page 3")
		for _, f := range d.open {
			_ = f.Close()
		}
		if at < n {
			break
		}
		b, rerr := os.ReadFile(dir + "/t.pdf")
		require.NoError(t, rerr)
		assert.Equal(t, map[bool]string{true: "page 3", false: "page 2"}[err == nil], string(b), "operation %d", n)
		require.NoError(t, run(calm(), true, "page 2"))
		assert.Equal(t, []string{"t.pdf"}, names(dir))
	}
	require.NoError(t, os.WriteFile(dir+"/t.pdf", []byte("diary"), 0o666))
	assert.ErrorContains(t, run(calm(), true, "page 4"), "not a file that we made")
}
