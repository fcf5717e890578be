package main

import (
	"crypto/sha256"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A disk that fills up half-way leaves one sentence and nothing else.
func TestFullDisk(t *testing.T) {
	if runtime.GOOS != "linux" || os.Geteuid() != 0 {
		t.Skip("skipped: only the superuser can make a small disk")
	}
	dir := t.TempDir()
	disk := filepath.Join(dir, "disk")
	require.NoError(t, os.Mkdir(disk, 0o777))
	if out, err := exec.Command("mount", "-t", "tmpfs", "-o", "size=64k", "tmpfs", disk).CombinedOutput(); err != nil {
		t.Skipf("skipped: no small disk can be made here: %s", out)
	}
	defer func() { require.NoError(t, exec.Command("umount", disk).Run()) }()

	code, out, errs := kitwright(t, "chart", "--demo", "--grid", "60x40", "-o", filepath.Join(disk, "cat-kit"))
	assert.Equal(t, 1, code)
	assert.Empty(t, out)
	assert.Contains(t, errs, "no space left")
	assert.Contains(t, errs, "Try: free some room on the disk.")
	assert.Empty(t, names(t, disk))
}

func TestReadOnlyPlace(t *testing.T) {
	inTemp(t)
	require.NoError(t, os.WriteFile("file", nil, 0o666))
	code, _, errs := kitwright(t, "chart", "--demo", "--grid", "6x4", "-o", "file/cat-kit")
	assert.Equal(t, 1, code)
	assert.Contains(t, errs, "not a directory")
}

// Two runs of the program for one place end with one whole kit, in its place
// or beside the one it replaced.
func TestTwoProgramsForOnePlace(t *testing.T) {
	long(t)
	program := built(t)
	pairs := 4
	if os.Getenv("KITWRIGHT_CHECKERS") == "all" {
		pairs = 80
	}
	inTemp(t)
	for _, name := range []string{"one", "two"} { // as in a shop: two photos of the same name
		require.NoError(t, os.Mkdir(name, 0o777))
	}
	writePNG(t, "one/IMG_0001.png", 30, 40)
	writePNG(t, "two/IMG_0001.png", 40, 30)
	wanted := map[string]string{}
	for _, name := range []string{"one", "two"} {
		code, _, errs := kitwright(t, "chart", "--grid", "16x12", "--colors", "4", "-o", name+"-kit", name+"/IMG_0001.png")
		require.Equal(t, 0, code, errs)
		wanted[sums(t, name+"-kit")] = name
	}
	for pair := range pairs {
		force := []string{"--quiet"}
		if pair%2 == 1 {
			force = append(force, "--force")
		}
		var runs []*exec.Cmd
		for _, name := range []string{"one", "two"} {
			c := exec.Command(program, append([]string{"chart", "--grid", "16x12", "--colors", "4", name + "/IMG_0001.png"}, force...)...)
			require.NoError(t, c.Start())
			runs = append(runs, c)
		}
		done := 0
		for _, c := range runs {
			if c.Wait() == nil {
				done++
			}
		}
		assert.GreaterOrEqual(t, done, 1)
		assert.Contains(t, wanted, sums(t, "IMG_0001-kit"), "pair %d: a mixed kit", pair)
		if done == 2 && pair%2 == 1 {
			assert.Contains(t, wanted, sums(t, "IMG_0001-kit.before"))
		}
		for _, name := range names(t, ".") {
			assert.Contains(t, []string{"one", "two", "one-kit", "two-kit", "IMG_0001-kit", "IMG_0001-kit.before"}, name)
		}
		if pair%2 == 1 {
			require.NoError(t, os.RemoveAll("IMG_0001-kit"))
		}
	}
}

// sums returns one text that tells a folder's files and their bytes.
func sums(t *testing.T, dir string) string {
	t.Helper()
	var b strings.Builder
	for _, name := range names(t, dir) {
		fmt.Fprintf(&b, "%s %x\n", name, sha256.Sum256(read(t, filepath.Join(dir, name))))
	}
	return b.String()
}

// built builds the program once.
func built(t *testing.T) string {
	t.Helper()
	program := filepath.Join(t.TempDir(), "kitwright")
	if runtime.GOOS == "windows" {
		program += ".exe"
	}
	out, err := exec.Command("go", "build", "-o", program, ".").CombinedOutput()
	require.NoError(t, err, "%s", out)
	return program
}
