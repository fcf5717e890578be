// Package golden compares a test's output with a file in testdata, or
// rewrites the file when the environment variable UPDATE is set.
package golden

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// Equal wants got to be exactly the content of testdata/name. With UPDATE=1 in
// the environment it writes the file instead: read the diff before you commit.
func Equal(t *testing.T, name string, got []byte) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if os.Getenv("UPDATE") != "" {
		require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o777))
		require.NoError(t, os.WriteFile(path, got, 0o666))
		return
	}
	want, err := os.ReadFile(path)
	require.NoError(t, err, "no golden file yet: run with UPDATE=1")
	require.Equal(t, string(want), string(got))
}
