package main

import (
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
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

// Of two runs for the same place, none puts half a folder there, replaces what
// it was not told to, or takes the other's away.
func TestTwoRunsForOnePlace(t *testing.T) {
	inTemp(t)
	begin := func() *folder {
		f, err := newFolder("kit", kitKey, isKitFile, false)
		require.NoError(t, err)
		require.NoError(t, f.write(kitKey, func(w io.Writer) error { _, err := w.Write([]byte("{}")); return err }))
		return f
	}
	first := begin()
	second := begin() // takes the unfinished one for a leftover
	assert.ErrorContains(t, first.finish(), "another run")
	first.drop()
	require.NoError(t, second.finish())
	assert.Equal(t, []string{"kit"}, names(t, "."))
	assert.Equal(t, []string{kitKey}, names(t, "kit"))

	require.NoError(t, os.RemoveAll("kit"))
	third := begin()
	require.NoError(t, os.Mkdir("kit", 0o777)) // someone else's, meanwhile
	assert.ErrorContains(t, third.finish(), "another run")
	third.drop()
	assert.Equal(t, []string{"kit"}, names(t, "."), "neither put aside nor replaced")
}
