package filelock

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestOnlyOneHolds(t *testing.T) {
	path := filepath.Join(t.TempDir(), "lock")
	open := func() *os.File {
		f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o644)
		require.NoError(t, err)
		t.Cleanup(func() { f.Close() })
		return f
	}
	first, second := open(), open()
	require.NoError(t, Try(first))
	assert.ErrorIs(t, Try(second), ErrLocked)
	require.NoError(t, first.Close())
	assert.NoError(t, Try(second))
}
