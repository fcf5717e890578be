package main

import (
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
