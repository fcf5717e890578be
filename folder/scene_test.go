package folder

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// A scene is a place as it is found, and a run about it.
type scene struct {
	name  string
	kind  Kind
	dest  string
	opt   Options
	found func(t testing.TB, dir string) // makes what is there
	// What has to be there once the same run was made again after a stop: the
	// titles at the place and put aside; "" = nothing.
	aside string
}

// scenes are the ways a run can find its place.
func scenes() []scene {
	at := func(paths ...string) func(testing.TB, string) { // path=title
		return func(t testing.TB, dir string) {
			for _, p := range paths {
				path, title, _ := strings.Cut(p, "=")
				makeFolder(t, Kits, filepath.Join(dir, path), title)
			}
		}
	}
	journal := func(lines string, then func(testing.TB, string)) func(testing.TB, string) {
		return func(t testing.TB, dir string) {
			then(t, dir)
			require.NoError(t, os.WriteFile(journalPath(filepath.Join(dir, "cat-kit")), []byte(journalHead+lines), 0o666))
		}
	}
	force, keep := Options{Force: true}, Options{Force: true, Keep: true}
	return []scene{
		{name: "nothing there", kind: Kits, dest: "cat-kit", found: at()},
		{name: "nothing there, folders on the way", kind: Kits, dest: "a/b/cat-kit", found: at()},
		{name: "nothing there, one put aside long ago", kind: Kits, dest: "cat-kit", found: at("cat-kit.before=old"), aside: "old"},
		{name: "one there", kind: Kits, dest: "cat-kit", opt: force, found: at("cat-kit=old"), aside: "old"},
		{name: "one there and one aside", kind: Kits, dest: "cat-kit", opt: force, found: at("cat-kit=old", "cat-kit.before=older"), aside: "old"},
		{name: "forced, nothing there", kind: Kits, dest: "cat-kit", opt: force, found: at()},
		{name: "forced, one aside", kind: Kits, dest: "cat-kit", opt: force, found: at("cat-kit.before=old"), aside: "old"},
		{name: "in place", kind: Kits, dest: "cat-kit", opt: keep, found: at("cat-kit=old", "cat-kit.before=older"), aside: "old"},
		{name: "killed while building", kind: Kits, dest: "cat-kit", opt: force, aside: "old",
			found: journal("making 01234567\n", at("cat-kit=old", "cat-kit.new-01234567=dead"))},
		{name: "killed before anything was moved", kind: Kits, dest: "cat-kit", opt: force, aside: "old",
			found: journal("making 01234567\nswapping next\n", at("cat-kit=old", "cat-kit.before=older", "cat-kit.new-01234567=dead"))},
		{name: "killed with the oldest moved", kind: Kits, dest: "cat-kit", opt: force, aside: "old",
			found: journal("making 01234567\nswapping next\n", at("cat-kit=old", "cat-kit.old-01234567=older", "cat-kit.new-01234567=dead"))},
		{name: "killed with nothing at the place", kind: Kits, dest: "cat-kit", opt: force, aside: "old",
			found: journal("making 01234567\nswapping next\n", at("cat-kit.before=old", "cat-kit.old-01234567=older", "cat-kit.new-01234567=dead"))},
		{name: "killed with the new one there", kind: Kits, dest: "cat-kit", opt: force, aside: "old",
			found: journal("making 01234567\nswapping next\n", at("cat-kit=dead", "cat-kit.before=old", "cat-kit.old-01234567=older"))},
		{name: "killed at the very end", kind: Kits, dest: "cat-kit", opt: force, aside: "old",
			found: journal("making 01234567\nswapping first\ngoing\n", at("cat-kit=dead", "cat-kit.before=old"))},
		{name: "killed in the run after that", kind: Kits, dest: "cat-kit", opt: force, aside: "old",
			found: journal("making 01234567\nswapping first\ngoing\nmaking 76543210 doubt\nswapping again\n",
				at("cat-kit.old-76543210=dead", "cat-kit.before=old", "cat-kit.new-76543210=dead too"))},
		{name: "killed while taking back", kind: Kits, dest: "cat-kit", opt: force, aside: "old",
			found: journal("making 01234567\nswapping next\nundoing\n", at("cat-kit=old", "cat-kit.old-01234567=older", "cat-kit.new-01234567=dead"))},
		{name: "killed while taking back, with nothing at the place", kind: Kits, dest: "cat-kit", opt: force, aside: "old",
			found: journal("making 01234567\nswapping first\nundoing\n", at("cat-kit.before=old", "cat-kit.new-01234567=dead"))},
		{name: "a ladder", kind: Ladders, dest: "cat-kit", opt: force, aside: "old",
			found: func(t testing.TB, dir string) { makeFolder(t, Ladders, filepath.Join(dir, "cat-kit"), "old") }},
	}
}

