package folder

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/plan"
)

// An earlier kit that alone holds what was ticked off does not give way; one
// whose ticks the kit has, too, does.
func TestTicksAreNotLostToThirdKits(t *testing.T) {
	p := place{&disk{}, filepath.Join(t.TempDir(), "cat-kit")}
	require.NoError(t, os.MkdirAll(p.dest, 0o777))
	require.NoError(t, os.MkdirAll(p.before(), 0o777))
	write := func(dir, log string) {
		require.NoError(t, os.WriteFile(filepath.Join(dir, plan.LogFile), []byte(log), 0o666))
	}
	assert.NoError(t, ticksStay(p), "nobody ticked anything")
	write(p.before(), "a\nb\n")
	assert.ErrorContains(t, ticksStay(p), "holds what was ticked off")
	write(p.dest, "a\nb\nc\n")
	assert.NoError(t, ticksStay(p), "the log went on in the kit")
	write(p.dest, "a\nx\n")
	assert.ErrorContains(t, ticksStay(p), "holds what was ticked off")
}
