package heif

import (
	"crypto/sha256"
	"encoding/hex"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The README names the very modules that lie here, and their licenses are
// with them.
func TestCarriedModulesAreTheNamedOnes(t *testing.T) {
	readme, err := os.ReadFile("README.md")
	require.NoError(t, err)
	for name, gz := range map[string][]byte{"hevc.wasm.gz": hevcGz, "av1.wasm.gz": av1Gz} {
		sum := sha256.Sum256(gz)
		assert.Contains(t, string(readme), hex.EncodeToString(sum[:])+"  "+name)
	}
	for _, name := range []string{"libde265", "dav1d", "wasi-libc", "llvm"} {
		text, err := os.ReadFile("licenses/" + name)
		require.NoError(t, err)
		assert.Greater(t, len(text), 1000, name)
	}
}