// contents returns the files of a folder with a title.
func contents(k Kind, title string) [][2]string {
	if k.Name == Ladders.Name {
		return [][2]string{{ladderKey, "colors,mean,p95,worst,bound,gap,off_2m\n" + title + "\n"}, {"ladder.png", "steps of " + title}}
	}
	return [][2]string{
		{"canvas.pdf", "canvas of " + title},
		{"kit.csv", "colors of " + title},
		{kitKey, `{"version":1,"title":"` + title + `","order":{"colors":"2"},"drill":{"shape":"square"},"grid":{"cols":1,"rows":1},"legend":[{"number":1,"symbol":"A"}],"cells":[[1]]}`},
	}
}

func makeFolder(t testing.TB, k Kind, path, title string) {
	t.Helper()
	require.NoError(t, os.MkdirAll(path, 0o777))
	for _, f := range contents(k, title) {
		require.NoError(t, os.WriteFile(filepath.Join(path, f[0]), []byte(f[1]), 0o666))
	}
	if k.Name == Kits.Name && title == "old" {
		require.NoError(t, os.WriteFile(filepath.Join(path, "tone.png"), []byte("light of old"), 0o666))
	}
}

// run makes a folder as a command does.
func (s scene) run(d *disk, dir, title string) (err error) {
	m, err := begin(d, filepath.Join(dir, s.dest), s.kind, s.opt)
	if err != nil {
		return err
	}
	defer m.Drop()
	for _, f := range contents(s.kind, title) {
		err := m.Write(f[0], func(w io.Writer) error {
			half := len(f[1]) / 2
			if _, err := io.WriteString(w, f[1][:half]); err != nil {
				return err
			}
			_, err := io.WriteString(w, f[1][half:])
			return err
		})
		if err != nil {
			return err
		}
	}
	return m.Finish()
}

// titleAt reads the title of a whole folder; "" if there is nothing, an error
// if it is not whole or mixed.
func titleAt(k Kind, path string) (string, error) {
	if !exists(path) {
		return "", nil
	}
	b, err := os.ReadFile(filepath.Join(path, contents(k, "")[0][0]))
	if err != nil {
		return "", err
	}
	var title string
	for _, cut := range []string{"canvas of ", "colors,mean,p95,worst,bound,gap,off_2m\n"} {
		if after, ok := strings.CutPrefix(string(b), cut); ok {
			title = strings.TrimSpace(after)
		}
	}
	for _, f := range contents(k, title) {
		b, err := os.ReadFile(filepath.Join(path, f[0]))
		if err != nil {
			return "", err
		}
		if string(b) != f[1] {
			return "", fmt.Errorf("%s of %s holds %q", f[0], path, b)
		}
	}
	return title, nil
}

// whole returns the titles of all whole folders in dir, wherever they lie.
func whole(dir string) (titles []string) {
	entries, _ := os.ReadDir(dir)
	for _, e := range entries {
		for _, k := range []Kind{Kits, Ladders} {
			if title, err := titleAt(k, filepath.Join(dir, e.Name())); err == nil && e.IsDir() && title != "" {
				titles = append(titles, title)
			}
		}
	}
	return titles
}

// judge says whether, after a stop, nothing is lost, the next run is clean and
// ends with everything in its place.
func (s scene) judge(dir string) error {
	// Before anything is done: what is to be kept is whole, wherever it lies.
	if s.aside != "" && !slices.Contains(whole(dir), s.aside) {
		return fmt.Errorf("%q is lost: there are %q", s.aside, whole(dir))
	}
	err := s.run(calm(), dir, "second")
	place := filepath.Join(dir, s.dest)
	title, terr := titleAt(s.kind, place)
	if terr != nil {
		return terr
	}
	switch {
	case err == nil && title != "second":
		return fmt.Errorf("the place holds %q", title)
	case err != nil && (s.opt.Force || title != "first"):
		return fmt.Errorf("the next run: %w (the place holds %q)", err, title)
	}
	if s.opt.Keep {
		if b, err := os.ReadFile(filepath.Join(place, "tone.png")); err != nil || string(b) != "light of old" {
			return fmt.Errorf("what was not made anew is lost: %q, %v", b, err)
		}
	}
	if exists(journalPath(place)) && title == "first" {
		// It stands, and the run that made it never ended: the one aside stays
		// until a later run has ended.
		s.opt.Force = true
		if err := s.run(calm(), dir, "third"); err != nil {
			return err
		}
	}
	aside, err := titleAt(s.kind, place+".before")
	if err != nil || aside != s.aside && !(s.aside == "" && aside == "first") {
		return fmt.Errorf("aside lies %q, %v", aside, err)
	}
	want := []string{filepath.Base(place)}
	if aside != "" {
		want = append(want, filepath.Base(place)+".before")
	}
	if got := names(filepath.Dir(place)); !slices.Equal(got, want) {
		return fmt.Errorf("there are %q", got)
	}
	return nil
}

func names(dir string) (out []string) {
	entries, _ := os.ReadDir(dir)
	for _, e := range entries {
		out = append(out, e.Name())
	}
	return out
}

// calm is a disk on which everything goes well, without waiting for it.
func calm() *disk { return &disk{hook: func(string, string) error { return nil }} }
